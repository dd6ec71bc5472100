"""Results to a finished site, whole or not at all."""

from __future__ import annotations

import contextlib
import functools
import hashlib
import json
import os
import shutil
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from heatbrief import __version__
from heatbrief.errors import UserError
from heatbrief.model.comparison import PicturePair
from heatbrief.model.results import ResultsDocument, ThermogramRecord
from heatbrief.site.changes import WHOLE, Earlier, earlier_counts, earlier_of
from heatbrief.site.chart_drawing import draw_chart
from heatbrief.site.charts import all_charts
from heatbrief.site.check import Checked, SiteCheck
from heatbrief.site.context import Site, values_path
from heatbrief.site.drawing import draw_all
from heatbrief.site.floors import floor_files
from heatbrief.site.made import Made, key_of
from heatbrief.site.page import Page, clean, data_line, safe_names
from heatbrief.site.pages import pages_for, sections_of
from heatbrief.site.parts import part_charts
from heatbrief.site.pictures import Drawn, Pictures, Stored
from heatbrief.site.render import Line, Rendering, css_text, extras
from heatbrief.site.settings import SiteSettings
from heatbrief.site.viewer import (
    COLOURS,
    about_earlier,
    about_picture,
    colours_script,
    earlier_path,
    values_script,
)
from heatbrief.site.words import Words
from heatbrief.store.codec import to_json
from heatbrief.store.files import swap_folder
from heatbrief.store.results import results_text

MARKER = ".heatbrief-site.json"


def build_site(
    results: ResultsDocument,
    objects: Path,
    out: Path,
    settings: SiteSettings | None = None,
    memory: Path | None = None,
    digest: str = "",
    anew: bool = False,
) -> bool:
    """Write a complete static site into `out`, index.html at its root. False when it was up to date.

    objects  folder with the picture objects the results name; a comparison with an earlier survey of these very results is
             looked for beside it, in `compare/`
    memory   file that remembers what the site at `out` was made of, so that unchanged parts of it are taken over
    digest   of the file the results are stored in, if they are; else it is worked out from the results
    anew     also when it was made of the same: files of it were changed or removed
    An existing `out` is replaced as a whole, and only when it is empty or carries our marker file.
    Raises UserError for a foreign folder, missing objects, or a site that fails its checks; then `out` is as it was.
    """
    settings = settings or SiteSettings()
    earlier = earlier_of(results, objects.parent, out)
    key = site_key(results, settings, digest, earlier)
    refuse_foreign(out)
    if not anew and _key_of(out) == key and (out / "index.html").is_file():
        return False
    parts = [out.with_name(f"{out.name}{part}.tmp-{os.getpid()}") for part in ("", "-pages", "-work")]
    built, pages, work = parts
    try:
        made = Made(built, out, memory, code_digest() if memory else "")
        kept = _fill(results, objects, settings, made, pages, work, earlier)
        marker = json.dumps({"key": key, "heatbrief": __version__}, sort_keys=True) + "\n"
        (built / MARKER).write_text(marker, encoding="utf-8")
        swap_folder(built, out)
        made.save(kept)
    except OSError as error:
        raise UserError.single(
            "cannot-write",
            out,
            f"could not be written: {error.strerror or error}",
            "Check the free space and the permissions of the output folder, or choose another with --out.",
        ) from error
    finally:
        for folder in parts:
            shutil.rmtree(folder, ignore_errors=True)
    return True


def _fill(
    results: ResultsDocument,
    objects: Path,
    settings: SiteSettings,
    made: Made,
    rendered: Path,
    work: Path,
    earlier: Earlier | None,
) -> dict[str, Any]:
    """Make all files of the new site and check them; returns what is to be remembered of each page.

    MkDocs reads itself in while the pictures are drawn, and writes into `rendered` while charts are drawn. `work` holds
    its configuration, and lies beside the site so that the next run removes what a killed one left.
    """
    words = Words(settings.language or results.survey.language or "en")
    foot = words.say("site.foot", version=results.run.heatbrief, manifest=results.survey.manifest)
    shared = extras(words, foot, results.property.invented, page_name=css_text(results.property.name))
    names = sections_of(earlier)
    sections = [(f"{one}.html", words.get("sections").get(one, one)) for one in names]
    name = results.property.name
    work.mkdir(parents=True)
    with ThreadPoolExecutor(1) as beside:
        with Rendering(name, sections, shared, work.resolve(), rendered.resolve()) as mkdocs:
            site = _prepare(results, objects, settings, words, made, earlier)
            own_words = clean(_own_words(site))
            check = SiteCheck(own_words)
            common = key_of(name, sections, data_line(shared), own_words)
            asked: deque[tuple[Page, Line | None]] = deque()
            keys = {}
            for page in pages_for(site, earlier):
                line = b"" if page.made_of else data_line(page.data)
                head = (page.path, page.template, page.title, page.section)
                keys[page.path] = key_of(common, *head, page.made_of or line)
                old = made.pages.get(keys[page.path])
                taken = old is not None and made.take(keys[page.path], page.path)
                if taken:
                    check.pages[page.path] = Checked.of(old)
                if not taken or page.path.removesuffix(".html") in names:
                    later = line or functools.partial(_line_of, page)
                    asked.append((replace(page, data={}), None if taken else later))
            charts = beside.submit(_charts, site, made, dict(check.pages))
            for path in mkdocs.pages(asked):
                check.page(path, (rendered / path).read_text("utf-8"))
                made.note(keys[path], path)
        charts.result()
    _move(rendered, made.folder)
    beside_site = {WHOLE} if earlier else set()
    check.finish(made.folder, clean(list(site.caution_by_key)), beside_site, _cautions_on(site))
    return {keys[path]: checked.plain() for path, checked in check.pages.items()} if made.memory else {}


