"""Results to a finished site, whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import chain
from pathlib import Path

from heatbrief import __version__
from heatbrief.errors import UserError
from heatbrief.model.results import ResultsDocument
from heatbrief.site.changes import WHOLE, Earlier, earlier_of
from heatbrief.site.chart_drawing import draw_charts
from heatbrief.site.charts import all_charts
from heatbrief.site.check import check_site
from heatbrief.site.context import Site
from heatbrief.site.floors import floor_files
from heatbrief.site.page import clean
from heatbrief.site.pages import pages_for, sections_of
from heatbrief.site.parts import part_charts
from heatbrief.site.pictures import Drawn, draw_all
from heatbrief.site.render import css_text, extras, render
from heatbrief.site.settings import SiteSettings
from heatbrief.site.viewer import viewer_files
from heatbrief.site.words import Words
from heatbrief.store.codec import to_json
from heatbrief.store.files import swap_folder
from heatbrief.store.results import results_text

MARKER = ".heatbrief-site.json"


def build_site(results: ResultsDocument, objects: Path, out: Path, settings: SiteSettings | None = None) -> bool:
    """Write a complete static site into `out`, index.html at its root. False when it was up to date.

    objects  folder with the picture objects the results name; a comparison with an earlier survey of these very results is
             looked for beside it, in `compare/`
    An existing `out` is replaced as a whole, and only when it is empty or carries our marker file.
    Raises UserError for a foreign folder, missing objects, or a site that fails its checks; then `out` is as it was.
    """
    settings = settings or SiteSettings()
    earlier = earlier_of(results, objects.parent, out)
    key = site_key(results, settings, earlier)
    refuse_foreign(out)
    if _key_of(out) == key and (out / "index.html").is_file():
        return False
    built = out.with_name(f"{out.name}.tmp-{os.getpid()}")
    try:
        with tempfile.TemporaryDirectory(prefix="heatbrief-") as folder:
            drawn = Path(folder) / "drawn"
            site = _prepare(results, objects, settings, drawn)
            foot = site.words.say("site.foot", version=results.run.heatbrief, manifest=results.survey.manifest)
            shared = extras(site.words, foot, results.property.invented, page_name=css_text(results.property.name))
            with ThreadPoolExecutor(
                1
            ) as beside:  # charts are drawn while MkDocs, a process of its own, makes the pages
                charts = beside.submit(draw_charts, all_charts(site) | {one.path: one for one in part_charts(site)})
                render(
                    pages_for(site, earlier),
                    {},
                    Path(folder) / "made",
                    built.resolve(),
                    results.property.name,
                    [f"{one}.html" for one in sections_of(earlier)],
                    shared,
                )
                for path, data in chain(charts.result().items(), viewer_files(site, earlier), floor_files(site)):
                    _write(built / path, data)
            for one in site.pictures.files():
                (built / one.path).parent.mkdir(exist_ok=True)
                shutil.move(drawn / one.path, built / one.path)
        check_site(
            built,
            clean(list(site.caution_by_key)),
            clean(_own_words(site)),
            {WHOLE} if earlier else set(),
            _cautions_on(site),
        )
        (built / MARKER).write_text(
            json.dumps({"key": key, "heatbrief": __version__}, sort_keys=True) + "\n", encoding="utf-8"
        )
        swap_folder(built, out)
    except OSError as error:
        raise UserError.single(
            "cannot-write",
            out,
            f"could not be written: {error.strerror or error}",
            "Check the free space and the permissions of the output folder, or choose another with --out.",
        ) from error
    finally:
        shutil.rmtree(built, ignore_errors=True)
    return True


def site_key(results: ResultsDocument, settings: SiteSettings | None = None, earlier: Earlier | None = None) -> str:
    """Digest of everything a site shows: results, settings, theme and sentences, this package, the version."""
    settings = settings or SiteSettings()
    digest = hashlib.sha256(f"{__version__}\0{settings.units}\0{settings.language}\0".encode())
    plain = json.loads(results_text(results), parse_int=float)  # 3 and 3.0 are the same number
    digest.update(json.dumps(plain, sort_keys=True).encode())
    digest.update(code_digest().encode())
    if earlier is not None:
        digest.update(f"\0{earlier.linked}\0{to_json(earlier.comparison)}".encode())
    return digest.hexdigest()


def code_digest() -> str:
    """Digest of theme, sentences and this package."""
    digest = hashlib.sha256(__version__.encode())
    for package in ("heatbrief_site", "heatbrief.site"):
        for name, file in _files_of(files(package), ""):
            digest.update(f"\0{name}\0".encode() + file.read_bytes())
    return digest.hexdigest()


def refuse_foreign(out: Path) -> None:
    """Raise UserError unless `out` is absent, empty, or a site of ours."""
    if not out.exists() and not out.is_symlink():
        return
    if out.is_symlink() or not out.is_dir():
        raise UserError.single("not-a-site", out, "is not a folder", "Choose another place with --out.")
    if not (out / MARKER).is_file() and any(out.iterdir()):
        raise UserError.single(
            "not-a-site",
            out,
            f"holds files that heatbrief did not write (no {MARKER} in it)",
            "Nothing was changed. Choose an empty folder with --out, or remove this one yourself.",
        )


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def _prepare(results: ResultsDocument, objects: Path, settings: SiteSettings, drawn: Path) -> Site:
    """The view of a document; its pictures go to files below `drawn`, so that not all are held at a time."""

    def keep(one: Drawn) -> Drawn:
        _write(drawn / one.path, one.data)
        return replace(one, data=b"")

    units = results.survey.units if settings.units == "as surveyed" else settings.units
    return Site(
        results,
        draw_all(results, objects, keep),
        Words(settings.language or results.survey.language or "en"),
        "us" if units == "us" else "metric",
    )


def _own_words(site: Site) -> list[str]:
    """What the owner calls the pictures without scale and their parts."""
    records = [one for one in site.results.thermograms if one.status == "unscaled"]
    return [site.picture_name(one.id) for one in records] + [region.name for one in records for region in one.regions]


def _cautions_on(site: Site) -> dict[str, list[str]]:
    """Page -> cautions that may not be missing there."""
    found = {site.path("findings", one.id): clean(list(one.cautions)) for one in site.results.findings}
    return {**found, "plan.html": clean([key for item in site.results.plan for key in item.cautions])}


def _key_of(out: Path) -> str:
    with contextlib.suppress(OSError, ValueError):
        marker = json.loads((out / MARKER).read_text("utf-8"))
        return str(marker.get("key", "")) if isinstance(marker, dict) else ""
    return ""


def _files_of(folder: Traversable, prefix: str) -> Iterator[tuple[str, Traversable]]:
    for entry in sorted(folder.iterdir(), key=lambda one: one.name):
        name = f"{prefix}{entry.name}"
        if entry.is_dir():
            if entry.name != "__pycache__":
                yield from _files_of(entry, f"{name}/")
        elif not entry.name.endswith((".pyc", "~")):
            yield name, entry
