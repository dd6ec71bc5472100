"""What makes a fault visible in each survey: the airs, the load, the dryness of the air, the working temperature."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from heatbrief.compare.kinds import DRYING_AIR, LOADS, OUTDOORS
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.model.results import RegionRecord, ThermogramRecord
from heatbrief.model.text import matches
from heatbrief.physics.planck import ZERO_CELSIUS_K

if TYPE_CHECKING:
    from heatbrief.compare.surveys import Survey

AIR_STANDARD = 0.5
"""Standard uncertainty of an air temperature stated without bounds [K] (our choice)."""
HUMIDITY_STANDARD = 0.03
PRESSURE_SHARE = 0.25
"""Pressures made by a fan count as alike within this share."""

Facts = Mapping[str, Quantity | str]


@dataclass(frozen=True)
class Missing:
    """Facts that are not given, in words; `row` of the rule that follows."""

    words: tuple[str, ...]
    row: str = "conditions missing"


def conditions_of(survey: Survey, record: ThermogramRecord) -> Facts:
    """The conditions of a picture over those of the survey."""
    return {**survey.results.conditions, **record.conditions}


def number(facts: Facts, name: str) -> Quantity | None:
    """A stated quantity; bounds of our own where it was stated as exact."""
    found = facts.get(name)
    if not isinstance(found, Quantity) or found.low != found.high:
        return found if isinstance(found, Quantity) else None
    standard = AIR_STANDARD if found.unit == "degC" else HUMIDITY_STANDARD if "humidity" in name else 0.0
    low, high = found.value - NORMAL_95 * standard, found.value + NORMAL_95 * standard
    if "humidity" in name:
        low, high = max(low, min(0.01, found.value)), min(high, 1.0)
    return Quantity(found.value, found.unit, low, high, 0.95, found.method)


def stated(region: RegionRecord | None, name: str) -> Quantity | None:
    """A fact of a region that is a quantity; names are told apart by their words alone."""
    if region is None:
        return None
    facts = {key.replace("_", " "): value for key, value in region.facts.items()}
    return number(facts, name)


def air_difference(facts: Facts, region: RegionRecord | None = None) -> Quantity | Missing:
    """The difference of the airs on both sides of a part [K], signed: as its own facts say, else inside minus outside."""
    inside: Quantity | None
    outside: Quantity | None
    supply, around = stated(region, "supply air"), stated(region, "air around")
    if supply is not None and around is not None:
        inside, outside = around, supply
    else:
        inside, outside = number(facts, "inside_air"), stated(region, "air beyond") or number(facts, "outside_air")
    missing = tuple(
        words
        for one, words in ((inside, "air temperature inside"), (outside, "air temperature outside"))
        if one is None
    )
    if inside is None or outside is None:
        return Missing(missing)
    return Quantity.normal(
        inside.value - outside.value,
        "K",
        math.hypot(inside.standard, outside.standard),
        "air on one side minus air on the other",
    )


def drying(facts: Facts, check: str, around: float) -> Quantity | Missing:
    """Surface temperature less the wet bulb of the air at it [K]: how far a wet place can cool."""
    from heatbrief.physics.psychrometrics import wet_bulb

    air_name, humidity_name = DRYING_AIR.get(check, ("outside_air", "outside_humidity"))
    if check not in DRYING_AIR and humidity_name not in facts and "inside_air" not in facts:
        humidity_name = "humidity"
    air, humidity = number(facts, air_name), number(facts, humidity_name)
    missing = tuple(name.replace("_", " ") for one, name in ((air, air_name), (humidity, humidity_name)) if one is None)
    if air is None or humidity is None:
        return Missing(missing)

    def wet(t: float, h: float) -> float:
        return float(wet_bulb(t + ZERO_CELSIUS_K, h)) - ZERO_CELSIUS_K

    best = wet(air.value, humidity.value)
    standard = math.hypot(
        (wet(air.high, humidity.value) - best) / NORMAL_95, (wet(air.value, humidity.high) - best) / NORMAL_95
    )
    return Quantity.normal(around - best, "K", standard, "surface around minus wet bulb of the air")


def load_of(region: RegionRecord | None, finding: Finding | None, name: str) -> float | None:
    """A load as stated for a region, or as a finding recorded it."""
    found = stated(region, name)
    if found is None and finding is not None:
        found = finding.measured.get(name)
    return found.value if found is not None and found.value > 0 else None


def load_share(region: RegionRecord | None, finding: Finding | None) -> float | None:
    """Load over rating, 1 at the rating, where it can be told; else None."""
    share = load_of(region, finding, "load share")
    if share is not None:
        return share
    for load, rating in (("load", "rated"), ("power", "rated power")):
        amount, limit = load_of(region, finding, load), load_of(region, finding, rating)
        if amount is not None and limit is not None:
            return amount / limit
    return None


def common_load(
    old: tuple[RegionRecord | None, Finding | None], new: tuple[RegionRecord | None, Finding | None]
) -> tuple[float, float, tuple[float, float, float]] | Missing:
    """(load before, load after, exponents) by the first fact that both surveys state."""
    for name, exponents in LOADS:
        one, two = load_of(*old, name), load_of(*new, name)
        if one is not None and two is not None:
            return one, two, exponents
    known = any(load_of(*old, name) is not None for name, _ in LOADS)
    return Missing(
        (f"load of the part in the {'later' if known else 'earlier'} survey (`load` or `load share` in its facts)",)
    )


def is_outdoors(record: ThermogramRecord, region: RegionRecord | None) -> bool:
    """Whether a picture was taken outside, by what its owner said of it."""
    words = (record.title, record.room, *(() if region is None else (region.shows, region.room)))
    return matches(OUTDOORS, " ".join(words))


def wind_at(facts: Facts) -> Quantity | None:
    """The wind of a survey [m/s]."""
    found = facts.get("wind")
    return found if isinstance(found, Quantity) and found.value >= 0 else None


def load_name(old: tuple[RegionRecord | None, Finding | None], new: tuple[RegionRecord | None, Finding | None]) -> str:
    """The fact that both surveys state their load by; "" for none."""
    return next((name for name, _ in LOADS if load_of(*old, name) is not None and load_of(*new, name) is not None), "")


def sun_spoils(before: Facts, after: Facts) -> bool:
    """True when the sun stood on the surface in one survey and not in the other."""
    return (before.get("sun") == "direct") != (after.get("sun") == "direct")


def pressures_differ(before: Facts, after: Facts) -> bool:
    """True when a fan made a pressure in one survey and none, or another, in the other."""
    one, two = number(before, "pressure_difference"), number(after, "pressure_difference")
    if one is None or two is None:
        return (one is None) != (two is None)
    return abs(one.value - two.value) > PRESSURE_SHARE * max(abs(one.value), abs(two.value))