def _line_of(page: Page) -> bytes:
    return data_line(page.data)


def site_key(
    results: ResultsDocument,
    settings: SiteSettings | None = None,
    digest: str = "",
    earlier: Earlier | None = None,
) -> str:
    """Digest of everything a site shows: results, settings, theme and sentences, this package, the version."""
    settings = settings or SiteSettings()
    key = hashlib.sha256(f"{__version__}\0{settings.units}\0{settings.language}\0{digest}\0".encode())
    if not digest:
        plain = json.loads(results_text(results), parse_int=float)  # 3 and 3.0 are the same number
        key.update(json.dumps(plain, sort_keys=True).encode())
    key.update(code_digest().encode())
    if earlier is not None:
        key.update(f"\0{earlier.linked}\0{to_json(earlier.comparison)}".encode())
    return key.hexdigest()


@functools.cache
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


def _prepare(
    results: ResultsDocument,
    objects: Path,
    settings: SiteSettings,
    words: Words,
    made: Made,
    earlier: Earlier | None,
) -> Site:
    """The view of a document, its pictures and the values behind them written."""
    units = results.survey.units if settings.units == "as surveyed" else settings.units
    names = safe_names(one.id for one in results.thermograms)

    def values(record: ThermogramRecord, drawn: Drawn, stored: Callable[[], Stored]) -> None:
        about = about_picture(site, record, drawn)
        array, path = record.array, values_path(names[record.id])
        made.file(key_of("values", array, about), path, lambda: values_script(about, array, *stored()))
        pair = earlier.pair(record) if earlier is not None else None
        if earlier is not None and pair is not None:
            before(record, path, earlier, pair)

    def before(record: ThermogramRecord, path: str, earlier: Earlier, pair: PicturePair) -> None:
        about = about_earlier(site, record, pair)
        key = key_of("earlier values", pair.earlier, pair.moved, about)
        made.file(key, earlier_path(path), lambda: values_script(about, None, earlier_counts(earlier, pair)))

    blank = Pictures({}, {}, {}, Drawn("", b"", 0, 0), objects=objects)
    site = Site(results, blank, words, "us" if units == "us" else "metric")
    pictures = draw_all(results, objects, made.drawn, values, jobs())
    if pictures.thermal:
        made.file("colours", COLOURS, colours_script)
    site = replace(site, pictures=pictures)
    for picture, path, make in floor_files(site):
        made.file(key_of("floor", picture), path, make)
    return site


def jobs() -> int:
    """Threads for pictures: one for each core this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _charts(site: Site, made: Made, kept: Mapping[str, Checked]) -> None:
    """Draw what is new among the charts; those of pages that stay as they were are known from their links."""
    linked = {file for page in kept.values() for file, _ in page.links if file.startswith("charts/")}
    whole = all(made.take(path, path) for path in sorted(linked))
    records = site.results.thermograms
    fresh = [one for one in records if site.path("thermograms", one.id) not in kept] if whole else records
    every = all_charts(site, fresh) | {one.path: one for one in part_charts(site)}
    for path, one in every.items():
        if path not in linked or not whole:
            made.file(path, path, functools.partial(draw_chart, one))


def _move(source: Path, target: Path) -> None:
    """Move all files of one folder into another that has no files of these names, keeping the folders they lie in."""
    target.mkdir(exist_ok=True)
    for entry in sorted(os.scandir(source), key=lambda one: one.name):
        if entry.is_dir(follow_symlinks=False) and (target / entry.name).is_dir():
            _move(Path(entry.path), target / entry.name)
        else:
            os.rename(entry.path, target / entry.name)


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
