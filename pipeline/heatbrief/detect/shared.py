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
    first: Iterable[ErrorSource],
    kelvin_first: float,
    second: Iterable[ErrorSource],
    kelvin_second: float,
    apart: float = 0.0,
) -> float:
    """Standard uncertainty [K] that shared errors leave in a difference of two temperatures [K].

    Sources of the same identity err together, so only the difference of their effects counts; the others count in
    full. A source with a `reach` errs together only near by: of what two places `apart` pixels from each other have in
    common, exp(-(apart / reach)^2 / 2) is left, as for every difference in a calibrated picture.
    """
    one, reach = _effects(first, kelvin_first)
    other, more = _effects(second, kelvin_second)
    variance = 0.0
    for key in {*one, *other}:
        a, b = one.get(key, 0.0), other.get(key, 0.0)
        variance += (a - b) ** 2 + 2.0 * (1.0 - common_share(apart, reach.get(key, more.get(key)))) * a * b
    return math.sqrt(max(variance, 0.0))


def common_share(apart: float, reach: float | None) -> float:
    """Share of an error that two places `apart` pixels from each other have in common; 1 without a reach."""
    return 1.0 if reach is None else math.exp(-0.5 * (apart / reach) ** 2) if reach > 0 else 0.0


def _effects(errors: Iterable[ErrorSource], kelvin: float) -> tuple[dict[str, float], dict[str, float | None]]:
    """Signed effect [K] and reach [px] of every shared source, by identity."""
    effects: dict[str, float] = {}
    reach: dict[str, float | None] = {}
    for source in errors:
        if source.shared:
            effects[source.shared] = effects.get(source.shared, 0.0) + float(source.effect(kelvin))
            reach[source.shared] = source.reach
    return effects, reach


def celsius(kelvin: float, standard: float, method: str) -> Quantity:
    """A temperature of the results: degC with 95 % bounds, from kelvin and a standard uncertainty."""
    return Quantity.normal(kelvin - ZERO_CELSIUS, "degC", standard, method)


def widened(value: float, unit: str, standard: float, below: float, above: float, method: str) -> Quantity:
    """95 % bounds of a normal distribution, moved further out by `below` and `above` (not negative)."""
    half = NORMAL_95 * standard
    return Quantity(value, unit, value - half - below, value + half + above, 0.95, method)
