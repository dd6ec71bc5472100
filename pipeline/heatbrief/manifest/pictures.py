"""Thermograms of a manifest: patterns expanded, defaults applied, short names made unique, regions attached."""

from __future__ import annotations

from collections import Counter
from dataclasses import fields, replace
from datetime import datetime
from pathlib import PurePosixPath
from typing import Any

from heatbrief.manifest.bind import Binder
from heatbrief.manifest.known import FactBook, NameList
from heatbrief.manifest.measures import check_geometry
from heatbrief.manifest.names import ID_LENGTH, is_id, slug
from heatbrief.manifest.nodes import Node, Scalar, Table, is_absent, shown
from heatbrief.manifest.over_time import in_order, paged
from heatbrief.manifest.paths import SurveyFolder
from heatbrief.manifest.regions import check_names, checked_region, placed
from heatbrief.manifest.schema import Manifest, RegionEntry, ScaleEntry, ThermogramDefaults, ThermogramEntry

MOST_PICTURES = 20_000

Placed = tuple[Table, ThermogramEntry]


def thermograms_of(
    binder: Binder, manifest: Manifest, folder: SurveyFolder, facts: FactBook
) -> tuple[ThermogramEntry, ...]:
    """The thermograms as the engine wants them; adds what is wrong."""
    entries: list[Placed] = []
    sequences = {entry.sequence: "" for entry in manifest.thermograms if entry.sequence}
    for entry in manifest.thermograms:
        files = _expanded(binder, entry, folder)
        entries += in_order(binder, [one for found in files for one in paged(binder, found, folder, sequences)])
        if len(entries) > MOST_PICTURES:
            message = f"the manifest lists more than {MOST_PICTURES} pictures"
            binder.problems.add(
                binder.origin(entry), "too-many-pictures", message, "Split the survey into several folders."
            )
            return ()
    ids = _ids(binder, entries)
    regions = _regions(binder, manifest, entries, ids, facts)
    shared = _shared(manifest.defaults)
    done = []
    for (node, entry), name, own in zip(entries, ids, regions, strict=True):
        changes: dict[str, Any] = {key: value for key, value in shared.items() if not getattr(entry, key)}
        if entry.facts:
            changes["facts"] = facts.bind(binder, node.get("facts"))
        _check_entry(binder, node, entry, folder)
        done.append(replace(entry, id=name, regions=own, **changes))
    if manifest.defaults is not None and manifest.defaults.scale is not None:
        _check_scale(binder, manifest.defaults.scale)
    return tuple(done)


def check_moment(binder: Binder, node: Table, key: str, text: str) -> None:
    """Add a problem unless the text is empty or a date, or date and time, of ISO 8601."""
    if not text:
        return
    try:
        datetime.fromisoformat(text)
    except ValueError:
        binder.problems.add(
            node.at(key),
            "bad-date",
            f"{key}: {shown(text)} is not a date and time of ISO 8601",
            "Write 2026-07-14 or 2026-07-14T16:20-07:00.",
        )


def _expanded(binder: Binder, entry: ThermogramEntry, folder: SurveyFolder) -> list[Placed]:
    node = binder.origin(entry)
    assert isinstance(node, Table)
    if not entry.file:
        given = node.get("file")
        if isinstance(given, Scalar) and not is_absent(given) and not given.text:
            binder.problems.add(
                node.at("file"), "missing-value", "'file' has no value", "Write the path of the picture."
            )
        return [(node, entry)]
    place = node.at("file")
    if not folder.holds(entry.file, place, "file", binder.problems):
        return [(node, entry)]
    files = folder.matches(entry.file)
    if len(files) == 1:
        found = entry if files[0] == entry.file else replace(entry, file=files[0])
        if found is entry or folder.holds(found.file, place, "file", binder.problems):
            return [(node, found)]
        return [(node, entry)]
    if entry.id:
        binder.problems.add(
            node.at("id"),
            "id-of-many",
            f"{shown(entry.file)} names {len(files)} files, but an id is for one",
            "Leave `id` out, or name one file.",
        )
    return [
        (node, replace(entry, id="", file=file)) for file in files if folder.holds(file, place, "file", binder.problems)
    ]


def _ids(binder: Binder, entries: list[Placed]) -> list[str]:
    """Ids in order: those given, else the slug of the file's stem, with as much added as tells it from the others."""
    taken: dict[str, Node] = {}
    for node, entry in entries:
        if entry.id:
            place = node.at("id")
            if not is_id(entry.id):
                binder.problems.add(
                    place,
                    "bad-id",
                    f"the id {shown(entry.id)} is not a short name: a-z, 0-9 and '-', at most {ID_LENGTH} characters",
                    f"Write {slug(entry.id)}.",
                )
            elif entry.id in taken:
                binder.problems.add(
                    place,
                    "duplicate-id",
                    f"the id {shown(entry.id)} stands twice; the first is on line {taken[entry.id].line}",
                    "Give each thermogram its own id.",
                )
            else:
                taken[entry.id] = place
    once: dict[tuple[str, int], Node] = {}
    for node, entry in entries:
        first = once.setdefault((entry.file, entry.page), node)
        if first is not node and entry.file and not entry.id:
            binder.problems.add(
                node.at("file"),
                "duplicate-picture",
                f"{shown(entry.file)}, page {entry.page}, is listed twice; the first is on line {first.line}",
                "Remove one, give another page, or give it an `id`.",
            )
    files: dict[str, set[str]] = {}
    for _, entry in entries:
        files.setdefault(_stem(entry), set()).add(entry.file)
    names = []
    counts: Counter[str] = Counter()
    for node, entry in entries:
        names.append(entry.id or _own_id(entry, len(files[_stem(entry)]) > 1, taken, counts))
        taken.setdefault(names[-1], node)
    return names


