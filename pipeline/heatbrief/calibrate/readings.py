"""The readings of a picture: its temperatures as reported, worked out only when something needs every pixel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from heatbrief.api import StepError
from heatbrief.model.thermogram import Picture

HOTTEST_K = 10_000.0
MOST_LEVELS = 1 << 20
"""Whole counts spread over more levels than this go through the equation pixel by pixel."""


def reported_kelvin(picture: Picture) -> np.ndarray:
    """The file's own temperatures in kelvin (float64): values as they are, or counts on their straight scale.

    NaN where masked or not a possible temperature. StepError "scale" for a scale without a slope.
    """
    kelvin = np.asarray(picture.values, np.float64)
    if picture.scale is not None:
        step, zero = checked_scale(picture.scale)
        kelvin = kelvin * step + zero
    possible = (kelvin > 0.0) & (kelvin <= HOTTEST_K)
    return kelvin if possible.all() else np.where(possible, kelvin, np.nan)


def checked_scale(scale: tuple[float, float]) -> tuple[float, float]:
    """(kelvin per count, kelvin at count 0), or StepError "scale"."""
    step, zero = scale
    if not math.isfinite(step) or not math.isfinite(zero) or step == 0.0:
        raise StepError("scale", f"a scale of {step:g} K per count is not possible", "Correct kelvin_per_count.")
    return step, zero


@dataclass(frozen=True)
class Readings:
    """counts  lowest and highest whole count when tables serve the picture, else None."""

    picture: Picture
    counts: tuple[int, int] | None

    @cached_property
    def kelvin(self) -> np.ndarray:
        """Reported temperatures [K], float64 (height, width), NaN where there is none."""
        return reported_kelvin(self.picture)

    @cached_property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest reported temperature [K]; NaN, NaN when there is none."""
        if self.counts is not None:
            assert self.picture.scale is not None
            step, zero = checked_scale(self.picture.scale)
            low, high = sorted((zero + step * count) for count in self.counts)
            if low > 0.0 and high <= HOTTEST_K:
                return low, high
        good = self.kelvin[np.isfinite(self.kelvin)]
        return (float(good.min()), float(good.max())) if good.size else (math.nan, math.nan)


def readings_of(picture: Picture) -> Readings:
    """Readings of a picture; whole counts on a straight scale are served by tables."""
    values = picture.values
    if picture.scale is None or values.dtype.kind not in "ui" or not values.size:
        return Readings(picture, None)
    low, high = int(values.min()), int(values.max())
    return Readings(picture, (low, high) if high - low < MOST_LEVELS else None)
