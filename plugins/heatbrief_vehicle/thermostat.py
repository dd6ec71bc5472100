"""From two curves after a cold start to when the thermostat opened, and how it went: pure functions on arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.model import Quantity
from heatbrief.physics.lumped import FirstOrderFit, fit_first_order

START_C = Quantity.between(80.0, 95.0, "degC", 85.0, "makers' texts (thermostat-manuals)")
FULL_C = Quantity.between(88.0, 105.5, "degC", 95.0, "makers' texts (thermostat-manuals)")
SKIN_K = 10.0
"""A hose or housing reads up to this much below the coolant in it (own choice)."""
RISE_K = 8.0
"""A radiator side that rose by this has had warm coolant (own choice)."""
LEAD_K = 15.0
"""Rise of the engine side that must come before the radiator's where the thermostat was shut at first (own choice)."""


@dataclass(frozen=True)
class WarmUp:
    """How a warm-up went; temperatures of surfaces [degC], times [s since the first picture].

    kind       "opened", "opened early", "opened late", "from the start", "stayed shut", "not warm yet" or "no
    radiator side"
    opened_at  when the radiator side began to follow, and the engine side then; None when it did not
    fit        first-order curve of the engine side up to that time, else of all; in kelvin, None when none fits
    """

    kind: str
    highest: float
    opened_at: float | None = None
    opened_c: float | None = None
    fit: FirstOrderFit | None = None


def warm_up(
    seconds: np.ndarray,
    engine_c: np.ndarray,
    radiator_c: np.ndarray | None,
    start: Quantity = START_C,
    full: Quantity = FULL_C,
    noise: float = 0.5,
) -> WarmUp:
    """Judge a warm-up from curves of the engine side and, where there is one, of the radiator side.

    seconds, engine_c, radiator_c   (n,), n from 4, times rising; noise: standard deviation of one reading [K]
    Raises ValueError for fewer than four readings.
    """
    if len(seconds) < 4:
        raise ValueError("a warm-up needs four pictures or more")
    highest = float(np.max(engine_c))
    opened_at = None if radiator_c is None else follows_from(seconds, radiator_c, noise)
    opened_c = None if opened_at is None else float(np.interp(opened_at, seconds, engine_c))
    fit = fitted(seconds, engine_c, opened_at) or fitted(seconds, engine_c, None)
    return WarmUp(_kind(engine_c, radiator_c, opened_c, start, full), highest, opened_at, opened_c, fit)


def _kind(
    engine: np.ndarray, radiator: np.ndarray | None, opened_c: float | None, start: Quantity, full: Quantity
) -> str:
    highest = float(np.max(engine))
    if radiator is None:
        return "no radiator side"
    if opened_c is None:
        return "stayed shut" if highest > full.high else "not warm yet"
    if opened_c - float(engine[0]) < LEAD_K and opened_c < start.low - SKIN_K:
        return "from the start"
    if opened_c < start.low - SKIN_K:
        return "opened early"
    return "opened late" if opened_c > full.high else "opened"


def follows_from(seconds: np.ndarray, values: np.ndarray, noise: float) -> float | None:
    """When a curve that lay still begins to rise: the bend of a level line with a rising one; None when it does not
    rise.

    The bend that leaves the least squares, tried at every 1/50 of the time; the rise must reach RISE_K and six times
    the noise.
    """
    if np.max(values) - np.median(values[:2]) < max(RISE_K, 6.0 * noise):
        return None
    until = max(4, int(np.argmax(values >= values[0] + 0.8 * (np.max(values) - values[0]))) + 1)
    t, y = seconds[:until], values[:until]
    best, found = np.inf, float(t[0])
    for bend in np.linspace(t[0], t[-1], 51)[:-1]:
        basis = np.stack([np.ones_like(t), np.maximum(t - bend, 0.0)], axis=1)
        _, slope = line = np.linalg.lstsq(basis, y, rcond=None)[0]
        left = float(np.sum((y - basis @ line) ** 2))
        if slope > 0 and left < best:
            best, found = left, float(bend)
    return found


def fitted(seconds: np.ndarray, engine_c: np.ndarray, until: float | None) -> FirstOrderFit | None:
    """First-order curve of the engine side up to a time, in kelvin; None with fewer than four readings or no fit."""
    used = np.ones(len(seconds), bool) if until is None else seconds <= until
    if used.sum() < 4:
        return None
    try:
        return fit_first_order(seconds[used], engine_c[used] + 273.15)
    except ValueError:
        return None


def outside_the_range(result: WarmUp, start: Quantity, full: Quantity) -> Quantity | None:
    """How far the opening, or the highest reading, lies outside what the thermostat's figures allow [K]; None: unknown.

    A surface reads up to SKIN_K below the coolant, which is in the bounds.
    """
    if result.kind == "stayed shut":
        over = result.highest - full.high
        return Quantity(over, "K", over, over + SKIN_K, 0.95, "engine side above full opening, radiator side cold")
    at = result.opened_c
    if at is None:
        return None
    low, high = start.low - SKIN_K - at, start.low - at
    if result.kind in ("opened early", "from the start"):
        return Quantity(low, "K", low, high, 0.95, "opening below the stated start")
    over = max(at - full.high, 0.0)
    return Quantity(over, "K", over, over if over == 0 else over + SKIN_K, 0.95, "opening above full opening")
