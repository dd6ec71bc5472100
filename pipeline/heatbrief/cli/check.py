"""`heatbrief check SURVEY...`."""

from __future__ import annotations

from pathlib import Path

import click

from heatbrief.cli import tell
from heatbrief.cli.common import count, load_all, registry
from heatbrief.cli.options import surveys_argument
from heatbrief.engine.plan import make_plan
from heatbrief.engine.preview import preview
from heatbrief.errors import ExitCode


@click.command("check")
@surveys_argument
def command(surveys: tuple[Path, ...]) -> int:
    """Look at manifests, pictures and conditions before a run. Writes nothing.

    A manifest without pictures is fine here: it tells what a visit with this camera and weather could show.
    """
    plugins = registry()
    manifests = load_all(surveys, plugins, pictures_required=False)
    failed = strange = pictures = False
    for manifest in manifests:
        plan = make_plan(manifest, plugins, Path("published"))
        seen = preview(plan)
        click.echo(
            f"{manifest.property.name} ({manifest.path}): {count(len(plan.thermograms), 'picture')}, "
            f"{count(len(plan.stages.detect), 'check')}"
        )
        for problem in seen.problems:
            tell(problem)
        for warning in seen.warnings:
            tell(warning, "warning")
        _list("", seen.notes)
        _list("What this camera could see under these conditions:", seen.visit)
        failed |= bool(seen.problems)
        strange |= bool(seen.warnings)
        pictures |= bool(plan.thermograms)
    click.echo(_last_words(failed, strange, pictures))
    return ExitCode.PARTLY_FAILED if failed else ExitCode.DONE


def _list(title: str, notes: tuple[str, ...]) -> None:
    if title and notes:
        click.echo(f"  {title}")
    for note in notes:
        click.echo(f"    {note}" if title else f"  {note}")


def _last_words(failed: bool, strange: bool, pictures: bool) -> str:
    if failed:
        return "Some inputs cannot be used; a run would list them and go on."
    if strange:
        return "A run would go through, but look at the warnings first: its temperatures would make no sense."
    if not pictures:
        return "No pictures yet: list them under `thermograms:` after the visit."
    return "Nothing stands in the way of a run."
