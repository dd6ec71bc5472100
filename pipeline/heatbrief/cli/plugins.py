"""`heatbrief plugins`."""

from __future__ import annotations

import click

from heatbrief.cli.common import registry
from heatbrief.registry import Registry


@click.command("plugins")
@click.option("--table", is_flag=True, help="Print as a Markdown table.")
def command(table: bool) -> None:
    """List domains, checks, readers, calculators and publishers with version, state and origin."""
    click.echo(markdown_table(registry()) if table else _listing(registry()))


def markdown_table(plugins: Registry) -> str:
    """The catalogue as DEVELOPERS.md carries it."""
    rows = ["| name | stage | version | state | what it does |", "|---|---|---|---|---|"]
    offers = [*plugins.steps.values(), *plugins.publishers.values()]
    rows += [f"| `{one.name}` | {getattr(one, 'stage', 'publish')} | {one.version} | {one.status} | {one.summary} |" for one in offers]
    return "\n".join(rows)


def _listing(plugins: Registry) -> str:
    lines = ["Domains (for `inspect:`)"]
    lines += [f"  {domain.key:<12} {domain.title}: {domain.summary}" for domain in plugins.domains.values()]
    for stage in ("ingest", "calibrate", "detect", "estimate"):
        lines.append(f"\n{stage.capitalize()}")
        for step in plugins.of_stage(stage):
            lines.append(f"  {step.name:<28} v{step.version} {step.status:<8} {step.summary}  [{plugins.owners[step.name]}]")
            if step.shows:
                lines.append(f"  {'':<28} looks at: {', '.join(step.shows)}")
            lines += [f"  {'':<28} fact {fact.name}{f' [{fact.unit}]' if fact.unit else ''}: {fact.help}" for fact in step.facts]
    lines.append("\nPublish")
    lines += [f"  {one.name:<28} v{one.version} {one.status:<8} {one.summary}  [{plugins.owners[one.name]}]" for one in plugins.publishers.values()]
    lines += [f"\nRefused: {problem.where}: {problem.message}" for problem in plugins.refused]
    return "\n".join(lines)
