"""Other explanations of a patch on an insulated surface: water that dries, and air that moves."""

from __future__ import annotations

from functools import lru_cache

from heatbrief.api import propagated
from heatbrief.detect import Case
from heatbrief.detect.words import number
from heatbrief.model import Quantity, Rival

from heatbrief_envelope.surfaces import CELSIUS

DAMP = "a damp patch that cools as it dries"
SHARP_M, STRAIGHT = 0.06, 0.8
ALLOWED_K = 0.5


def damp(case: Case) -> Rival | None:
    """Drying cools too, but never below the wet bulb of the room's air; water spreads with a soft, wandering edge and
    stops at no stud; and it dries in days. A moisture meter settles it."""
    area, says = case.area, str(case.fact("moisture meter") or "").strip().casefold()
    if area is None or area.sign == "warm":
        return (
            Rival(DAMP, "ruled out", "the area is warmer than its surroundings; drying cools")
            if area is not None
            else None
        )
    if says in ("wet", "dry"):
        return Rival(DAMP, "ruled out" if says == "dry" else "not ruled out", f"the moisture meter says {says}")
    bound = _beyond_drying(case)
    if bound is not None:
        return bound
    pixel = case.subject.pixel
    edge = None if area.edge_width is None else area.edge_width * (pixel.width if pixel else 0.01)
    if edge is not None and edge <= SHARP_M and area.fill >= STRAIGHT:
        return Rival(
            DAMP,
            "ruled out",
            f"it fills {area.fill:.0%} of the box around it and its edge is {100 * edge:.0f} cm wide, as a bay between "
            "members; "
            "water spreads with a soft, wandering edge",
        )
    return Rival(
        DAMP,
        "not testable",
        f"it fills {area.fill:.0%} of the box around it"
        + ("" if edge is None else f", with an edge {100 * edge:.0f} cm wide"),
        "a moisture meter reading at the spot and beside it (`moisture meter`), or the same view some days later: "
        "water dries or spreads, insulation stays as it is",
    )


def _beyond_drying(case: Case) -> Rival | None:
    """Ruled out when its coldest part is colder than drying can make it: by more than air stands over its wet bulb.

    Surfaces that see nothing colder than the air stay at or above the wet bulb (wet-bulb-floor); ALLOWED_K for a Lewis
    number other than 1. The patch is compared with the surface around it, which is no warmer than the air in winter.
    """
    now, contrast = case.conditions, None if case.area is None else case.area.peak
    if now.inside_air is None or now.humidity is None or contrast is None or contrast.unit != "K":
        return None
    reach = _over_wet_bulb(now.inside_air, now.humidity)
    if reach is None or -contrast.high <= reach.high + ALLOWED_K:
        return None
    return Rival(
        DAMP,
        "ruled out",
        f"its coldest part is {number(-contrast.value, 'K')} colder than around it; in this air drying takes at most "
        f"{number(reach.high, 'K')}",
    )


@lru_cache(maxsize=64)
def _over_wet_bulb(air: Quantity, humidity: Quantity) -> Quantity | None:
    """By how much air stands over its wet bulb [K]; most pictures of a survey share the room's air."""
    from heatbrief.physics.psychrometrics import wet_bulb

    return propagated(
        lambda air, humidity: air + CELSIUS - float(wet_bulb(air + CELSIUS, min(max(humidity, 0.0), 1.0))),
        "K",
        "air over its wet bulb",
        air=air,
        humidity=humidity,
    )


def air_movement(case: Case) -> Rival | None:
    """Air that moves behind or over the surface fans out from an edge and fades; a bay without insulation fills its
    outline."""
    area = case.area
    if area is None:
        return None
    filled = f"the area fills {area.fill:.0%} of the box around it"
    if area.fill >= 0.7 and not area.touches_edge:
        return Rival(
            "air moving through or behind the surface",
            "ruled out",
            f"{filled} and ends inside the surface; a stream of air fans out from an edge and fades",
        )
    return Rival(
        "air moving through or behind the surface",
        "not testable",
        f"{filled}" + (" and reaches the edge of the region" if area.touches_edge else ""),
        "the same view with a fan holding a pressure difference",
    )
