"""How cold ground can be without water, and with it: limits that tell a wet spot from shade, with radiation in them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from heatbrief.api import propagated
from heatbrief.model import Conditions, Quantity

from heatbrief_plumbing.air import CELSIUS

LEWIS_K = 0.5
"""Allowance on any limit of evaporation for a Lewis number other than 1. Source: wet-bulb-floor."""
RADIATION = 5.5
"""Radiative coefficient of ground [W m-2 K-1]; 5 to 6.5 from 0 to 40 degC (Stefan-Boltzmann, computed)."""
WIND_UNKNOWN = (0.2, 1.5, 4.0)
SKY_SPREAD_K = 5.0
"""Clear-sky models differ by about this much (sky-berdahl-martin and others, computed)."""


@dataclass(frozen=True)
class Floors:
    """Coldest that level ground gets [degC].

    dry      in full shade and dry; None where the ground's own temperature is not known: ground still cold from the
             night may be colder than the air makes it
    water    wet, in the sun or shade that its surroundings get
    both     wet and in full shade
    """

    dry: Quantity | None
    water: Quantity | None
    both: Quantity | None


def film_outside(now: Conditions) -> Quantity:
    """Convective coefficient over ground [W m-2 K-1]: 4 + 4 v, 40 % either way. Source: iso-6946."""
    from heatbrief.physics.surface_coefficients import iso_outside_convection

    wind = now.wind or Quantity.between(WIND_UNKNOWN[0], WIND_UNKNOWN[2], "m/s", WIND_UNKNOWN[1], "wind not given")
    low, high = 0.6 * float(iso_outside_convection(wind.low)), 1.4 * float(iso_outside_convection(wind.high))
    return Quantity.between(low, high, "W/m2/K", float(iso_outside_convection(wind.value)), "4 + 4 v")


def surroundings_of(now: Conditions) -> Quantity | None:
    """Radiant temperature over open ground [degC]: between the sky as stated and the air; None without air.

    Source: sky-berdahl-martin
    """
    air, humidity = now.outside_air, now.outside_humidity
    if air is None:
        return None
    if now.sky == "overcast":
        return Quantity.between(air.low - SKY_SPREAD_K, air.high, "degC", air.value - 1.0, "overcast sky")
    clear = clear_sky(air.value, 0.2 if humidity is None else max(humidity.low, 0.02))
    low = clear - SKY_SPREAD_K
    best = clear if now.sky == "clear" else 0.5 * (clear + air.value)
    return Quantity.between(
        low, air.high, "degC", best, f"{now.sky or 'unknown'} sky, walls and trees up to air temperature"
    )


def clear_sky(air: float, humidity: float) -> float:
    """Black temperature of a clear sky [degC]. Source: sky-berdahl-martin."""
    from heatbrief.physics.psychrometrics import dew_point, vapour_pressure
    from heatbrief.physics.sky import sky_emissivity, sky_temperature

    kelvin = air + CELSIUS
    emissivity = sky_emissivity(kelvin, dew_point(kelvin, humidity, "water"), vapour_pressure(kelvin, humidity))
    return float(sky_temperature(kelvin, emissivity)) - CELSIUS


def floors_of(now: Conditions, dry_beside: Quantity | None) -> Floors:
    """The limits for the air, wind, sky and ground of a survey; `dry_beside`: the ground around [degC]."""
    air, humidity, around = now.outside_air, now.outside_humidity, surroundings_of(now)
    if air is None or around is None:
        return Floors(None, None, None)
    film = film_outside(now)
    shade = propagated(
        _balance(0.0),
        "degC",
        "shaded dry ground in this air, wind and sky",
        air=air,
        film=film,
        around=around,
        humidity=0.5,
    )
    dry = None if now.ground is None or shade is None else _colder(shade, now.ground)
    if humidity is None:
        return Floors(dry, None, None)
    both = propagated(
        _balance(1.0),
        "degC",
        "shaded wet ground in this air, wind and sky",
        air=air,
        film=film,
        around=around,
        humidity=humidity,
    )
    water = None
    if dry_beside is not None:
        water = propagated(
            wet_beside,
            "degC",
            "wet ground under the sun and sky that the ground around has",
            beside=dry_beside,
            air=air,
            film=film,
            humidity=humidity,
        )
    return Floors(dry, water, both)


def _balance(wetness: float) -> Callable[..., float]:
    from heatbrief.physics.wet_surface import equilibrium_temperature

    def balance(air: float, film: float, around: float, humidity: float) -> float:
        found = equilibrium_temperature(
            air + CELSIUS, min(max(humidity, 0.01), 1.0), film, around + CELSIUS, h_radiation=RADIATION, wetness=wetness
        )
        return float(found) - CELSIUS

    return balance


def wet_beside(beside: float, air: float, film: float, humidity: float) -> float:
    """Temperature of fully wet ground whose dry neighbour stands at `beside` [degC]: (hc + hr)(T_dry - T) is what
    evaporation takes. Source: wet-bulb-floor."""
    held_by = air + (film + RADIATION) / RADIATION * (beside - air)
    return _balance(1.0)(air, film, held_by, humidity)


def _colder(first: Quantity, second: Quantity) -> Quantity:
    """The colder of two limits, bound by bound."""
    return Quantity.between(
        min(first.low, second.low),
        min(first.high, second.high),
        first.unit,
        min(first.value, second.value),
        first.method,
    )
