"""`heatbrief publish RESULTS...`."""

from __future__ import annotations

from pathlib import Path

import click

from heatbrief.cli.options import out_option
from heatbrief.cli.publishing import portfolio
from heatbrief.cli.summary import findings_line
from heatbrief.errors import UserError
from heatbrief.model.results import ResultsDocument
from heatbrief.site.build import build_site
from heatbrief.site.made import FILE as MADE
from heatbrief.site.publisher import FOLDER
from heatbrief.store.files import sha256_of, sweep
from heatbrief.store.folders import Folders
from heatbrief.store.results import FILE, read_results


@click.command("publish")
@click.argument("results", nargs=-1, required=True, type=click.Path(path_type=Path))
@out_option
def command(results: tuple[Path, ...], out: Path) -> None:
    """Write the site again from stored results alone: a results.json, its folder, or a folder of such folders."""
    done: list[tuple[str, ResultsDocument]] = []
    for path in _documents(results):
        document = read_results(path)
        slug = document.property.slug
        if slug in {other for other, _ in done}:
            raise UserError.single(
                "same-property",
                path,
                f"a second property is called {document.property.name!r}",
                "Publish them one after the other into different folders with --out.",
            )
        folders = Folders(out, slug)
        with folders.lock:
            sweep(out / slug)
            build_site(
                document,
                path.parent / "objects",
                out / slug / FOLDER,
                memory=folders.work / MADE,
                digest=sha256_of(path),
            )
        click.echo(f"{document.property.name}: {findings_line(document)}")
        done.append((slug, document))
    click.echo(f"Open {portfolio(done, out)}")


def _documents(paths: tuple[Path, ...]) -> list[Path]:
    found: list[Path] = []
    for path in paths:
        if path.is_file() or (path / FILE).is_file():
            found.append(path if path.is_file() else path / FILE)
        else:
            inside = sorted(path.glob(f"*/{FILE}")) if path.is_dir() else []
            if not inside:
                raise UserError.single(
                    "results-missing",
                    path,
                    f"holds no {FILE}",
                    "Name a results.json, or the folder that `heatbrief run` wrote.",
                )
            found.extend(inside)
    return list(dict.fromkeys(found))
