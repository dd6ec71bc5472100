"""Outlines over a picture and their labels, the owner's own names, kept off each other where there is room."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from heatbrief.model.finding import Finding
from heatbrief.model.results import RegionRecord, ThermogramRecord
from heatbrief.site.context import Data, Site
from heatbrief.site.levels import Box
from heatbrief.site.pictures import Points, region_points

LETTER = 2.3
LINE = 5.0
WIDEST = 58.0
NARROWEST = 16.0
FEW = 6
"""Width of a letter, height of a label, greatest and least width of a label in per cent of a picture; with more
outlines than FEW, labels that would cover another outline are left off."""

Span = tuple[float, float, float, float]


def own_outlines(site: Site, finding: Finding, record: ThermogramRecord, box: Box) -> list[Data]:
    """A finding's region, dashed, below the finding's own outline; the label is the owner's name for the region."""
    region = next((one for one in record.regions if one.name == finding.region and one.shape != "whole"), None)
    outlines = []
    if region is not None:
        outlines.append(region_outline(region, record, box, label=finding.outline is None))
    own = finding_outline(finding, finding.region or site.words.say("picture.this_finding"), box)
    return [*outlines, own] if own else outlines


def finding_outline(finding: Finding, name: str, box: Box, label: bool = True) -> Data | None:
    """Where a finding lies; None when it is no part of its picture."""
    return _outline(finding.outline.polygon, "polygon", "finding", name, label, box) if finding.outline else None


def region_outline(region: RegionRecord, record: ThermogramRecord, box: Box, label: bool = True) -> Data:
    """A region as its owner drew it."""
    shape = {"line": "polyline", "point": "circle"}.get(region.shape, "polygon")
    return _outline(region_points(region, record), shape, "region", region.name, label, box)


def photo_outline(site: Site, finding: Finding, record: ThermogramRecord, box: Box) -> Data | None:
    """A finding's outline in the pixels of the ordinary photo; None where it is not known how the two lie."""
    if finding.outline is None or len(record.visible_matrix) != 9:
        return None
    try:
        back = np.linalg.inv(np.array(record.visible_matrix, float).reshape(3, 3))
    except np.linalg.LinAlgError:
        return None
    x, y, scale = back @ np.array([(px, py, 1.0) for px, py in finding.outline.polygon]).T
    if not np.isfinite(back).all() or not (np.all(scale > 1e-9) or np.all(scale < -1e-9)):
        return None
    points = [(float(f"{px:.6g}"), float(f"{py:.6g}")) for px, py in zip(x / scale, y / scale, strict=True)]
    inside = any(box[0] <= px < box[2] and box[1] <= py < box[3] for px, py in points)
    label = finding.region or site.words.say("picture.this_finding")
    return _outline(points, "polygon", "finding", label, True, box) if inside else None


def place_labels(outlines: Sequence[Data]) -> list[Data]:
    """The outlines with a place for each label that has room: above, below or beside, off other labels and outlines.

    A label without room is left off ("place" is empty); its outline keeps the name as a tooltip and the table has it.
    """
    taken: list[Span] = []
    placed = []
    for outline in outlines:
        place = ""
        if outline["label"]:
            others = [
                one["extent"] for one in outlines if one is not outline and not _holds(one["extent"], outline["extent"])
            ]
            options = _options(outline["extent"], min(len(outline["label"]) * LETTER + 2, WIDEST))
            free = [one for one in options if not any(_overlap(one[1], span) for span in taken)]
            clear = [one for one in free if not any(_overlap(one[1], span) for span in others)]
            chosen = next(iter(clear or (free if len(outlines) <= FEW else [])), None)
            if chosen:
                place = chosen[0]
                taken.append(chosen[1])
        placed.append({**{name: value for name, value in outline.items() if name != "extent"}, "place": place})
    return placed


def _options(extent: Span, width: float) -> list[tuple[str, Span]]:
    """Style and covered part of each place a label may take, within the picture; too narrow places are left out."""
    left, top, right, bottom = extent
    middle = (top + bottom) / 2
    rows = (
        (top - LINE, f"bottom:{_clamp(100 - top)}%"),
        (bottom, f"top:{_clamp(bottom)}%"),
    )
    beside = ((middle - LINE / 2, f"top:{_clamp(middle)}%;margin:0;transform:translateY(-50%)"),)
    found = []
    for edge, room, grows, places in (
        ((right, right, -1, rows), (left, 100 - left, 1, rows))
        if left + right > 100
        else ((left, 100 - left, 1, rows), (right, right, -1, rows))
    ):
        found += _in_rows(edge, room, grows, width, places)
    found += _in_rows(right + 1, 99 - right, 1, width, beside) + _in_rows(left - 1, left - 1, -1, width, beside)
    return sorted(found, key=lambda one: one[1][1] < 0 or one[1][3] > 100)


def _in_rows(
    edge: float, room: float, grows: int, width: float, rows: Sequence[tuple[float, str]]
) -> list[tuple[str, Span]]:
    """Places that start at an edge and grow to the right (1) or left (-1), cut to the room there is."""
    if room < min(width, NARROWEST):
        return []
    wide = min(width, room)
    x = edge if grows > 0 else edge - wide
    across = f"left:{_clamp(edge)}%" if grows > 0 else f"right:{_clamp(100 - edge)}%"
    limit = f"max-width:{min(room, WIDEST):.1f}%"
    return [(f"{across};{down};{limit}", (x, y, x + wide, y + LINE)) for y, down in rows]


def _holds(outer: Span, inner: Span) -> bool:
    """True for a span around the other, as a region around its finding: its area is no obstacle."""
    return outer[0] <= inner[0] and outer[1] <= inner[1] and outer[2] >= inner[2] and outer[3] >= inner[3]


def _overlap(one: Span, other: Span) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _outline(points: Points, shape: str, kind: str, name: str, label: bool, box: Box) -> Data:
    """Geometry in pixel centres, and its extent in per cent of the shown part."""
    x0, y0, x1, y1 = box
    xs, ys = [x for x, _ in points], [y for _, y in points]
    wide, high = 100 / (x1 - x0), 100 / (y1 - y0)
    extent = (
        (min(xs) + 0.5 - x0) * wide,
        (min(ys) + 0.5 - y0) * high,
        (max(xs) + 0.5 - x0) * wide,
        (max(ys) + 0.5 - y0) * high,
    )
    return {
        "shape": shape,
        "kind": kind,
        "label": name if label else "",
        "extent": extent,
        "name": name,
        "points": " ".join(f"{x:g},{y:g}" for x, y in points),
        "x": f"{points[0][0]:g}",
        "y": f"{points[0][1]:g}",
        "radius": f"{max(x1 - x0, y1 - y0) / 60:.2g}",
    }


def _clamp(share: float) -> str:
    return f"{min(max(share, 0.0), 94.0):.1f}"
