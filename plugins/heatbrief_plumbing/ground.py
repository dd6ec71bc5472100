"""What the checks of irrigated ground share: facts, words, and the argument between wet ground and shade."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from heatbrief.api import FactSpec
from heatbrief.detect import Area, Case, said
from heatbrief.model import Quantity, Rival

from heatbrief_plumbing.floors import LEWIS_K, Floors, floors_of
from heatbrief_plumbing.sun import PLACE, Sun, sun_of

SHOWS = ("irrigated ground", "planting bed", "lawn", "irrigation", "buried line", "flower bed", "turf")
VALVE = FactSpec("valve", "whether water ran when the picture was taken", choices=("shut", "open"), example="shut")
EMITTER = FactSpec(
    "emitter there", "whether a head, emitter or drain is meant to wet this place", choices=("yes", "no"), example="no"
)
SHADOW = FactSpec(
    "shadow there",
    "whether a shadow lay on the cold place when the picture was taken",
    choices=("yes", "no"),
    example="no",
)
SOIL = FactSpec(
    "soil",
    "kind of soil there, as it was before water ran",
    choices=("dry sand", "moist sand", "saturated sand", "dry clay", "moist clay", "saturated clay", "wet peat"),
    example="dry sand",
)
FACTS = (VALVE, EMITTER, SHADOW, *PLACE)
SHADE = "shade alone"
INTENDED = "water coming out where it is meant to"
SHADE_HOURS = 8.0
"""Hours after which the mark of a shadow in heavy ground counts as gone: the stricter figure for masonry (from memory
of ASTM C1060); soil stores about as much heat."""
Decided = Literal["wet", "shade", ""]


@dataclass(frozen=True)
class Reading:
    """Shade against water for one cold place.

    decided  "wet": shade alone cannot make it; "shade": water alone cannot; "": either could
    evidence what decided, or what is known; missing: the fact that would settle it
    """

    decided: Decided
    evidence: str
    missing: str
    floors: Floors
    sun: Sun | None


def read_ground(case: Case) -> Reading:
    """Shade or water, from the owner's word, the place of the sun, and the coldest that each can make the ground."""
    area, now = case.area, case.conditions
    beside = area.surroundings if area is not None else None
    floors, sun = floors_of(now, beside), sun_of(case)
    spot = area.mean if area is not None else None
    for decided, evidence in (
        _no_shadow(case, sun),
        _colder_than_shade(spot, floors),
        _colder_than_water(spot, floors),
    ):
        if decided:
            return Reading(decided, evidence, "", floors, sun)
    if case.yes("shadow there"):
        return Reading(
            "",
            "the owner saw a shadow there; it may hide wet ground",
            "the spot seen once the shadow has moved on",
            floors,
            sun,
        )
    return Reading("", _undecided(spot, floors), _what_settles(case, floors), floors, sun)


def _no_shadow(case: Case, sun: Sun | None) -> tuple[Decided, str]:
    """No shadow, by the owner's word or because the sun has been away for long."""
    if case.yes("shadow there") is False:
        return "wet", "the owner saw no shadow there"
    if sun is not None:
        if not sun.up and (sun.hours_down is None or sun.hours_down >= SHADE_HOURS):
            away = "a day" if sun.hours_down is None else f"{sun.hours_down:.1f} h"
            return "wet", f"the sun had been down for {away}; the mark of a shadow fades within {SHADE_HOURS:g} h"
        return "", ""
    hours = case.conditions.hours_without_sun
    if case.conditions.sun in (None, "none") and hours is not None and hours.low >= SHADE_HOURS:
        return "wet", f"no sun for {said(hours)}; the mark of a shadow fades within {SHADE_HOURS:g} h"
    return "", ""


def _colder_than_shade(spot: Quantity | None, floors: Floors) -> tuple[Decided, str]:
    if spot is None or floors.dry is None or spot.high >= floors.dry.low - LEWIS_K:
        return "", ""
    return "wet", f"{said(spot)} is colder than dry ground gets in full shade in this air and sky, {said(floors.dry)}"


def _colder_than_water(spot: Quantity | None, floors: Floors) -> tuple[Decided, str]:
    if spot is None or floors.water is None or spot.high >= floors.water.low - LEWIS_K:
        return "", ""
    return "shade", f"{said(spot)} is colder than water alone makes ground like that around it, {said(floors.water)}"


def _undecided(spot: Quantity | None, floors: Floors) -> str:
    parts = []
    if floors.dry is not None:
        parts.append(f"dry ground in shade can be as cold as {floors.dry.low:.0f} degC")
    if floors.water is not None:
        parts.append(f"wet ground in the sun as cold as {floors.water.low:.0f} degC")
    given = f"; the spot reads {said(spot)}" if spot is not None else ""
    return (" and ".join(parts) or "air, humidity and sun are not known") + given


def _what_settles(case: Case, floors: Floors) -> str:
    """The one fact that helps most, nearest first."""
    if case.fact("shadow there") is None:
        return "a look at the place for a shadow (`shadow there`), or pictures before and after the valve opens"
    if floors.dry is None:
        return "`outside_air` and `ground`, the ground's own temperature"
    return "pictures before and after the valve opens"


def shade_rival(reading: Reading) -> Callable[[Case], Rival]:
    """How shade alone fared, as a rival explanation."""

    def shade_alone(case: Case) -> Rival:
        if reading.decided == "wet":
            return Rival(SHADE, "ruled out", reading.evidence)
        if reading.decided == "shade":
            return Rival(SHADE, "not ruled out", reading.evidence + edge_words(case))
        return Rival(SHADE, "not testable", reading.evidence + edge_words(case), reading.missing)

    return shade_alone


def edge_words(case: Case) -> str:
    """How sharp the edge is, against the half shadow of an object; evidence, never proof."""
    area, pixel = case.area, case.subject.pixel
    if area is None or area.edge_width is None:
        return ""
    if pixel is None:
        return f"; its edge is {area.edge_width:.0f} pixels wide"
    width = 100.0 * area.edge_width * pixel.width
    return f"; its edge is {width:.0f} cm wide, and the shadow of an object 1 m away has one of about 1 cm"


def intended(case: Case) -> Rival:
    """Water where it is meant to go looks the same; only the layout tells."""
    drip = case.yes("emitter there")
    if drip is None:
        return Rival(
            INTENDED,
            "not testable",
            "the places of heads and emitters are not given",
            "`emitter there` in the facts of the region",
        )
    says = f"the owner says that {'a' if drip else 'no'} head or emitter is there"
    return Rival(INTENDED, "not ruled out" if drip else "ruled out", says)


def size_of(area: Area) -> str:
    """Size in square metres where known."""
    return f"{area.area.value:.2g} m2" if area.area else f"{area.pixels} pixels"


def unit_of(area: Area) -> str:
    """ "K" or "counts"."""
    return "K" if area.contrast.unit == "K" else "counts"


def near(one: Area, other: Area) -> bool:
    """Whether two areas lie within one and a half sizes of each other."""
    reach = max(other.box[2] - other.box[0], other.box[3] - other.box[1])
    own = max(one.box[2] - one.box[0], one.box[3] - one.box[1])
    apart = np.hypot(one.centre[0] - other.centre[0], one.centre[1] - other.centre[1])
    return bool(apart <= 1.5 * reach + 0.5 * own)
