"""The place of a finding in both surveys, and what it reads there beside parts like it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from heatbrief.compare import drive
from heatbrief.compare.drive import Facts
from heatbrief.compare.match import Pair, polygon_mask, region_mask
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import RegionRecord, ThermogramRecord

if TYPE_CHECKING:
    from heatbrief.compare.surveys import Survey

CAMERA_STANDARD = 1.15
"""Standard uncertainty of an absolute temperature [K] where a picture states none: 2 K limits, evenly likely (common practice)."""


@dataclass(frozen=True)
class Look:
    """A finding's place in one survey: masks are bool (height, width)."""

    survey: Survey
    record: ThermogramRecord
    region: RegionRecord | None
    finding: Finding | None
    values: np.ndarray
    place: np.ndarray
    search: np.ndarray
    others: np.ndarray

    @property
    def facts(self) -> Facts:
        """Conditions of the picture."""
        return drive.conditions_of(self.survey, self.record)


@dataclass(frozen=True)
class Measured:
    """The measure before and after, in one unit, and what was used."""

    before: Quantity
    after: Quantity
    evidence: tuple[str, ...]


def is_area(finding: Finding) -> bool:
    """True when the finding is an area that stood out by itself, not a part compared with others."""
    return "contrast to noise" in finding.measured


def looks(
    finding: Finding, later: Finding | None, pair: Pair, before: Survey, after: Survey
) -> tuple[Look, Look] | None:
    """The place in both surveys: the outlines of both findings together. None when it cannot be placed or a picture is gone."""
    old, new = pair.before, pair.after
    assert old is not None and new is not None
    one, two = before.pixels.values(old), after.pixels.values(new)
    if one is None or two is None:
        return None
    regions = pair.region(finding.region)
    places = _places(finding, later, pair, regions)
    if places is None:
        return None
    searches = tuple(region_mask(region, record) for region, record in zip(regions, (old, new), strict=True))
    earlier_look, later_look = (
        Look(survey, record, region, found, values, place, search, _others(survey, record, found))
        for survey, record, region, found, values, place, search in zip(
            (before, after), (old, new), regions, (finding, later), (one, two), places, searches, strict=True
        )
    )
    return earlier_look, later_look


def _places(
    finding: Finding, later: Finding | None, pair: Pair, regions: tuple[RegionRecord | None, RegionRecord | None]
) -> tuple[np.ndarray, np.ndarray] | None:
    old, new = pair.before, pair.after
    assert old is not None and new is not None
    by_region = finding.outline is None or not is_area(finding)
    if by_region and (finding.outline is None or all(one is not None and one.points for one in regions)):
        if finding.region and regions[1] is None and regions[0] is not None and regions[0].points:
            return None
        return region_mask(regions[0], old), region_mask(regions[1], new)
    assert finding.outline is not None
    polygon = pair.place(finding.outline.polygon, finding.region)
    if polygon is None:
        return None
    first, second = polygon_mask(finding.outline.polygon, old), polygon_mask(polygon, new)
    if later is not None and later.outline is not None and pair.record.moved is not None:
        x, y = pair.record.moved
        second = second | polygon_mask(later.outline.polygon, new)
        first = first | polygon_mask(tuple((px + x, py + y) for px, py in later.outline.polygon), old)
    return first, second


def _others(survey: Survey, record: ThermogramRecord, own: Finding | None) -> np.ndarray:
    """Places of other findings in the picture: no part of a plain surface."""
    mask = np.zeros((record.height, record.width), bool)
    for one in survey.results.findings:
        if (
            one.thermogram == record.id
            and one.outline is not None
            and one is not own
            and is_area(one)
            and one.verdict != "normal"
        ):
            mask |= polygon_mask(one.outline.polygon, record)
    return mask


def reading_of(look: Look) -> float | None:
    """Mean of the place, of a line its warm end (95th percentile) [degC]; None without a valid pixel."""
    good = look.place & np.isfinite(look.values)
    if not good.any():
        return None
    found = look.values[good]
    if look.region is not None and look.region.shape == "line":
        return float(np.percentile(found, 95))
    return float(found.mean())


def like_parts(look: Look) -> list[tuple[RegionRecord, float]]:
    """Like parts in the same picture with their mean temperature [degC]."""
    own = look.region
    if own is None:
        return []
    like = [
        one
        for one in look.record.regions
        if one.name != own.name
        and one.shape not in ("whole", "line")
        and (one.group == own.group if own.group else one.shows == own.shows and one.shows)
    ]
    found = []
    for one in like:
        mask = region_mask(one, look.record) & np.isfinite(look.values)
        if mask.any():
            found.append((one, float(look.values[mask].mean())))
    return found
