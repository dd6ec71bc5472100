"""Temperature along a conductor, and whether it falls off from an end or is even along its length."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from heatbrief.model import Quantity, Region, Thermogram

LEAST_POINTS = 12
_LENGTHS = np.geomspace(0.05, 3.0, 60)
"""1/e lengths tried, as shares of the line's length."""


@dataclass(frozen=True)
class Profile:
    """Kelvin along a line at about one sample for each pixel of its way [px]."""

    way: np.ndarray
    kelvin: np.ndarray
    noise: float

    @property
    def length(self) -> float:
        """Length of the sampled line [px]."""
        return float(self.way[-1] - self.way[0])


@dataclass(frozen=True)
class Decay:
    """Fit of far + rise exp(-way / length), the way counted from the warm end.

    rise [K] with bounds; far [K, absolute]; length: 1/e length [px]; start: True when the first end of the line is the
    warm one;
    explained: share of the variance the fit explains; scatter [K] of what is left
    """

    rise: Quantity
    far: float
    length: float
    start: bool
    explained: float
    scatter: float


def profile_of(subject: Thermogram, region: Region, half: int = 1) -> Profile | None:
    """Median across `half` pixels to each side at every pixel along a line; None when fewer than 12 samples have a
    value.
    """
    points = np.asarray(region.points, float)
    if region.shape != "line" or len(points) < 2:
        return None
    spots, ways = _walk(points)
    across = _normals(points, ways)
    height, width = subject.shape
    values = np.full((2 * half + 1, len(spots)), np.nan)
    for row, step in enumerate(range(-half, half + 1)):
        x, y = np.rint(spots + step * across).astype(int).T
        good = (x >= 0) & (x < width) & (y >= 0) & (y < height)
        values[row, good] = subject.values[y[good], x[good]]
    known = np.isfinite(values).any(axis=0)
    if known.sum() < LEAST_POINTS:
        return None
    along = np.nanmedian(values[:, known], axis=0)
    return Profile(ways[known], along, max(subject.noise() / math.sqrt(2 * half + 1), 1e-3))


def _walk(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places one pixel apart along a polyline, and the way to each [px]."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    reach = np.concatenate([[0.0], np.cumsum(steps)])
    ways = np.arange(0.0, reach[-1] + 1e-9, 1.0)
    return np.stack([np.interp(ways, reach, points[:, axis]) for axis in (0, 1)], axis=1), ways


def _normals(points: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """Unit vectors across the line at every way, (n, 2)."""
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    reach = np.concatenate([[0.0], np.cumsum(lengths)])
    piece = np.clip(np.searchsorted(reach, ways, side="right") - 1, 0, len(steps) - 1)
    safe = np.where(lengths > 0, lengths, 1.0)
    unit = steps / safe[:, None]
    return np.stack([-unit[:, 1], unit[:, 0]], axis=1)[piece]


def fit_decay(profile: Profile) -> Decay | None:
    """The better of the two exponential fits, from either end; None when the profile does not fall by more than its
    noise.

    For each of 60 lengths the other two are a linear least-squares problem, so the best is found without a starting
    guess.
    The bounds of the rise hold the fits of every length that explains the profile nearly as well, and the scatter.
    """
    first, second = (_best(profile, start) for start in (True, False))
    found = [one for one in (first, second) if one is not None]
    return max(found, key=lambda one: one.explained, default=None)


def _best(profile: Profile, start: bool) -> Decay | None:
    way = profile.way - profile.way[0] if start else profile.way[-1] - profile.way
    tried = (_linear(way, profile.kelvin, share * profile.length) for share in _LENGTHS)
    fits = [one for one in tried if one is not None and one[0] > 0]
    total = float(np.sum((profile.kelvin - profile.kelvin.mean()) ** 2))
    if not fits or total <= 0:
        return None
    floor = profile.noise**2 * way.size
    least = min(one[3] for one in fits)
    rise, far, length, left = next(one for one in fits if one[3] == least)
    near = [one for one in fits if one[3] <= least + 4.0 * max(least, floor) / way.size]
    scatter = math.sqrt(left / max(way.size - 3, 1))
    own = 2.0 * max(scatter, profile.noise) / math.sqrt(max(min(length, way.size) / 2.0, 1.0))
    low, high = min(one[0] for one in near) - own, max(one[0] for one in near) + own
    quantity = Quantity(rise, "K", min(low, rise), max(high, rise), 0.95, "exponential fit along the conductor")
    return Decay(quantity, far, length, start, 1.0 - left / total, scatter)


def _linear(way: np.ndarray, kelvin: np.ndarray, length: float) -> tuple[float, float, float, float] | None:
    shape = np.exp(-way / length)
    centred, values = shape - shape.mean(), kelvin - kelvin.mean()
    spread = float(centred @ centred)
    if spread <= 0:
        return None
    rise = float(centred @ values) / spread
    left = float(np.sum((values - rise * centred) ** 2))
    return rise, float(kelvin.mean() - rise * shape.mean()), length, left
