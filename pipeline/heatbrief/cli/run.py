"""`heatbrief run SURVEY...`."""

from __future__ import annotations

from pathlib import Path

import click

from heatbrief.cli.again import Asked, last_words
from heatbrief.cli.options import LEVELS, out_option, since_option, surveys_argument


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
    type=click.Choice(LEVELS),
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
    plain = not (since or log_path or summary_path or scheduler or store)
    asked = Asked(surveys, out, level) if plain else None
    last = None if asked is None else last_words(asked)
    if last is not None:
        click.echo(last.text)
        return last.code
    from heatbrief.cli.running import Wishes, run_all

    wishes = Wishes(jobs, scheduler, store, level, log_path, summary_path, since, context.obj["debug"])
    return run_all(surveys, out, wishes, asked)
