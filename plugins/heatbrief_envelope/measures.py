"""What the envelope's surface checks have in common: their survey conditions, their criterion and their numbers."""

from __future__ import annotations

from heatbrief.api import Context
from heatbrief.detect import Area, fact_of
from heatbrief.detect.films import inside_film
from heatbrief.model import Quantity, Region, Thermogram

from heatbrief_envelope.surfaces import (
    Airs,
    added_transmittance,
    film_resistance,
    from_outside,
    known,
    temperature_factor,
    transmittance,
)

LEAST_K, UNKNOWN_K = 0.5, 1.0


def practice_for(region: Region, context: Context) -> str:
    """The practice whose survey conditions fit the construction."""
    return (
        "en-13187"
        if str(fact_of("construction", region, context) or "").strip().casefold() == "heavy"
        else "astm-c1060"
    )


def least_contrast(change: float, text: str, airs: Airs) -> float:
    """Contrast that a rise of the transmittance by `change` makes with the conventional film: change x Rs x difference,
    at least LEAST_K."""
    drive = airs.difference
    return UNKNOWN_K if drive is None else max(LEAST_K, change * film_resistance(text, airs) * abs(drive.value))


def below(contrast: Quantity, limit: float) -> bool:
    """Whether a contrast in kelvin stays under a limit with its bounds."""
    return contrast.unit == "K" and max(abs(contrast.low), abs(contrast.high)) < limit


def because(change: float, airs: Airs) -> str:
    """Where that contrast comes from, in words."""
    drive = airs.difference
    if drive is None:
        return "the air temperatures on both sides are not known, so 1 K is taken (common practice)"
    return (
        f"a rise of {change:g} W/m2/K at {abs(drive.value):.0f} K across the surface, with the conventional surface "
        "resistance"
    )


def measures(
    subject: Thermogram, region: Region, airs: Airs, area: Area, text: str, context: Context, **more: Quantity
) -> dict[str, Quantity]:
    """What can be said in numbers with the conditions as given."""
    drive = airs.difference
    if area.contrast.unit != "K":
        return known(share_of_region=more.get("share"))
    surface = area.mean
    film = None
    if surface is not None and airs.near is not None and not from_outside(context, region):
        film = inside_film(text, surface, airs.near, subject.emissivity[0] if subject.emissivity else None)
    return known(
        share_of_region=more.get("share"),
        air_difference=None if drive is None else _size(drive),
        temperature_factor=temperature_factor(area.mean, airs),
        temperature_factor_around=temperature_factor(area.surroundings, airs),
        added_transmittance=None if film is None else added_transmittance(area.contrast, film, airs),
        transmittance=None if film is None else transmittance(area.mean, film, airs),
        transmittance_around=None if film is None else transmittance(area.surroundings, film, airs),
    )


def _size(drive: Quantity) -> Quantity:
    low, high = sorted((abs(drive.low), abs(drive.high)))
    return Quantity(abs(drive.value), "K", low, high, drive.coverage, drive.method)
