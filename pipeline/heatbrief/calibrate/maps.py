"""Uncertainty of every pixel of a thermogram."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from heatbrief.errors import StepError
from heatbrief.model.thermogram import ErrorSource, Thermogram

FINEST_K = 0.05
MOST_LEVELS = 8192


def uncertainty_map(thermogram: Thermogram) -> np.ndarray:
    """Standard uncertainty of each pixel's temperature [K], first order, float32 (height, width); NaN where masked.

    Noise and everything pixels share are both in it: it bounds a single pixel's temperature, not a contrast. NaN also
    in zones that allow comparison only. StepError "unscaled" for pictures without temperatures.
    """
    if thermogram.scale != "temperature" or not thermogram.errors:
        raise StepError("unscaled", "a picture without temperatures has no uncertainty in kelvin", "Give its scale.")
    values = thermogram.values
    low, high = float(values.min()), float(values.max())
    gaps = not np.isfinite(low + high)
    if gaps:
        good = values[np.isfinite(values)]
        if not good.size:
            return np.full(values.shape, np.nan, np.float32)
        low, high = float(good.min()), float(good.max())
        values = np.where(np.isfinite(values), values, low)
    step = max(FINEST_K, (high - low) / (MOST_LEVELS - 2))
    levels = int((high - low) / step) + 2
    first = np.floor(low / FINEST_K) * FINEST_K
    usable = tuple(thermogram.absolute) or (True,) * len(thermogram.errors)
    table = _table(thermogram.errors, usable, float(first), float(step), levels + 1)
    place = values * np.float32(1.0 / step)
    place -= np.float32(first / step - 0.5)
    index = place.astype(np.intp)
    if thermogram.zones is not None:
        index += np.multiply(thermogram.zones, table.shape[1], dtype=np.intp)
    found = table.ravel().take(index, mode="wrap")
    if gaps:
        found[~np.isfinite(thermogram.values)] = np.nan
    return found


@lru_cache(maxsize=32)
def _table(
    errors: tuple[tuple[ErrorSource, ...], ...], usable: tuple[bool, ...], first: float, step: float, levels: int
) -> np.ndarray:
    """Standard uncertainty (zones, levels) at temperatures `step` apart."""
    kelvin = first + step * np.arange(levels)
    table = np.full((len(errors), levels), np.nan, np.float32)
    for row, sources in enumerate(errors):
        if usable[row]:
            # Effects of one shared error add up before they are squared.
            effects: dict[str, np.ndarray] = {}
            for number, source in enumerate(sources):
                key = source.shared or f"\0{number}"
                effects[key] = effects.get(key, 0.0) + source.effect(kelvin)
            table[row] = np.sqrt(sum(effect**2 for effect in effects.values()))
    return table
