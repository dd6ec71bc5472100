"""What a picture from outside needs besides: a dry surface, little wind, and a sky that does not cool the surface."""

from __future__ import annotations

from heatbrief.api import Context
from heatbrief.detect import Case
from heatbrief.detect.films import facing_of
from heatbrief.detect.words import said
from heatbrief.model import Gate, Quantity

SKY_REMEDY = "Photograph from outside under an overcast sky, and give `sky`."


def outside_gates(case: Case) -> tuple[str | Gate, ...]:
    """Gates that a picture from outside gets in addition to those of an inside one."""
    return ("rain", sky_gate(case))


def sky_gate(case: Case) -> Gate:
    """Under a clear sky a surface gives heat to it, by how much it faces it; a roof may show nothing else."""
    sky = case.conditions.sky
    roof = facing_of(f"{case.region.shows if case.region else ''} {case.view.shows}") != "sideways"
    if sky is None:
        return Gate("sky", None, "asked: overcast; given: nothing about the sky", "", SKY_REMEDY)
    if sky == "overcast":
        return Gate("sky", True, "asked: overcast; given: overcast", "")
    passed = False if roof and sky == "clear" else None
    return Gate("sky", passed, f"asked: overcast; given: {sky}, which cools what faces it", "", SKY_REMEDY)


def why_not_from_outside(context: Context, most_wind: float) -> str:
    """Why no heat transfer coefficient can be worked out from outside; "" when it can.

    Below the stated wind a fixed outside coefficient is off by several times (EX-3.10), above it the correlations
    spread as far; so wind must be known and low, the sky overcast and the face without sun.
    """
    now = context.conditions
    if not isinstance(now.wind, Quantity):
        return "the wind beside the surface is not given"
    if now.wind.high > most_wind:
        return f"wind {said(now.wind)} is above {most_wind:g} m/s (`most_wind`)"
    if now.sky != "overcast":
        return f"the sky is {now.sky or 'not stated'}, asked is an overcast one"
    if now.sun in ("direct", "low"):
        return f"{now.sun} sun stands on the surface"
    if now.hours_without_sun is None or now.hours_without_sun.low < 12.0:
        return "no sun for 12 h before is asked (EN 13187, from memory)"
    return ""
