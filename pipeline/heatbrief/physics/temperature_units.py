"""Temperatures in the units a file or a short text may hold, as kelvin."""

from __future__ import annotations

import math
import re
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.arrays import FloatArray

from .planck import ZERO_CELSIUS_K

UNITS = ("degC", "kelvin", "degF")
_NUMBER = r"[+-]?\d{1,9}(?:\.\d{1,12})?"
_TEXT = re.compile(
    rf"\s*({_NUMBER})\s*(degC|°C|degF|°F|kelvin|K)(?:\s*(?:\+-|\+/-|±)\s*({_NUMBER})\s*(degC|°C|degF|°F|kelvin|K))?\s*"
)
_NAMES = {"degC": "degC", "°C": "degC", "degF": "degF", "°F": "degF", "kelvin": "kelvin", "K": "kelvin"}


class StatedTemperature(NamedTuple):
    """A temperature in kelvin and the half-width in kelvin it was stated with, 0 without one."""

    kelvin: float
    half_width: float


def to_kelvin(values: ArrayLike, unit: str) -> FloatArray:
    """Temperatures in kelvin (float64) from one of `UNITS`; KeyError for another unit."""
    array = np.asarray(values, dtype=np.float64)
    if unit == "kelvin":
        return array
    if unit == "degC":
        return array + ZERO_CELSIUS_K
    if unit == "degF":
        return (array + 459.67) * (5.0 / 9.0)
    raise KeyError(unit)


def stated_temperature(text: str) -> StatedTemperature | None:
    """Reads "-100 degC", "300 K" or "75 degF +- 2 K"; None when the text is no such statement."""
    found = _TEXT.fullmatch(text)
    if found is None:
        return None
    value = float(to_kelvin(float(found[1]), _NAMES[found[2]]))
    half = 0.0 if found[3] is None else abs(float(found[3])) * (5.0 / 9.0 if _NAMES[found[4]] == "degF" else 1.0)
    return StatedTemperature(value, half) if math.isfinite(value) else None
