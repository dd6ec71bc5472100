"""Surface coefficients of inside surfaces from the words that say what they are."""

from __future__ import annotations

from heatbrief.detect.regions import matches
from heatbrief.detect.shared import ZERO_CELSIUS
from heatbrief.model.quantity import Quantity

CEILING = ("ceiling", "roof slope", "roof", "skylight shaft", "attic hatch", "soffit")
FLOOR = ("floor",)
OUTSIDE = ("outside", "exterior", "facade", "outdoors")
PAINTED = 0.93
LOCAL = 0.15
"""Bound on how far convection over a small area differs from that over the whole surface (common practice)."""


def facing_of(text: str) -> str:
    """Which way a surface faces: "down" for ceilings, "up" for floors, else "sideways", by what its words say."""
    if matches(CEILING, text):
        return "down"
    return "up" if matches(FLOOR, text) else "sideways"


def taken_outside(text: str) -> bool:
    """Whether the words say that the picture was taken from outside."""
    return matches(OUTSIDE, text) and not matches(("from inside",), text)


def inside_film(text: str, surface: Quantity, air: Quantity, emissivity: float | None = None) -> Quantity:
    """Convective and radiative coefficient of an inside surface [W/m2/K]; bounds are the spread of published
    correlations.

    surface, air  degC. Source: iso-6946, iso-13789, energyplus-inside, churchill-chu-1975, mcadams-1954, rohsenow-1998.
    """
    from heatbrief.physics.surface_coefficients import ISO_RSI, convection_spread, radiative_coefficient

    facing = facing_of(text)
    spread = convection_spread(surface.value + ZERO_CELSIUS, air.value + ZERO_CELSIUS, facing)
    radiation = float(radiative_coefficient(0.5 * (surface.value + air.value) + ZERO_CELSIUS, emissivity or PAINTED))
    usual = 1.0 / ISO_RSI[heat_goes(facing, surface.value > air.value)]
    low, high = radiation + (1 - LOCAL) * float(spread.low), radiation + (1 + LOCAL) * float(spread.high)
    method = "radiation and the median of the correlations; bounds: their spread and the conventional value"
    return Quantity.between(min(low, usual), max(high, usual), "W/m2/K", radiation + float(spread.best), method)


def heat_goes(facing: str, warmer: bool) -> str:
    """Direction of heat at an inside surface, "up", "horizontal" or "down": a warm ceiling gives heat downwards."""
    if facing == "sideways":
        return "horizontal"
    return "up" if (facing == "up") == warmer else "down"
