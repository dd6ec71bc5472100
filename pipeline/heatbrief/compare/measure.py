"""One finding measured in both surveys in the same way, each result free of that survey's weather or load."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from heatbrief.compare import drive
from heatbrief.compare.drive import Facts, Missing
from heatbrief.compare.kinds import CONTRAST, DEVIATION, FACTOR, LOADS, MOST_WIND, RISE, WET, Kind
from heatbrief.compare.match import Pair, polygon_mask, region_mask
from heatbrief.compare.pixels import Standout, grown_zone, standout, wet_pixels
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.model.results import RegionRecord, ThermogramRecord
from heatbrief.physics.wind_cooling import WIND_SPREAD, rise_ratio

if TYPE_CHECKING:
    from heatbrief.compare.surveys import Survey

USUAL_EXPONENT = 1.8
CAMERA_STANDARD = 1.15
"""Standard uncertainty of an absolute temperature [K] where a picture states none: 2 K limits, evenly likely (common practice)."""
READING_SPREAD = 0.02


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


def measure(kind: Kind, old: Look, new: Look) -> Measured | Missing:
    """The kind's measure of a place in both surveys, or why there is none."""
    assert old.finding is not None
    if kind is RISE:
        return _rise(old, new)
    if kind is DEVIATION and not is_area(old.finding):
        return _deviation(old, new)
    spots = _standout(old), _standout(new)
    if spots[0] is None or spots[1] is None:
        return _from_findings(kind, old.finding, new.finding)
    if kind is WET:
        return _wet(old, new, spots[0], spots[1])
    return _divided(kind, spots[0], spots[1], _drive(kind, old, spots[0]), _drive(kind, new, spots[1]))


def _from_findings(kind: Kind, old: Finding, new: Finding | None) -> Measured | Missing:
    """What both surveys' own checks measured, for places that fill their picture."""
    name, unit = ("temperature factor", "1") if kind is FACTOR else ("contrast", "K")
    one, two = old.measured.get(name), new.measured.get(name) if new is not None else None
    if kind not in (FACTOR, CONTRAST) or one is None or two is None or {one.unit, two.unit} != {unit}:
        return Missing(("a place of more pixels, with plain surface beside it",), "not measurable")
    if kind is FACTOR:
        one, two = (
            Quantity(1 - f.value, "1", 1 - f.high, 1 - f.low, f.coverage, "1 minus the temperature factor")
            for f in (one, two)
        )
    return Measured(one, two, ("as the check measured it in each survey",))


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


def _standout(look: Look) -> Standout | None:
    found = standout(look.values, look.place, look.search, look.others & ~look.place)
    return found or standout(look.values, look.place, np.ones_like(look.search), None)


def _drive(kind: Kind, look: Look, spot: Standout) -> Quantity | Missing:
    if kind is FACTOR:
        return drive.air_difference(look.facts, look.region)
    if kind is DEVIATION:
        return _working(look, spot.around)
    return Quantity.exact(1.0, "1")


def _working(look: Look, around: float) -> Quantity | Missing:
    air = drive.number(look.facts, "outside_air") or drive.number(look.facts, "inside_air")
    if air is None:
        return Missing(("air temperature",))
    return Quantity.normal(around - air.value, "K", math.hypot(air.standard, CAMERA_STANDARD), "sound parts minus air")


def _divided(
    kind: Kind, one: Standout, two: Standout, first: Quantity | Missing, second: Quantity | Missing
) -> Measured | Missing:
    faults = _lacking(kind, first, second)
    if faults is not None:
        return faults
    assert isinstance(first, Quantity) and isinstance(second, Quantity)
    unit = "K" if kind is CONTRAST else "1"
    # a contrast of the same sign in the season it was found in counts as positive, in both surveys
    sign = math.copysign(1.0, one.value / first.value)
    old, new = (
        Quantity.normal(
            sign * spot.value / by.value,
            unit,
            math.hypot(spot.standard / by.value, spot.value * by.standard / by.value**2),
            f"mean within minus median around, over the {kind.drive}"
            if kind.drive
            else "mean within minus median around",
        )
        for spot, by in ((one, first), (two, second))
    )
    words = tuple(
        f"{when}: {spot.value:.2f} K against what is around it"
        + (f" at a {kind.drive} of {by.value:.1f} K" if kind.drive else "")
        for when, spot, by in (("before", one, first), ("after", two, second))
    )
    return Measured(old, new, words)


