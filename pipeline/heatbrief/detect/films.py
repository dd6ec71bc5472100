"""Surface coefficients of inside surfaces from the words that say what they are."""

from __future__ import annotations

from heatbrief.detect.regions import matches
from heatbrief.detect.shared import ZERO_CELSIUS
from heatbrief.model.quantity import Quantity

CEILING = ("ceiling", "roof slope", "roof", "skylight shaft", "attic hatch", "soffit")
FLOOR = ("floor",)
OUTSIDE = ("outside", "exterior", "facade", "outdoors")
PAINTED = 0.93


def facing_of(text: str) -> str:
    """ "down" for ceilings, "up" for floors, else "sideways", by the words of a region or picture."""
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
    from heatbrief.physics.surface_coefficients import convection_spread, radiative_coefficient

    spread = convection_spread(surface.value + ZERO_CELSIUS, air.value + ZERO_CELSIUS, facing_of(text))
    radiation = float(radiative_coefficient(0.5 * (surface.value + air.value) + ZERO_CELSIUS, emissivity or PAINTED))
    method = "radiation and the median of the convection correlations; bounds are their spread"
    return Quantity.between(
        radiation + float(spread.low), radiation + float(spread.high), "W/m2/K", radiation + float(spread.best), method
    )
