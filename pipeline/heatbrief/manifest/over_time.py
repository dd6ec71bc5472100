"""One entry that stands for several pictures over time: pages of a file as a sequence, and moments at even steps."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import PurePosixPath

from heatbrief.manifest.bind import Binder
from heatbrief.manifest.glance import page_count
from heatbrief.manifest.names import slug
from heatbrief.manifest.nodes import Table, shown
from heatbrief.manifest.paths import SurveyFolder
from heatbrief.manifest.schema import ThermogramEntry

MOST_PAGES = 20_000
_RANGE = re.compile(r"(\d{1,6})\s*\.\.\s*(\d{1,6})")

Placed = tuple[Table, ThermogramEntry]


def paged(binder: Binder, placed: Placed, folder: SurveyFolder, names: dict[str, str]) -> list[Placed]:
    """The entry once for each of its pages, all of one sequence; the entry itself without `pages`.

    names  sequences so far with the file they were made for, "" for those the manifest names; added to
    """
    node, entry = placed
    if not entry.pages:
        return [placed]
    pages = _pages(binder, node, entry, folder)
    if pages is None:
        return [(node, replace(entry, pages=""))]
    if entry.id and len(pages) > 1:
        binder.problems.add(
            node.at("id"),
            "id-of-many",
            f"{shown(entry.file)} stands for {len(pages)} pages, but an id is for one picture",
            "Leave `id` out; `sequence` may name them all.",
        )
    name = entry.sequence or _own_sequence(entry.file, names)
    return [(node, replace(entry, id="", page=page, pages="", sequence=name)) for page in pages]


def _own_sequence(file: str, names: dict[str, str]) -> str:
    """The file's stem; with its folder, its ending or a number when another sequence is called so."""
    path = PurePosixPath(file)
    forms = [path.stem, f"{path.parent.name} {path.stem}", f"{path.stem} {path.suffix[1:]}"]
    numbered = (f"{number} {path.stem}" for number in range(2, len(names) + 3))
    for form in (*forms, *numbered):
        if names.setdefault(slug(form), file) == file:
            return slug(form)
    return slug(path.stem)


def _pages(binder: Binder, node: Table, entry: ThermogramEntry, folder: SurveyFolder) -> range | None:
    place, text = node.at("pages"), entry.pages.strip()
    if "page" in node.entries:
        binder.problems.add(place, "pages-twice", "both `page` and `pages` are given", "Keep one of them.")
        return None
    if text == "all":
        count = page_count(folder.folder / entry.file)
        if count > MOST_PAGES:
            binder.problems.add(place, "too-many-pictures", f"the file has {count} pages", "Name some, such as 0..999.")
            return None
        return range(max(count, 1))  # a file that cannot be read yet is reported by the run, as one picture
    found = _RANGE.fullmatch(text)
    if found is None or int(found[1]) > int(found[2]) or int(found[2]) - int(found[1]) >= MOST_PAGES:
        binder.problems.add(
            place,
            "bad-pages",
            f"pages: {shown(entry.pages)} is not a range of pages",
            "Write `all`, or the first and the last page counted from 0, such as 0..9.",
        )
        return None
    return range(int(found[1]), int(found[2]) + 1)


def in_order(binder: Binder, placed: list[Placed]) -> list[Placed]:
    """The pictures of one entry with moments `every` so often, from `taken` on; as they are without `every`."""
    if not placed or (every := placed[0][1].every) is None:
        return placed
    node, first = placed[0]
    if not first.taken:
        binder.problems.add(
            node.at("every"),
            "every-without-taken",
            "`every` counts from the moment of the first picture, which is not given",
            "Add `taken:` with the date and time of the first picture.",
        )
        return placed
    try:
        start = datetime.fromisoformat(first.taken)
        step = timedelta(seconds=every.value)
        return [
            (at, replace(one, taken=(start + number * step).isoformat())) for number, (at, one) in enumerate(placed)
        ]
    except (ValueError, OverflowError):
        return placed  # a wrong `taken` is reported with the picture
