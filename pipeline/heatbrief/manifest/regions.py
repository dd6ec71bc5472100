"""Regions of a manifest: one form each, not empty, uniquely named on their thermogram."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from heatbrief.manifest.bind import Binder
from heatbrief.manifest.known import FactBook, NameList
from heatbrief.manifest.nodes import Items, Node, Table, is_absent, shown
from heatbrief.manifest.schema import RegionEntry

FORMS = ("outline", "box", "line", "point")
FAR = 1e6
MOST_POINTS = 10_000


def checked_region(binder: Binder, entry: RegionEntry, thermogram: str, facts: FactBook) -> RegionEntry:
    """The region with its thermogram and bound facts; adds what is wrong with its form."""
    node = binder.origin(entry)
    assert isinstance(node, Table)
    _check_form(binder, node, entry)
    if not entry.facts:
        return replace(entry, thermogram=thermogram) if entry.thermogram != thermogram else entry
    return replace(entry, thermogram=thermogram, facts=facts.bind(binder, node.get("facts")))


def check_names(binder: Binder, regions: list[tuple[Node, RegionEntry]]) -> None:
    """Names of one thermogram's regions are not empty and differ, ignoring case."""
    seen: dict[str, Node] = {}
    for node, entry in regions:
        name = entry.name.strip().casefold()
        place = node.at("name") if isinstance(node, Table) else node
        if not name:
            if isinstance(node, Table) and not is_absent(node.get("name")):
                binder.problems.add(place, "empty-name", "a region needs a name", "Write your own words for it.")
        elif name in seen:
            binder.problems.add(
                place,
                "duplicate-region",
                f"the thermogram '{entry.thermogram}' has two regions {shown(entry.name)}; "
                f"the first is at {seen[name].where}",
                "Give each region its own name.",
            )
        else:
            seen[name] = place


def placed(binder: Binder, entry: RegionEntry, known: NameList, ids: Mapping[str, int]) -> int | None:
    """Index of the thermogram that a region in the common list names, or None after adding a problem."""
    node = binder.origin(entry)
    assert isinstance(node, Table)
    if entry.thermogram in ids:
        return ids[entry.thermogram]
    if not entry.thermogram:
        if "thermogram" not in node.entries or is_absent(node.get("thermogram")):
            binder.problems.add(
                node,
                "missing-key",
                f"the region {shown(entry.name)} needs 'thermogram'",
                "Add `thermogram:`, or move the region to its picture.",
            )
        return None
    binder.problems.add(
        node.at("thermogram"),
        "unknown-thermogram",
        f"there is no thermogram {shown(entry.thermogram)}",
        "" if binder.problems.many else known.remedy(entry.thermogram),
    )
    return None


def _check_form(binder: Binder, node: Table, entry: RegionEntry) -> None:
    given = [form for form in FORMS if getattr(entry, form) is not None]
    if len(given) > 1:
        binder.problems.add(
            node.entries[given[1]][0],
            "several-forms",
            f"the region {shown(entry.name)} has {' and '.join(given)}",
            "Keep one of outline, box, line, point; none means the whole picture.",
        )
        return
    if not given:
        return
    (form,) = given
    value = getattr(entry, form)
    listed = node.get(form)
    if isinstance(listed, Items) and form in ("outline", "line") and len(listed.items) != len(value):
        return  # a point was wrong and has been reported
    points = value if form in ("outline", "line") else [value]
    wrong = _form_problem(form, points)
    if wrong is None and (len(points) > MOST_POINTS or any(abs(number) > FAR for point in points for number in point)):
        wrong = f"has more than {MOST_POINTS} points or lies more than {FAR:.0f} pixels away"
    if wrong:
        binder.problems.add(
            node.at(form),
            "region-form",
            f"the region {shown(entry.name)} {wrong}",
            "Draw it again, or correct the numbers: they are pixels, x to the right and y down.",
        )


def _form_problem(form: str, points: tuple[tuple[float, ...], ...] | list[tuple[float, ...]]) -> str | None:
    if form == "box":
        return "has no size: width and height must be above 0" if min(points[0][2:]) <= 0 else None
    distinct = list(dict.fromkeys(points))
    if form == "line":
        return "needs at least two different points" if len(distinct) < 2 else None
    if form == "outline":
        if len(distinct) < 3:
            return f"needs at least three different corners, got {len(distinct)}"
        (x0, y0), (x1, y1) = distinct[0], distinct[1]
        if all((x1 - x0) * (y - y0) == (y1 - y0) * (x - x0) for x, y in distinct[2:]):
            return "has no size: its corners lie on one line"
    return None
