"""Evaporation from a wet surface, worked out in two ways that share no input: vapour carried off, and heat taken."""

from __future__ import annotations

from heatbrief.api import propagated
from heatbrief.model import Conditions, Quantity

from heatbrief_plumbing.air import CELSIUS
from heatbrief_plumbing.facts import positive
from heatbrief_plumbing.floors import film_outside


def transfer(surface: Quantity, air: Quantity, inside: bool, now: Conditions) -> Quantity:
    """Convective coefficient [W m-2 K-1]: still air of a room, or wind over ground (iso-6946: 4 + 4 v), with bounds."""
    from heatbrief.physics.surface_coefficients import convection_spread

    if not inside:
        return film_outside(now)
    spread = convection_spread(surface.value + CELSIUS, air.value + CELSIUS, "sideways", 1.0)
    return Quantity.between(
        float(spread.low), float(spread.high), "W/m2/K", float(spread.best), "spread of correlations"
    )


def mass_flux(
    surface: Quantity, air: Quantity, humidity: Quantity, film: Quantity, wetness: Quantity
) -> Quantity | None:
    """Evaporation [kg m-2 s-1] by the Lewis relation, limited between 1 and 0.865 by the bounds of the coefficient.
    Source: lewis."""
    from heatbrief.physics.psychrometrics import air_humidity_ratio, humidity_ratio, saturation_pressure
    from heatbrief.physics.water import evaporation_lewis

    def flux(surface: float, air: float, humidity: float, film: float, wetness: float) -> float:
        wet = float(humidity_ratio(saturation_pressure(surface + CELSIUS)))
        dry = float(air_humidity_ratio(air + CELSIUS, min(max(humidity, 0.0), 1.0)))
        return wetness * float(evaporation_lewis(film, wet, dry))

    return propagated(
        flux, "kg/m2/s", "Lewis relation", surface=surface, air=air, humidity=humidity, film=film, wetness=wetness
    )


def flux_by_balance(cooling: Quantity, surface: Quantity, film: Quantity, sides: int = 1) -> Quantity | None:
    """Evaporation [kg m-2 s-1] by the heat it takes: sides (h_c + h_r) (T_dry - T_wet) over the latent heat.

    cooling  dry neighbour in the same sun minus the wet surface [K]; film: of one side. Needs a steady state: a surface
    that still cools, or cold water on it, makes this too high. Source: wet-bulb-floor
    """
    from heatbrief.physics.surface_coefficients import radiative_coefficient
    from heatbrief.physics.water import latent_heat

    def flux(cooling: float, surface: float, film: float) -> float:
        mean = surface + CELSIUS + cooling / 2.0
        return (
            sides * (film + float(radiative_coefficient(mean, 0.95))) * cooling / float(latent_heat(surface + CELSIUS))
        )

    found = propagated(
        flux, "kg/m2/s", "heat balance against dry surroundings", cooling=cooling, surface=surface, film=film
    )
    return None if found is None else positive(found)
