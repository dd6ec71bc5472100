"""`heatbrief new FOLDER`."""

from __future__ import annotations

import difflib
from pathlib import Path

import click
from heatbrief_site import languages

from heatbrief.cli.common import registry
from heatbrief.errors import Problem, UserError
from heatbrief.manifest.asked import asked_of
from heatbrief.manifest.discover import MANIFEST_NAME
from heatbrief.manifest.nodes import printable
from heatbrief.manifest.template import first_manifest
from heatbrief.registry import Registry
from heatbrief.store.files import write_atomic

SHOTS = "shots.html"
MOST_NAMED = 5


@click.command("new")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--for",
    "domains",
    default="",
    metavar="DOMAIN,...",
    help="Kinds of inspection: writes the shot list too, before there are pictures.",
)
@click.option(
    "--language",
    default="en",
    show_default=True,
    metavar="LANGUAGE",
    help="Language of the shot list, and of the site later.",
)
def command(folder: Path, domains: str, language: str) -> None:
    """Write FOLDER/survey.yaml from the pictures in it, with questions where something must be filled in.

    With --for it writes FOLDER/shots.html first, what to photograph and to note on the walk, and the manifest made afterwards asks for the same.
    """
    plugins = registry()
    chosen = _chosen(domains, plugins)
    _check_language(language)
    if not chosen and not folder.is_dir():
        raise UserError.single("folder-missing", folder, "is not a folder", "Name the folder that holds your pictures.")
    path = folder / MANIFEST_NAME
    if path.exists():
        raise UserError.single(
            "manifest-exists", path, "is already there and stays as it is", "Edit it, or move it away first."
        )
    facts = {fact.name: fact for step in plugins.steps.values() for fact in step.facts}
    again = (f" --for {','.join(chosen)}" if chosen else "") + (f" --language {language}" if language != "en" else "")
    if chosen:
        from heatbrief.pages.shots import shot_list

        texts: dict[str, str] = {}
        for one in plugins.texts.values():
            texts |= one.texts if one.language == language else {}
        text = shot_list([plugins.domains[key] for key in chosen], facts, plugins.cautions, language, texts)
        write_atomic(folder / SHOTS, text.encode("utf-8"))
        click.echo(f"Wrote {folder / SHOTS}, the shot list to print.")
    try:
        asked = asked_of([shot for key in chosen for shot in plugins.domains[key].shots], facts)
        manifest = first_manifest(folder, chosen, asked, language)
    except UserError as error:
        if not chosen or error.problems[0].code != "no-pictures":
            raise
        click.echo(f"No pictures yet. Put them into {folder} after the walk, then: heatbrief new {folder}{again}")
        return
    write_atomic(path, manifest.text.encode("utf-8"))
    click.echo(f"Wrote {path}.")
    if manifest.broken:
        named = ", ".join(map(printable, manifest.broken[:MOST_NAMED])) + (
            ", …" if manifest.broken[MOST_NAMED:] else ""
        )
        click.echo(f"Cannot be read as pictures, and are marked there: {named}.")
    click.echo(f"Answer its questions (lines that start with #), then: heatbrief check {folder}")


def _check_language(language: str) -> None:
    if language not in languages():
        said, known = f"there are no sentences in {language!r}", ", ".join(languages())
        raise UserError.single("unknown-language", "--language", said, f"There are: {known}.")


def _chosen(domains: str, plugins: Registry) -> tuple[str, ...]:
    """The named kinds of inspection. Raises UserError for those that no plugin offers."""
    wanted = tuple(dict.fromkeys(word.strip() for word in domains.split(",") if word.strip()))
    problems = []
    for word in wanted:
        if word not in plugins.domains:
            near = difflib.get_close_matches(word, plugins.domains, 1)
            problems.append(
                Problem(
                    "--for",
                    "unknown-domain",
                    f"no plugin offers the inspection {word!r}",
                    f"Did you mean {near[0]!r}?" if near else f"There are: {', '.join(plugins.domains)}.",
                )
            )
    if problems:
        raise UserError(problems)
    return wanted
