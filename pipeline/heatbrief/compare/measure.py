"""One finding measured in both surveys in the same way, each result free of that survey's weather or load."""

from __future__ import annotations

import math

import numpy as np

from heatbrief.compare import drive
from heatbrief.compare.drive import Missing
from heatbrief.compare.kinds import CONTRAST, DEVIATION, FACTOR, RISE, WET, Kind
from heatbrief.compare.look import CAMERA_STANDARD, Look, Measured, is_area, like_parts, reading_of
from heatbrief.compare.pixels import Standout, grown_zone, standout, wet_pixels
from heatbrief.compare.rise import rise
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import NORMAL_95, Quantity


def measure(kind: Kind, old: Look, new: Look) -> Measured | Missing:
    """The kind's measure of a place in both surveys, or why there is none."""
    assert old.finding is not None
    if kind is RISE:
        return rise(old, new)
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


def _deviation(old: Look, new: Look) -> Measured | Missing:
    """A part's distance from the median of like parts, over their rise over the air."""
    spots: list[Standout] = []
    drives: list[Quantity | Missing] = []
    for look in (old, new):
        own, peers = reading_of(look), like_parts(look)
        if own is None or not peers:
            return Missing(("the like parts beside it as regions in both surveys",), "not measurable")
        levels = [level for _, level in peers]
        middle = float(np.median(levels))
        spread = 1.4826 * float(np.median(np.abs(np.array(levels) - middle)))
        spots.append(Standout(own - middle, max(0.3, spread / math.sqrt(len(levels))), middle, int(look.place.sum())))
        drives.append(_working(look, middle))
    return _divided(DEVIATION, spots[0], spots[1], drives[0], drives[1])
