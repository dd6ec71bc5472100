"""`heatbrief run SURVEY...`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

import click

from heatbrief.cli import tell
from heatbrief.cli.common import count, load_all, out_option, registry, surveys_argument
from heatbrief.cli.publishing import publish_all
from heatbrief.cli.record import Log, problems_of, warnings_of, write_summary
from heatbrief.cli.since import changes_lines, earlier_reports, since_option, what_changed
from heatbrief.cli.summary import summary
from heatbrief.engine.execute import default_jobs
from heatbrief.engine.plan import make_plan
from heatbrief.engine.run import RunReport, run
from heatbrief.errors import ExitCode, Problem
from heatbrief.manifest.names import slug
from heatbrief.model.finding import URGENCIES

if TYPE_CHECKING:
    from rich.progress import Progress
from heatbrief.store.folders import Folders
from heatbrief.store.shared import check_store


@click.command("run")
@surveys_argument
@out_option
@click.option(
    "--jobs", type=click.IntRange(1, 256), default=None, help="Worker processes; one for each core by default."
)
@click.option(
    "--scheduler", default=None, metavar="ADDRESS", help="Use a running Dask scheduler instead of local processes."
)
@click.option(
    "--store",
    default="",
    metavar="ADDRESS",
    help="With --scheduler: where workers keep objects when they do not share --out; a path or an fsspec address.",
)
@click.option(
    "--fail-on",
    "level",
    type=click.Choice([*URGENCIES[:-1]]),
    default=None,
    help="Exit with 1 when a finding is at least this urgent.",
)
@click.option(
    "--log",
    "log_path",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="Write what happens as JSON lines.",
)
@click.option(
    "--summary",
    "summary_path",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="Write a summary in Markdown, for a merge request.",
)
@since_option
@click.pass_context
def command(
    context: click.Context,
    surveys: tuple[Path, ...],
    out: Path,
    jobs: int | None,
    scheduler: str | None,
    store: str,
    level: str | None,
    log_path: Path | None,
    summary_path: Path | None,
    since: Path | None,
) -> int:
    """Analyse surveys and publish a site for each property.

    SURVEYS are manifests, folders with a survey.yaml, or folders of such folders.
    Exit codes: 0 done, 1 a finding reached --fail-on, 2 the input cannot be used, 3 some inputs or steps failed.
    """
    with Log(log_path) as log, ExitStack() as held:
        plugins = registry()
        for problem in plugins.refused:
            log.problem(problem, "warning")
        manifests = load_all(surveys, plugins)
        check_store(store)
        earlier = earlier_reports(since)
        executor = _cluster(scheduler)
        for manifest in manifests:
            held.enter_context(Folders(out, slug(manifest.property.name)).lock)
        reports = []
        for manifest in manifests:
            with _Progress(manifest.property.name) as advance:
                plan = make_plan(manifest, plugins, out, store)
                reports.append(run(plan, jobs or default_jobs(), advance, executor))
            log.report(reports[-1])
        changes = () if since is None else what_changed(earlier, [report.results for report in reports], out)
        unpublished: list[Problem] = []
        published = publish_all([(report.plan, report.results) for report in reports], out, unpublished.append)
        for problem in unpublished:
            tell(problem)
            log.problem(problem, "error")
        _failures(reports, context.obj["debug"])
        for one in changes:
            click.echo("\n".join(changes_lines(one)))
        click.echo(summary(reports, published, out))
        if summary_path is not None:
            write_summary(summary_path, reports, changes)
        code = ExitCode.PARTLY_FAILED if unpublished else _code(reports, level)
        log.write("end", code=int(code), page=str(published))
        return code


def _cluster(address: str | None) -> Callable[[int], Executor] | None:
    if not address:
        return None
    from heatbrief.engine.scheduler import dask_executor

    return dask_executor(address)


def _code(reports: Sequence[RunReport], level: str | None) -> ExitCode:
    if any(one.failed for report in reports for one in report.results.not_analysed):
        return ExitCode.PARTLY_FAILED
    if level is not None:
        urgent = URGENCIES[: URGENCIES.index(level) + 1]
        if any(finding.urgency in urgent for report in reports for finding in report.results.findings):
            return ExitCode.FINDING_REACHED_LEVEL
    return ExitCode.DONE


def _failures(reports: Sequence[RunReport], debug: bool) -> None:
    for report in reports:
        for problem in problems_of(report.results):
            tell(problem, "not analysed")
        for warning in warnings_of(report.results):
            tell(warning, "warning")
        if debug:
            for failure in report.failures:
                click.echo(failure.trace, err=True)


class _Progress:
    """A progress bar on a terminal, a line every tenth elsewhere."""

    def __init__(self, name: str) -> None:
        self.name, self.last = name, -1
        self.bar: Progress | None = None

    def __enter__(self) -> _Progress:
        return self

    def __call__(self, done: int, total: int, what: str) -> None:
        if sys.stderr.isatty():
            self._on_terminal(done, total, what)
        elif total and done * 10 // total > self.last:
            self.last = done * 10 // total
            click.echo(f"{self.name}: {done} of {count(total, 'job')} done", err=True)

    def _on_terminal(self, done: int, total: int, what: str) -> None:
        from rich.console import Console
        from rich.markup import escape
        from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

        if self.bar is None:
            self.bar = Progress(
                TextColumn(escape(self.name)),
                BarColumn(),
                TextColumn("{task.completed} of {task.total} jobs"),
                TimeRemainingColumn(),
                TextColumn("{task.fields[what]}"),
                console=Console(stderr=True),
                transient=True,
            )
            self.bar.start()
            self.task = self.bar.add_task("", total=total, what="")
        self.bar.update(self.task, completed=done, what=escape(what))

    def __exit__(self, *error: object) -> None:
        if self.bar is not None:
            self.bar.stop()
