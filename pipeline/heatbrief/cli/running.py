"""A run from manifests to sites, with all that is told of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import click

from heatbrief.cli import tell
from heatbrief.cli.again import Asked, Said, remember
from heatbrief.cli.common import load_all, registry
from heatbrief.cli.progress import Progress
from heatbrief.cli.publishing import publish_all
from heatbrief.cli.record import Log, problems_of, warnings_of, write_summary
from heatbrief.cli.since import changes_lines, earlier_reports, what_changed
from heatbrief.cli.summary import summary
from heatbrief.engine.execute import default_jobs
from heatbrief.engine.plan import make_plan
from heatbrief.engine.run import RunReport, run
from heatbrief.engine.select import DEFAULT_PUBLISHER
from heatbrief.errors import ExitCode, Problem
from heatbrief.manifest.names import slug
from heatbrief.model.finding import URGENCIES
from heatbrief.store.folders import Folders
from heatbrief.store.shared import check_store


@dataclass(frozen=True)
class Wishes:
    """The options of a run, as the command line names them."""

    jobs: int | None
    scheduler: str | None
    store: str
    level: str | None
    log_path: Path | None
    summary_path: Path | None
    since: Path | None
    debug: bool


def run_all(surveys: Sequence[Path], out: Path, wishes: Wishes, asked: Asked | None) -> int:
    """Analyse surveys and publish them; returns the exit code."""
    with Log(wishes.log_path) as log, ExitStack() as held:
        plugins = registry()
        for problem in plugins.refused:
            log.problem(problem, "warning")
        manifests = load_all(surveys, plugins)
        check_store(wishes.store)
        earlier = earlier_reports(wishes.since)
        executor = _cluster(wishes.scheduler)
        for manifest in manifests:
            held.enter_context(Folders(out, slug(manifest.property.name)).lock)
        reports = []
        for manifest in manifests:
            with Progress(manifest.property.name) as advance:
                plan = make_plan(manifest, plugins, out, wishes.store)
                reports.append(run(plan, wishes.jobs or default_jobs(), advance, executor))
            log.report(reports[-1])
        changes = () if wishes.since is None else what_changed(earlier, [report.results for report in reports], out)
        unpublished: list[Problem] = []
        published = publish_all([(report.plan, report.results) for report in reports], out, unpublished.append)
        for problem in unpublished:
            tell(problem)
            log.problem(problem, "error")
        _failures(reports, wishes.debug)
        for one in changes:
            click.echo("\n".join(changes_lines(one)))
        said = summary(reports, published, out)
        click.echo(said)
        if wishes.summary_path is not None:
            write_summary(wishes.summary_path, reports, changes)
        code = ExitCode.PARTLY_FAILED if unpublished else _code(reports, wishes.level)
        log.write("end", code=int(code), page=str(published))
        if asked is not None and not plugins.refused and all(map(_had_nothing_to_do, reports)):
            slugs = tuple(report.plan.folders.slug for report in reports)
            remember(asked, Said(said, code, slugs), (path for one in reports for path in one.plan.cache.marks))
        return code


def _had_nothing_to_do(report: RunReport) -> bool:
    """True when all was as before, nothing besides the summary was said, and no publisher of a plugin has to be asked."""
    plan, own = report.plan, all(publisher.name == DEFAULT_PUBLISHER for publisher, _ in report.plan.stages.publish)
    return own and not (plan.stale or report.changed or report.failures or warnings_of(report.results))


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
