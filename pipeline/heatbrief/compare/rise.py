"""The rise of a part in both surveys, brought to the load and the wind of the earlier one."""

from __future__ import annotations

import math

import numpy as np

from heatbrief.compare import drive
from heatbrief.compare.drive import Missing
from heatbrief.compare.kinds import LOADS, MOST_WIND, RISE
from heatbrief.compare.look import CAMERA_STANDARD, Look, Measured, like_parts, reading_of
from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.model.results import RegionRecord
from heatbrief.physics.wind_cooling import WIND_SPREAD, rise_ratio

USUAL_EXPONENT = 1.8
READING_SPREAD = 0.02


def rise(old: Look, new: Look) -> Measured | Missing:
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
    if bool(like_parts(old)) != bool(like_parts(new)):
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
    own = reading_of(look)
    if own is None:
        return Missing(("a part of more pixels",), "not measurable")
    outdoors = drive.is_outdoors(look.record, look.region) or "inside_air" not in look.facts
    air = drive.stated(look.region, "air around") or drive.number(
        look.facts, "outside_air" if outdoors else "inside_air"
    )
    peers = like_parts(look)
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
