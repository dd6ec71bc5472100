"""`heatbrief plugins` and `heatbrief plugins new NAME`."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import click

from heatbrief.api.step import Publisher, Step
from heatbrief.cli.common import registry
from heatbrief.registry import Registry


@click.group("plugins", invoke_without_command=True)
@click.option("--table", is_flag=True, help="Print as a Markdown table.")
@click.pass_context
def command(context: click.Context, table: bool) -> None:
    """List domains, checks, readers, calculators and publishers with version, state and origin."""
    if context.invoked_subcommand is None:
        click.echo(markdown_table(registry()) if table else _listing(registry()))


@command.command("new")
@click.argument("name")
@click.option(
    "--out",
    "out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path(),
    show_default="the current folder",
    help="Folder in which the project's folder is made.",
)
def new(name: str, out: Path) -> None:
    """Start a plugin project in a new folder heatbrief-NAME: check, calculator, texts, shot list and tests."""
    from heatbrief.errors import UserError
    from heatbrief.store.files import write_atomic
    from heatbrief.testing.new_plugin import project_files

    files = project_files(name, {*registry().domains, *(step.partition(".")[0] for step in registry().steps)})
    folder = out / f"heatbrief-{name.replace('_', '-')}"
    if folder.exists() or folder.is_symlink():
        raise UserError.single(
            "folder-exists",
            folder,
            "is already there and stays as it is",
            "Choose another name, or another place with --out.",
        )
    python = shlex.quote(sys.executable)
    for path, text in files.items():
        write_atomic(folder / path, text.encode("utf-8"))
    click.echo(
        f"Wrote {folder} with {len(files)} files.\nNext: {python} -m pip install -e {shlex.quote(f'{folder}[tests]')}\n"
        f"Then: {python} -m pytest -q {shlex.quote(str(folder))}"
    )


@command.command("hooks")
def hooks() -> None:
    """List what a plugin may offer, the API versions served, and what is on its way out."""
    from heatbrief.api.hook_pages import hooks_overview

    click.echo(hooks_overview())


def markdown_table(plugins: Registry) -> str:
    """The catalogue as DEVELOPERS.md carries it."""
    rows = ["| name | stage | version | state | what it does |", "|---|---|---|---|---|"]
    offers: list[Step | Publisher] = [*plugins.steps.values(), *plugins.publishers.values()]
    rows += [
        f"| `{one.name}` | {getattr(one, 'stage', 'publish')} | {one.version} | {one.status} | {one.summary} |"
        for one in offers
    ]
    return "\n".join(rows)


def _listing(plugins: Registry) -> str:
    lines = ["Domains (for `inspect:`)"]
    lines += [f"  {domain.key:<12} {domain.title}: {domain.summary}" for domain in plugins.domains.values()]
    for stage in ("ingest", "calibrate", "detect", "estimate"):
        lines.append(f"\n{stage.capitalize()}")
        for step in plugins.of_stage(stage):
            lines.append(
                f"  {step.name:<28} v{step.version} {step.status:<8} {step.summary}  [{plugins.owners[step.name]}]"
            )
            if step.shows:
                lines.append(f"  {'':<28} looks at: {', '.join(step.shows)}")
            lines += [
                f"  {'':<28} fact {fact.name}{f' [{fact.unit}]' if fact.unit else ''}: {fact.help}"
                for fact in step.facts
            ]
    lines.append("\nPublish")
    lines += [
        f"  {one.name:<28} v{one.version} {one.status:<8} {one.summary}  [{plugins.owners[one.name]}]"
        for one in plugins.publishers.values()
    ]
    lines += _others("Rival explanations", plugins.rivals.values(), plugins, lambda one: one.explanation)
    lines += _others("Parts of pages", plugins.page_parts.values(), plugins, lambda one: one.summary)
    lines += [f"\nOn its way out: {problem.where}: {problem.message}" for problem in plugins.warned]
    lines += [f"\nRefused: {problem.where}: {problem.message}" for problem in plugins.refused]
    return "\n".join(lines)


def _others(title: str, offers: Iterable[Any], plugins: Registry, said: Callable[[Any], str]) -> list[str]:
    rows = [f"  {one.name:<28} v{one.version} {said(one)}  [{plugins.owners[one.name]}]" for one in offers]
    return [f"\n{title}", *rows] if rows else []
