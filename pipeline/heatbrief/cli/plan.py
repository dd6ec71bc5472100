"""`heatbrief plan SURVEY...`."""

from __future__ import annotations

from pathlib import Path

import click

from heatbrief.cli.common import count, load_all, registry
from heatbrief.cli.options import out_option, surveys_argument
from heatbrief.engine.plan import make_plan


@click.command("plan")
@surveys_argument
@out_option
@click.option("--all", "everything", is_flag=True, help="List reused results too.")
def command(surveys: tuple[Path, ...], out: Path, everything: bool) -> None:
    """Say what a run would do, and why each part is stale. Writes nothing."""
    plugins = registry()
    for manifest in load_all(surveys, plugins):
        plan = make_plan(manifest, plugins, out)
        stale = plan.stale
        click.echo(f"{manifest.property.name}: {count(len(stale), 'job')} to do, {len(plan.jobs) - len(stale)} reused")
        for job in plan.jobs:
            if job.stale:
                click.echo(f"  do     {job.subject} · {job.stage} · {job.step}: {job.why()}")
            elif everything:
                click.echo(f"  reuse  {job.subject} · {job.stage} · {job.step}")
