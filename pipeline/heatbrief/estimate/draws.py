"""Random draws of uncertain inputs that are the same in every run, and for an input wherever it stands."""

from __future__ import annotations

import functools
import hashlib
import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from heatbrief.model.quantity import NORMAL_95, Quantity

COUNT = 2048
"""Draws of each input, one from each of as many slices of equal probability."""

BOUNDS = (0.025, 0.975)

NEVER = 1e300


@functools.lru_cache(maxsize=1)
def _scores() -> np.ndarray:
    """The middles of the slices of a standard normal distribution, rising."""
    normal = NormalDist()
    return np.array([normal.inv_cdf((one + 0.5) / COUNT) for one in range(COUNT)])


@functools.lru_cache(maxsize=4096)
def draws(name: str, value: Quantity) -> np.ndarray:
    """COUNT draws of the input of that name: two halves of normal distributions that meet at its value.

    Each half has its bound at 1.96 standard deviations. A quantity with a positive lower bound stays above half of
    it, one whose bounds are not negative never gets negative. The order of the draws depends on the name alone.
    """
    if value.low == value.high:
        return np.full(COUNT, value.value)
    seed = int.from_bytes(hashlib.sha256(name.encode("utf-8", "surrogatepass")).digest()[:8], "big")
    order = np.argsort(np.random.PCG64(seed).random_raw(COUNT), kind="stable")
    scores = _scores()[order]
    spread = np.where(scores < 0.0, value.value - value.low, value.high - value.value)
    return np.maximum(value.value + scores * spread / NORMAL_95, value.low / 2 if value.low >= 0.0 else -math.inf)


@dataclass(frozen=True)
class Drawn:
    """A number with its draws: best estimate and an array of COUNT values that belong together over all `Drawn`."""

    best: float
    values: np.ndarray

    @classmethod
    def exact(cls, value: float) -> Drawn:
        """A number without doubt."""
        return cls(float(value), np.full(COUNT, float(value)))

    def __add__(self, other: Drawn) -> Drawn:
        return Drawn(self.best + other.best, self.values + other.values)

    def __sub__(self, other: Drawn) -> Drawn:
        return Drawn(self.best - other.best, self.values - other.values)

    def __mul__(self, other: Drawn) -> Drawn:
        return Drawn(self.best * other.best, self.values * other.values)

    def over(self, other: Drawn) -> Drawn | None:
        """The ratio; None where it is not finite at the best estimate."""
        if other.best <= 0.0:
            return None
        with np.errstate(divide="ignore", invalid="ignore"):
            values = np.where(other.values > 0.0, self.values / other.values, np.inf)
        return Drawn(self.best / other.best, values)

    def quantity(self, unit: str, method: str = "") -> Quantity | None:
        """Best estimate with 95 % bounds; None where a bound is not finite."""
        finite = np.nan_to_num(self.values, nan=NEVER, posinf=NEVER, neginf=-NEVER)
        low, high = np.quantile(finite, BOUNDS, method="hazen")  # the draws are the middles of their slices
        if not math.isfinite(self.best) or max(-low, high) > NEVER * 1e-6:
            return None
        if low == high == self.best:
            return Quantity.exact(self.best, unit, method)
        return Quantity(self.best, unit, min(float(low), self.best), max(float(high), self.best), 0.95, method)


def summed(parts: list[Drawn]) -> Drawn:
    """The sum; zero for none."""
    return functools.reduce(Drawn.__add__, parts, Drawn.exact(0.0))
