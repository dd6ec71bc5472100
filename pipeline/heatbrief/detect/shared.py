"""How errors of a picture act on one temperature and on a difference of two."""

from __future__ import annotations

import math
from collections.abc import Iterable

from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.model.thermogram import ErrorSource

ZERO_CELSIUS = 273.15


def absolute_standard(errors: Iterable[ErrorSource], kelvin: float) -> float:
    """Standard uncertainty [K] that shared errors give one temperature [K]; they do not fall with averaging."""
    return math.sqrt(sum(float(source.effect(kelvin)) ** 2 for source in errors if source.shared))


def shared_standard(
    first: Iterable[ErrorSource], kelvin_first: float, second: Iterable[ErrorSource], kelvin_second: float
) -> float:
    """Standard uncertainty [K] that shared errors leave in a difference of two temperatures [K].

    Sources of the same identity err together, so only the difference of their effects counts; the others count in full.
    """
    effects: dict[str, float] = {}
    for errors, kelvin, sign in ((first, kelvin_first, 1.0), (second, kelvin_second, -1.0)):
        for source in errors:
            if source.shared:
                effects[source.shared] = effects.get(source.shared, 0.0) + sign * float(source.effect(kelvin))
    return math.sqrt(sum(effect * effect for effect in effects.values()))


def celsius(kelvin: float, standard: float, method: str) -> Quantity:
    """A temperature of the results: degC with 95 % bounds, from kelvin and a standard uncertainty."""
    return Quantity.normal(kelvin - ZERO_CELSIUS, "degC", standard, method)


def widened(value: float, unit: str, standard: float, below: float, above: float, method: str) -> Quantity:
    """95 % bounds of a normal distribution, moved further out by `below` and `above` (not negative)."""
    half = NORMAL_95 * standard
    return Quantity(value, unit, value - half - below, value + half + above, 0.95, method)