def _stem(entry: ThermogramEntry) -> str:
    return slug(PurePosixPath(entry.file).stem)


def _own_id(entry: ThermogramEntry, shared: bool, taken: dict[str, Node], counts: Counter[str]) -> str:
    """Stem and page; with the folder, then the suffix, when another file has the same stem; then a number."""
    path = PurePosixPath(entry.file)
    page = f"-page-{entry.page}" if entry.page else ""
    room = ID_LENGTH - len(page)
    forms = [slug(f"{path.parent.name} {path.stem}"), slug(f"{path.stem} {path.suffix[1:]}")]
    for form in forms if shared else [_stem(entry)]:
        name = form[:room].rstrip("-") + page
        if is_id(name) and name not in taken:
            return name
    base = _stem(entry)[: room - 6].rstrip("-") + page
    counts[base] += 1
    while f"{base}-{counts[base] + 1}" in taken:
        counts[base] += 1
    return f"{base}-{counts[base] + 1}"


def _regions(
    binder: Binder, manifest: Manifest, entries: list[Placed], ids: list[str], facts: FactBook
) -> list[tuple[RegionEntry, ...]]:
    """Regions by thermogram: those written with the picture first, then those of the common list."""
    index = {name: number for number, name in enumerate(ids)}
    known = NameList(ids, "thermograms")
    found: list[list[tuple[Node, RegionEntry]]] = []
    for (_, entry), name in zip(entries, ids, strict=True):
        own = []
        for region in entry.regions:
            node = binder.origin(region)
            if region.thermogram not in ("", name):
                binder.problems.add(
                    node.at("thermogram") if isinstance(node, Table) else node,
                    "region-elsewhere",
                    f"this region stands with '{name}' but names {shown(region.thermogram)}",
                    "Leave `thermogram` out here, or move the region.",
                )
            own.append((node, checked_region(binder, region, name, facts)))
        found.append(own)
    for region in manifest.regions:
        number = placed(binder, region, known, index)
        checked = checked_region(binder, region, region.thermogram, facts)
        if number is not None:
            found[number].append((binder.origin(region), checked))
    for own in found:
        if own:
            check_names(binder, own)
    return [tuple(region for _, region in own) for own in found]


def _shared(defaults: ThermogramDefaults | None) -> dict[str, Any]:
    if defaults is None:
        return {}
    return {one.name: value for one in fields(defaults) if (value := getattr(defaults, one.name))}


def _check_entry(binder: Binder, node: Table, entry: ThermogramEntry, folder: SurveyFolder) -> None:
    if entry.visible:
        folder.holds(entry.visible, node.at("visible"), "visible", binder.problems)
    if entry.taken:
        check_moment(binder, node, "taken", entry.taken)
    check_geometry(binder, node, entry)
    if entry.scale is not None:
        _check_scale(binder, entry.scale)


def _check_scale(binder: Binder, scale: ScaleEntry) -> None:
    node = binder.origin(scale)
    assert isinstance(node, Table)
    if scale.known_points and (
        given := [key for key in ("kelvin_per_count", "zero_at", "values", "bar") if getattr(scale, key) is not None]
    ):
        binder.problems.add(
            node.at("known_points"),
            "scale-twice",
            f"the scale is given both as `known_points` and as `{given[0]}`",
            "Keep `known_points` for pictures about whose numbers nothing else is known.",
        )
    elif scale.bar is not None:
        _check_bar(binder, node, scale)
    elif scale.values is not None and (scale.kelvin_per_count is not None or scale.zero_at is not None):
        binder.problems.add(
            node.at("values"),
            "scale-twice",
            "the scale is given both as `values` and per count",
            "Keep `values` for files that hold temperatures, `kelvin_per_count` for counts.",
        )
    elif (
        scale.values is None
        and scale.kelvin_per_count is None
        and "kelvin_per_count" not in node.entries
        and "values" not in node.entries
        and "bar" not in node.entries
        and not scale.known_points
    ):
        binder.problems.add(
            node,
            "scale-incomplete",
            "the scale needs `kelvin_per_count`, `values`, `bar` or `known_points`",
            "Write scale: {kelvin_per_count: 0.01}, or scale: {values: degC}.",
        )


def _check_bar(binder: Binder, node: Table, scale: ScaleEntry) -> None:
    """A bar stands alone in its scale, its boxes have a size and its ends rise."""
    bar = scale.bar
    assert bar is not None
    others = [key for key in ("kelvin_per_count", "zero_at", "values") if getattr(scale, key) is not None]
    if others:
        binder.problems.add(
            node.at("bar"),
            "scale-twice",
            f"the scale is given both as `bar` and as `{others[0]}`",
            "Keep `bar` for pictures that hold colours only, and leave the rest out.",
        )
    place = node.get("bar")
    assert isinstance(place, Table)
    boxes = [("box", bar.box), ("picture", bar.picture), *(("overlays", one) for one in bar.overlays)]
    for key, box in boxes:
        if box is not None and min(box[2:]) < 1:
            binder.problems.add(
                place.at(key),
                "colour-bar",
                f"{key}: a box of {box[2]} x {box[3]} pixels has no size",
                "Write [left, top, width, height] in pixels of the file.",
            )
    if bar.ends is not None and bar.ends[0].value >= bar.ends[1].value:
        binder.problems.add(
            place.at("ends"),
            "colour-bar",
            "ends: the first temperature must be below the second",
            "Write [cold end, warm end]; `runs` says which way the bar rises in the picture.",
        )
