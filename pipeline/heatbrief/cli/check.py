"""`heatbrief check SURVEY...`."""

from __future__ import annotations

from pathlib import Path

import click

from heatbrief.cli.common import count, load_all, registry, surveys_argument
from heatbrief.engine.plan import make_plan
from heatbrief.engine.preview import preview
from heatbrief.errors import ExitCode


@click.command("check")
@surveys_argument
def command(surveys: tuple[Path, ...]) -> int:
    """Look at manifests, pictures and conditions before a run. Writes nothing."""
    plugins = registry()
    manifests = load_all(surveys, plugins)
    failed = False
    for manifest in manifests:
        plan = make_plan(manifest, plugins, Path("published"))
        seen = preview(plan)
        click.echo(f"{manifest.property.name} ({manifest.path}): {count(len(plan.thermograms), 'picture')}, "
                   f"{count(len(plan.stages.detect), 'check')}")
        for problem in seen.problems:
            click.echo(str(problem), err=True)
        for note in seen.notes:
            click.echo(f"  {note}")
        failed |= bool(seen.problems)
    click.echo("Some inputs cannot be used; a run would list them and go on." if failed else "Nothing stands in the way of a run.")
    return ExitCode.PARTLY_FAILED if failed else ExitCode.DONE