def _lacking(kind: Kind, *drives: Quantity | Missing) -> Missing | None:
    """Why the drives do not allow a comparison, if they do not."""
    words = tuple(dict.fromkeys(word for one in drives if isinstance(one, Missing) for word in one.words))
    if words:
        return Missing(words)
    small = [one for one in drives if isinstance(one, Quantity) and kind.drive and abs(one.value) < kind.least]
    if small:
        return Missing(
            (f"a {kind.drive} of {kind.least:g} K or more in both surveys ({kind.why})",), "too little to drive it"
        )
    return None


def _wet(old: Look, new: Look, one: Standout, two: Standout) -> Measured | Missing:
    assert old.finding is not None
    dry = drive.drying(old.facts, old.finding.check, one.around), drive.drying(new.facts, old.finding.check, two.around)
    faults = _lacking(WET, *dry)
    if faults is not None:
        return faults
    assert isinstance(dry[0], Quantity) and isinstance(dry[1], Quantity)
    full = old.finding.measured.get("contrast")
    wet = full.value if full is not None and full.unit == "K" and full.value * one.value > 0 else one.value
    areas = []
    for look, spot, reach in ((old, one, dry[0]), (new, two, dry[1])):
        expected = wet * reach.value / dry[0].value
        counts = [
            wet_pixels(look.values, grown_zone(look.place, look.search), spot.around, share * expected)
            for share in (0.6, 0.5, 0.4)
        ]
        areas.append((look, sorted(counts)))
    size = old.finding.measured.get("area")
    pixels = old.finding.outline.pixels if old.finding.outline is not None else 0
    scale = size.value / pixels if size is not None and pixels else 1.0
    same = old.values.shape == new.values.shape
    found = tuple(
        _area(
            counts,
            scale if same or look is old else scale * old.values.size / look.values.size,
            "m2" if scale != 1.0 else "px",
        )
        for look, counts in areas
    )
    words = tuple(
        f"{when}: {reach.value:.1f} K above the wet bulb around it, so water would cool it by about {abs(wet * reach.value / dry[0].value):.1f} K"
        for when, reach in (("before", dry[0]), ("after", dry[1]))
    )
    return Measured(found[0], found[1], words)


def _area(counts: list[int], scale: float, unit: str) -> Quantity:
    low, middle, high = (count * scale for count in counts)
    half = NORMAL_95 * 0.3 * math.sqrt(max(middle / scale, 1.0)) * scale
    return Quantity(
        middle,
        unit,
        max(0.0, min(low, middle - half)),
        max(high, middle + half),
        0.95,
        "pixels past half of what water would cool, 40 to 60 % for the bounds",
    )


def _reading(look: Look) -> float | None:
    good = look.place & np.isfinite(look.values)
    if not good.any():
        return None
    found = look.values[good]
    if look.region is not None and look.region.shape == "line":
        return float(np.percentile(found, 95))
    return float(found.mean())


def _peers(look: Look) -> list[tuple[RegionRecord, float]]:
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


def _rise(old: Look, new: Look) -> Measured | Missing:
    """Rise over like parts at the same load, else over the air, brought to the load of the earlier survey."""
    loads = drive.common_load((old.region, old.finding), (new.region, new.finding))
    if isinstance(loads, Missing):
        return loads
    small = [
        share
        for look in (old, new)
        if (share := drive.load_share(look.region, look.finding)) is not None and share < RISE.least
    ]
    if small:
        return Missing(
            (f"a load of {RISE.least:.0%} of the rating or more in both surveys ({RISE.why})",),
            "too little to drive it",
        )
    if bool(_peers(old)) != bool(_peers(new)):
        return Missing(("the like parts beside it as regions in both surveys",))
    blown = _blown(old, new)
    if isinstance(blown, Missing):
        return blown
    rises = _excess(old), _excess(new)
    for one in rises:
        if isinstance(one, Missing):
            return one
    first, second = (one for one in rises if isinstance(one, Quantity))
    name = drive.load_name((old.region, old.finding), (new.region, new.finding))
    low, usual, high = ((loads[0] / loads[1]) ** exponent for exponent in loads[2])
    if blown is not None:
        bounds = sorted((low, high))
        low, usual, high = bounds[0] * blown[0], usual * blown[1], bounds[1] * blown[2]
    ends = sorted((second.value * low, second.value * high))
    half = NORMAL_95 * second.standard * usual
    later = Quantity(
        second.value * usual,
        "K",
        min(ends[0], second.value * usual) - half,
        max(ends[1], second.value * usual) + half,
        0.95,
        f"{second.method}, brought to the load{'' if blown is None else ' and wind'} of the earlier survey",
    )
    words = (
        f"before: {first.value:.1f} K, {first.method}, at a load of {_load(name, loads[0])}",
        f"after: {second.value:.1f} K at a load of {_load(name, loads[1])}; that is {later.value:.1f} K at the earlier load "
        f"(rises grow with the load to the power of {loads[2][0]:g} to {loads[2][2]:g})",
        *(() if blown is None else (_wind_words(old, new, blown),)),
    )
    return Measured(first, later, words)


