"""Limits for mould and condensation by name: humidity at the surface, and temperature factors of several practices."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from heatbrief.api import propagated
from heatbrief.detect import matches
from heatbrief.model import Conditions, Quantity

from heatbrief_envelope.surfaces import CELSIUS, Airs

LimitSet = Literal[
    "strictest",
    "surface-humidity",
    "design-climate",
    "dwelling-junction",
    "ground-floor-corner",
    "din-4108-2",
    "office-retail",
    "sports",
    "pool",
]
DWELLINGS = ("surface-humidity", "design-climate", "dwelling-junction", "din-4108-2")
"""What "strictest" chooses from: the highest temperature wins. The other sets are for other uses, by name only."""
OTHER_RULES = ("window frame", "sash", "cold pipe", "supply register")
"""Light parts, whose risk follows the day's humidity and not a yearly temperature factor."""
LEAST_DRIVE_K = 5.0


@dataclass(frozen=True)
class Design:
    """A cold month to keep free of mould (ISO 13788): air outside and inside [degC] and inside humidity."""

    outside: Quantity | None
    inside: Quantity | None
    humidity: Quantity | None


@dataclass(frozen=True)
class Limit:
    """Surface temperature [degC] that may not be undercut, with the name of its set and why."""

    name: str
    temperature: Quantity
    because: str
    source: str


def limits_of(
    chosen: LimitSet, shows: str, now: Conditions, airs: Airs, surface_humidity: float, design: Design
) -> tuple[Limit, ...]:
    """The limits of the chosen set that can be worked out, strictest first; empty when facts are missing."""
    names = DWELLINGS if chosen == "strictest" else (chosen,)
    found = []
    for name in names:
        one = (
            _humidity(now, surface_humidity)
            if name == "surface-humidity"
            else None
            if matches(OTHER_RULES, shows)
            else _design(airs, surface_humidity, design)
            if name == "design-climate"
            else _factor(name, airs)
        )
        if one is not None:
            found.append(one)
    return tuple(sorted(found, key=lambda one: -one.temperature.value))


def _humidity(now: Conditions, surface_humidity: float) -> Limit | None:
    temperature = surface_limit(now, surface_humidity)
    if temperature is None:
        return None
    return Limit(
        "surface-humidity", temperature, f"the room's air reaches {surface_humidity:.0%} at the surface", "iso-13788"
    )


def surface_limit(now: Conditions, surface_humidity: float) -> Quantity | None:
    """Surface temperature [degC] at which the room's air reaches a relative humidity there. Source: iso-13788."""
    if now.inside_air is None or now.humidity is None:
        return None
    return _surface_limit(now.inside_air, now.humidity, surface_humidity)


@lru_cache(maxsize=64)
def _surface_limit(air: Quantity, humidity: Quantity, surface_humidity: float) -> Quantity | None:
    """The same; most pictures of a survey share the room's air."""
    from heatbrief.physics.psychrometrics import surface_limit_temperature

    return propagated(
        lambda air, humidity: (
            float(surface_limit_temperature(air + CELSIUS, min(max(humidity, 0.01), 1.0), surface_humidity)) - CELSIUS
        ),
        "degC",
        f"surface at {surface_humidity:.0%} relative humidity",
        air=air,
        humidity=humidity,
    )


def design_factor(design: Design, surface_humidity: float) -> Quantity | None:
    """Least temperature factor for a cold month, or None without its climate. Source: iso-13788."""
    from heatbrief.physics.condensation import minimum_factor

    if design.outside is None or design.inside is None or design.humidity is None:
        return None
    return propagated(
        lambda air, humidity, outside: float(
            minimum_factor(air + CELSIUS, min(max(humidity, 0.01), 1.0), outside + CELSIUS, surface_humidity)
        ),
        "1",
        "least temperature factor of the design month",
        air=design.inside,
        humidity=design.humidity,
        outside=design.outside,
    )


def _design(airs: Airs, surface_humidity: float, design: Design) -> Limit | None:
    factor = design_factor(design, surface_humidity)
    if factor is None:
        return None
    temperature = _at(factor, airs)
    if temperature is None:
        return None
    because = (
        f"a temperature factor of {factor.value:.2f} keeps the surface below {surface_humidity:.0%} in the design month"
    )
    return Limit("design-climate", temperature, because, "iso-13788")


def _factor(name: str, airs: Airs) -> Limit | None:
    from heatbrief.physics.condensation import factor_limits

    row = factor_limits()[name]
    temperature = _at(Quantity.exact(row["limit"], "1"), airs)
    if temperature is None:
        return None
    return Limit(
        name, temperature, f"temperature factor {row['limit']:g}, {row['use']} ({row['basis']})", row["source"]
    )


def _at(factor: Quantity, airs: Airs) -> Quantity | None:
    """Surface temperature of a factor at the moment's airs; only where the air beyond is well colder."""
    drive = airs.difference
    if drive is None or drive.low < LEAST_DRIVE_K:
        return None
    assert airs.near is not None and airs.beyond is not None
    return propagated(
        lambda factor, near, beyond: beyond + factor * (near - beyond),
        "degC",
        "temperature factor at the airs of the moment",
        factor=factor,
        near=airs.near,
        beyond=airs.beyond,
    )
