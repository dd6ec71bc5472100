"""Outlines over a picture and their labels, the owner's own names, kept off each other where there is room."""

from __future__ import annotations

from collections.abc import Sequence

from heatbrief.model.finding import Finding
from heatbrief.model.results import RegionRecord, ThermogramRecord
from heatbrief.site.context import Data, Site
from heatbrief.site.pictures import Box, Points, region_points

LETTER = 2.3
LINE = 6.5
WIDEST = 58.0
"""Width of a letter, height of a label and greatest width of a label in per cent of a picture on a small screen."""

Span = tuple[float, float, float, float]


def own_outlines(site: Site, finding: Finding, record: ThermogramRecord, box: Box) -> list[Data]:
    """A finding's region, dashed, below the finding's own outline; the label is the owner's name for the region."""
    region = next((one for one in record.regions if one.name == finding.region and one.shape != "whole"), None)
    outlines = []
    if region is not None:
        outlines.append(region_outline(region, record, box, label=finding.outline is None))
    if finding.outline is not None:
        label = finding.region or site.words.say("picture.this_finding")
        outlines.append(_outline(finding.outline.polygon, "polygon", "finding", label, box))
    return outlines


def region_outline(region: RegionRecord, record: ThermogramRecord, box: Box, label: bool = True) -> Data:
    """A region as its owner drew it."""
    shape = {"line": "polyline", "point": "circle"}.get(region.shape, "polygon")
    return _outline(region_points(region, record), shape, "region", region.name if label else "", box)


def place_labels(outlines: Sequence[Data]) -> list[Data]:
    """The outlines with a place for each label: above or below, the first that no earlier label covers."""
    taken: list[Span] = []
    placed = []
    for outline in outlines:
        chosen: tuple[str, Span] = ("", (0, 0, 0, 0))
        if outline["label"]:
            options = _options(outline["extent"], min(len(outline["label"]) * LETTER + 2, WIDEST))
            chosen = next((one for one in options if not any(_overlap(one[1], other) for other in taken)), options[0])
            taken.append(chosen[1])
        placed.append({**{name: value for name, value in outline.items() if name != "extent"}, "place": chosen[0]})
    return placed


def _options(extent: Span, width: float) -> list[tuple[str, Span]]:
    """Style and covered part of each place a label may take; the ones inside the picture first."""
    left, top, right, bottom = extent
    found = []
    for at_right in (left + right > 100, left + right <= 100):
        x = right - width if at_right else left
        across = f"right:{_clamp(100 - right)}%" if at_right else f"left:{_clamp(left)}%"
        for y, down in ((top - LINE, f"bottom:{_clamp(100 - top)}%"), (bottom, f"top:{_clamp(bottom)}%")):
            found.append((f"{across};{down}", (x, y, x + width, y + LINE)))
    return sorted(found, key=lambda one: one[1][0] < 0 or one[1][1] < 0 or one[1][2] > 100 or one[1][3] > 100)


def _overlap(one: Span, other: Span) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _outline(points: Points, shape: str, kind: str, label: str, box: Box) -> Data:
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
        "label": label,
        "extent": extent,
        "points": " ".join(f"{x:g},{y:g}" for x, y in points),
        "x": f"{points[0][0]:g}",
        "y": f"{points[0][1]:g}",
        "radius": f"{max(x1 - x0, y1 - y0) / 60:.2g}",
    }


def _clamp(share: float) -> str:
    return f"{min(max(share, 0.0), 94.0):.1f}"