def _blown(old: Look, new: Look) -> tuple[float, float, float] | Missing | None:
    """(low, usual, high) by which the later rise is multiplied for the wind of both surveys; None indoors."""
    if not any(drive.is_outdoors(look.record, look.region) for look in (old, new)):
        return None
    winds = drive.wind_at(old.facts), drive.wind_at(new.facts)
    if winds[0] is None or winds[1] is None:
        return Missing(("wind in both surveys, as the part is outdoors",))
    if max(winds[0].value, winds[1].value) > MOST_WIND:
        return Missing((f"less than {MOST_WIND:g} m/s of wind in both surveys",), "too little to drive it")
    spread = max(WIND_SPREAD, *((one.high - one.low) / 2 for one in winds if one is not None))
    return rise_ratio(winds[1].value, winds[0].value, spread)


def _wind_words(old: Look, new: Look, blown: tuple[float, float, float]) -> str:
    one, two = drive.wind_at(old.facts), drive.wind_at(new.facts)
    assert one is not None and two is not None
    return (
        f"wind {one.value:.1f} m/s before and {two.value:.1f} m/s after: the later rise times {blown[1]:.2f} "
        f"({blown[0]:.2f} to {blown[2]:.2f}, forced convection on parts of 6 to 50 mm)"
    )


def _load(name: str, amount: float) -> str:
    """A load with its unit."""
    return f"{100 * amount:.0f} %" if name == "load share" else f"{amount:g} {'W' if name == 'power' else 'A'}"


def _excess(look: Look) -> Quantity | Missing:
    """How much warmer the part is than its like at the same load, else than the air [K]."""
    own = _reading(look)
    if own is None:
        return Missing(("a part of more pixels",), "not measurable")
    outdoors = drive.is_outdoors(look.record, look.region) or "inside_air" not in look.facts
    air = drive.stated(look.region, "air around") or drive.number(
        look.facts, "outside_air" if outdoors else "inside_air"
    )
    peers = _peers(look)
    if not peers:
        if look.region is not None and look.region.shape == "line":
            good = look.values[look.place & np.isfinite(look.values)]
            return Quantity.normal(
                own - float(np.percentile(good, 20)), "K", 0.5, "warmest part of the line over its coolest"
            )
        if air is None:
            return Missing(("air temperature at the part",))
        return Quantity.normal(own - air.value, "K", math.hypot(air.standard, CAMERA_STANDARD), "mean over the air")
    expected = [_at_load(look, one, level, air) for one, level in peers]
    reference = float(np.median(expected))
    standard = max(0.2, READING_SPREAD * abs(own - reference))
    return Quantity.normal(own - reference, "K", standard, "mean over like parts at its load")


def _at_load(look: Look, peer: RegionRecord, level: float, air: Quantity | None) -> float:
    """Temperature a like part would have at the part's load, where both loads and the air are known."""
    for name, _ in LOADS:
        own, other = drive.load_of(look.region, look.finding, name), drive.load_of(peer, None, name)
        if own is not None and other is not None and air is not None:
            result: float = air.value + (level - air.value) * (own / other) ** USUAL_EXPONENT
            return result
    return level


def _deviation(old: Look, new: Look) -> Measured | Missing:
    """A part's distance from the median of like parts, over their rise over the air."""
    spots: list[Standout] = []
    drives: list[Quantity | Missing] = []
    for look in (old, new):
        own, peers = _reading(look), _peers(look)
        if own is None or not peers:
            return Missing(("the like parts beside it as regions in both surveys",), "not measurable")
        levels = [level for _, level in peers]
        middle = float(np.median(levels))
        spread = 1.4826 * float(np.median(np.abs(np.array(levels) - middle)))
        spots.append(Standout(own - middle, max(0.3, spread / math.sqrt(len(levels))), middle, int(look.place.sum())))
        drives.append(_working(look, middle))
    return _divided(DEVIATION, spots[0], spots[1], drives[0], drives[1])
