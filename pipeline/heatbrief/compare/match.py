"""Which picture, region and finding after belongs to which before. Names come first; pixels only settle what names leave open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from heatbrief.compare.drive import Facts, air_difference, conditions_of
from heatbrief.compare.register import shift_between
from heatbrief.model.comparison import PicturePair
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region, Shape
from heatbrief.model.results import RegionRecord, ResultsDocument, ThermogramRecord

if TYPE_CHECKING:
    from heatbrief.compare.surveys import Survey

LEAST_OVERLAP = 0.1
"""Intersection over union from which two outlines of one check are one place."""
SAME_DRAWING = 1.0
"""Corners of a region that lie within this many pixels of the earlier ones count as drawn alike."""

GONE = "not moved: the stored pictures are not both there"

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Pair:
    """One view before and after."""

    record: PicturePair
    before: ThermogramRecord | None
    after: ThermogramRecord | None

    def region(self, name: str) -> tuple[RegionRecord | None, RegionRecord | None]:
        """The region of that name in both pictures."""
        return region_of(self.before, name), region_of(self.after, name)

    def place(self, points: Points, region: str) -> Points | None:
        """Points of the earlier picture in the later one; None when there is no way to tell."""
        old, new = self.region(region)
        if old is not None and new is not None and len(old.points) > 1 and len(new.points) > 1 and not _alike(old, new):
            return _by_box(points, old.points, new.points)
        if self.record.moved is None:
            return None
        x, y = self.record.moved
        return tuple((px - x, py - y) for px, py in points)


def region_of(record: ThermogramRecord | None, name: str) -> RegionRecord | None:
    """A region of a picture by its name, or None."""
    return None if record is None else next((one for one in record.regions if one.name == name), None)


def pair_pictures(before: Survey, after: Survey) -> dict[str, Pair]:
    """Every picture of the earlier survey with its counterpart: by id, else by what it shows and the room, in order."""
    late = {one.id: one for one in after.results.thermograms}
    same = {one.id for one in before.results.thermograms} & set(late)
    free = [one for one in after.results.thermograms if one.id not in same]
    pairs = {}
    for record in before.results.thermograms:
        found = late.get(record.id)
        if found is None:
            found = next(
                (one for one in free if (one.title, one.room) == (record.title, record.room) and one.title), None
            )
            free = [one for one in free if one is not found]
        pairs[record.id] = Pair(_laid_over(record, found, before, after), record, found)
    return pairs


def _laid_over(old: ThermogramRecord, new: ThermogramRecord | None, before: Survey, after: Survey) -> PicturePair:
    if new is None:
        return PicturePair(old.id, "", None, "the later survey has no such picture")
    if (old.width, old.height) != (new.width, new.height):
        return PicturePair(old.id, new.id, None, "the pictures differ in size: regions alone tell the place")
    if "analysed" not in (old.status, new.status) or old.status != new.status:
        return PicturePair(old.id, new.id, (0.0, 0.0), "not moved: no temperature scale")
    one, two = before.pixels.values(old), after.pixels.values(new)
    if one is None or two is None:
        return PicturePair(old.id, new.id, (0.0, 0.0), GONE)
    x, y = shift_between(one, two, _reversed(conditions_of(before, old), conditions_of(after, new)))
    if not (x or y):
        return PicturePair(old.id, new.id, (0.0, 0.0), "not moved")
    return PicturePair(old.id, new.id, (round(x, 2), round(y, 2)), "by detail")


def _reversed(before: Facts, after: Facts) -> bool:
    """True when it was warmer inside in one survey and outside in the other."""
    one, two = air_difference(before), air_difference(after)
    return isinstance(one, Quantity) and isinstance(two, Quantity) and one.value * two.value < 0


def later_finding(finding: Finding, results: ResultsDocument, pair: Pair, taken: Iterable[str]) -> Finding | None:
    """The finding of the same check in the same place, or None."""
    if pair.after is None:
        return None
    rivals = [
        one
        for one in results.findings
        if one.check == finding.check
        and one.thermogram == pair.after.id
        and one.region == finding.region
        and one.id not in taken
    ]
    if finding.outline is None:
        return next((one for one in rivals if one.outline is None), None)
    polygon = pair.place(finding.outline.polygon, finding.region)
    if polygon is None:
        return next((one for one in rivals if one.id == finding.id), None)
    ranked = sorted(
        (
            (_overlap(polygon, one.outline.polygon, pair.after), one.id, one)
            for one in rivals
            if one.outline is not None
        ),
        key=lambda each: (-each[0], each[1]),
    )
    return ranked[0][2] if ranked and ranked[0][0] >= LEAST_OVERLAP else None


def polygon_mask(points: Points, record: ThermogramRecord) -> np.ndarray:
    """Pixels of a polygon in a picture, bool (height, width); a line or point keeps its pixels."""
    shape: Shape = "polygon" if len(points) > 2 else "line" if len(points) == 2 else "point"
    return Region("", record.id, shape, points).mask(record.height, record.width)


def region_mask(region: RegionRecord | None, record: ThermogramRecord) -> np.ndarray:
    """Pixels of a region as drawn, bool (height, width); the whole picture when there is none."""
    if region is None:
        return np.ones((record.height, record.width), bool)
    return Region(region.name, record.id, region.shape, region.points).mask(record.height, record.width)  # type: ignore[arg-type]  # stored shapes are plain text


def _overlap(one: Points, two: Points, record: ThermogramRecord) -> float:
    first, second = polygon_mask(one, record), polygon_mask(two, record)
    union = np.count_nonzero(first | second)
    return float(np.count_nonzero(first & second) / union) if union else 0.0


def _alike(old: RegionRecord, new: RegionRecord) -> bool:
    if old.shape != new.shape or len(old.points) != len(new.points):
        return False
    return bool(np.abs(np.subtract(old.points, new.points)).max(initial=0.0) <= SAME_DRAWING)


def _by_box(points: Points, old: Points, new: Points) -> Points | None:
    """Points moved and stretched as the bounding box of their region was."""
    (a0, b0), (a1, b1) = np.min(old, axis=0), np.max(old, axis=0)
    (c0, d0), (c1, d1) = np.min(new, axis=0), np.max(new, axis=0)
    wide = (c1 - c0) / (a1 - a0) if a1 > a0 else 1.0
    high = (d1 - d0) / (b1 - b0) if b1 > b0 else 1.0
    return tuple((float(c0 + (x - a0) * wide), float(d0 + (y - b0) * high)) for x, y in points)
