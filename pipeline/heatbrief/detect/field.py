"""What a surface would show without an anomaly, and how far that can be trusted.

The expected field is fitted to medians of cells, so that its cost hardly grows with the picture and an anomaly of up
to about
a third of the region cannot pull it. Arrays are (height, width); values in kelvin or counts; NaN is masked.
"""

from __future__ import annotations

import math
import weakref
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import numpy as np

from heatbrief.detect.cells import (
    SAMPLES,
    blur_of,
    cell_levels,
    cell_means,
    cell_size,
    centres,
    powers_of,
    weights_of,
    with_neighbours,
)
from heatbrief.detect.robust_surface import robust_fit
from heatbrief.model.region import bounding_box
from heatbrief.physics.robust import mad_sigma

Kind = Literal["plane", "smooth", "constant"]

_MOST_FOR_SCATTER = 40_000
_DEGREE = {"constant": 0, "plane": 1, "smooth": 2}
_OUTLIER = 3.0
_LOCAL = 0.12
"""Width of the smoothing of what is left at large scale, as a share of the box."""


@dataclass(frozen=True)
class Field:
    """An expected field and its uncertainty.

    expected   float32 (height, width); NaN outside the box that holds `inside`
    sigma      robust standard deviation of one pixel about it, never below the noise of the picture
    knots      (pixels averaged, standard deviation of such a mean) as found in the picture, rising in pixels
    """

    expected: np.ndarray
    inside: np.ndarray
    kind: Kind
    sigma: float
    knots: tuple[tuple[float, float], ...]
    box: tuple[int, int, int, int]
    _cell: float
    _normal: np.ndarray
    _local: float
    _seen: tuple[Callable[[], Any], np.ndarray, np.ndarray] | None = None
    """The values it was fitted to, what was expected of them, and the 3 x 3 means of their difference."""

    @property
    def reach(self) -> float:
        """Typical distance [px] of the pixels from which an expected value is known: the smoothing of a smooth field,
        else half of the box."""
        width, height = self.box[2] - self.box[0], self.box[3] - self.box[1]
        return _LOCAL * min(width, height) if self.kind == "smooth" else math.hypot(width, height) / 4.0

    def scatter(self, pixels: float) -> float:
        """Standard deviation of the mean over a compact patch of `pixels` pixels, noise and texture together.

        Between the sizes measured in the picture it follows a power law; beyond them it falls as white noise would, but
        not below a quarter of the largest measured size's.
        """
        sizes, sigmas = np.log([max(pixels, 1.0)] + [n for n, _ in self.knots]), [s for _, s in self.knots]
        if sizes[0] >= sizes[-1]:
            return max(sigmas[-1] * math.exp((sizes[-1] - sizes[0]) / 2), sigmas[-1] / 4)
        return float(np.exp(np.interp(sizes[0], sizes[1:], np.log(np.maximum(sigmas, 1e-12)))))

    def smoothed(self, values: np.ndarray) -> np.ndarray:
        """3 x 3 means of values (height, width) less the expected field over the box, of the pixels inside alone;
        float32."""
        if self._seen is not None and self._seen[0]() is values and self._seen[1] is self.expected:
            return self._seen[2]  # known from the fit, as long as nothing has been added to the field since
        x0, y0, x1, y1 = self.box
        return box_mean(values[y0:y1, x0:x1] - self.expected[y0:y1, x0:x1], self.inside[y0:y1, x0:x1])

    def leverage(self, x: float, y: float) -> float:
        """Standard uncertainty of the expected value at a place [same unit as the values]."""
        inverse = np.linalg.pinv(self._normal)
        row = _terms(*_normalised(np.array([x]), np.array([y]), self.box), _degree_of(inverse))[0]
        return self._cell * math.sqrt(max(float(row @ inverse @ row), 0.0) + self._local)


def residual_sigma(residual: np.ndarray, inside: np.ndarray | None = None, floor: float = 0.0) -> float:
    """Robust standard deviation of a residual (MAD), at least `floor` (the picture's noise); 0 for an empty one
    without a floor."""
    data = np.asarray(residual).ravel() if inside is None or inside.all() else residual[inside]
    data = data[:: max(1, data.size // _MOST_FOR_SCATTER)]
    sigma = mad_sigma(data, floor)
    return sigma if math.isfinite(sigma) else floor


def fit_field(values: np.ndarray, inside: np.ndarray, kind: Kind = "smooth", *, noise: float = 0.0) -> Field:
    """The expected field with what is needed to judge differences from it. `inside` without a valid pixel gives NaN
    everywhere.

    Raises ValueError for an unknown kind.
    """
    if kind not in _DEGREE:
        raise ValueError(f"an expected field is one of {', '.join(_DEGREE)}; got {kind!r}")
    inside = inside & np.isfinite(values)
    box = bounding_box(inside)
    if box[2] == 0:
        return _nowhere(inside, kind, max(noise, 0.0))
    x0, y0, x1, y1 = box
    part, good = values[y0:y1, x0:x1], inside[y0:y1, x0:x1]
    size = cell_size(part.shape)
    level = cell_levels(part, good, size)
    known = np.isfinite(level)
    degree = _fitting_degree(_DEGREE[kind], int(np.count_nonzero(known)))
    terms = _cell_terms(known.shape, size, part.shape, degree)[known]
    coefficients, weights, centre = robust_fit(terms, level[known].astype(float), max(noise / SAMPLES, 1e-9))
    left = np.full(level.shape, np.nan)
    left[known] = level[known] - centre - terms @ coefficients
    correction, local = _large_scale(left, noise) if kind == "smooth" and degree == 2 else (None, 0.0)
    surface = _surface(coefficients, correction, size, part.shape)
    surface += np.float32(centre)
    normal = terms.T @ (weights[:, None] * terms)
    smoothed = box_mean(residual := part - surface, good)
    knots = _knots(residual, smoothed, good, size, noise)
    cell = residual_sigma(left if correction is None else left - correction, known, noise / SAMPLES)
    expected = _embedded(surface, box, values.shape)
    seen = (weakref.ref(values), expected, smoothed)
    return Field(expected, inside, kind, knots[0][1], knots, box, cell, normal, local, seen)


def _nowhere(inside: np.ndarray, kind: Kind, noise: float) -> Field:
    """The field of a box without a valid pixel."""
    expected, none = np.full(inside.shape, np.nan, np.float32), np.zeros((1, 1))
    return Field(expected, inside, kind, noise, ((1.0, max(noise, 1e-12)),), (0, 0, 0, 0), 0.0, none, 0.0)


def box_mean(values: np.ndarray, inside: np.ndarray) -> np.ndarray:
    """Mean over 3 x 3 pixels, counting only those inside; 0 where none is. float32, same shape."""
    if inside.all():
        total = sum3(values.astype(np.float32, copy=False))
        for lines in (total, total.T):  # rows first, then columns: three go into each, two or one at the ends
            ends = lines[[0, -1]] * (np.float32(1) / np.float32(min(2, len(lines))))
            lines *= np.float32(1) / np.float32(3)
            lines[[0, -1]] = ends
        return total
    total = sum3(np.where(inside, values, np.float32(0)).astype(np.float32, copy=False))
    count = sum3(inside.astype(np.float32))
    total /= np.maximum(count, np.float32(1))
    return total


def sum3(values: np.ndarray) -> np.ndarray:
    """Sum over 3 x 3 pixels, as far as there are any."""
    rows = _with_next(values)
    # All rows as one long line are summed twice as quickly as one by one; where one ends is put right afterwards.
    total = _with_next(rows.ravel()).reshape(rows.shape)
    total[:, 0], total[:, -1] = rows[:, :2].sum(axis=1), rows[:, -2:].sum(axis=1)
    return total


def _with_next(values: np.ndarray) -> np.ndarray:
    """Sum of each row and those next to it."""
    total, pairs = np.empty_like(values), (values[1:], values[:-1])
    total[0] = values[0]
    np.add(*pairs, out=total[1:])
    total[:-1] += values[1:]
    return total


def _fitting_degree(wanted: int, cells: int) -> int:
    """No more freedom than the cells can carry."""
    return min(wanted, 2 if cells >= 40 else 1 if cells >= 8 else 0)


def _degree_of(inverse: np.ndarray) -> int:
    return {1: 0, 3: 1, 6: 2}[inverse.shape[0]]


def _normalised(x: np.ndarray, y: np.ndarray, box: tuple[int, int, int, int]) -> tuple[np.ndarray, np.ndarray]:
    x0, y0, x1, y1 = box
    return 2 * (x - x0 + 0.5) / (x1 - x0) - 1, 2 * (y - y0 + 0.5) / (y1 - y0) - 1


def _terms(x: np.ndarray, y: np.ndarray, degree: int) -> np.ndarray:
    columns = [np.ones_like(x, dtype=float)]
    if degree >= 1:
        columns += [x, y]
    if degree >= 2:
        columns += [x * x, x * y, y * y]
    return np.stack(columns, axis=-1)


@lru_cache(maxsize=8)
def _cell_terms(cells: tuple[int, ...], size: int, shape: tuple[int, ...], degree: int) -> np.ndarray:
    """Terms of the polynomial at the centres of all cells, of a box of that shape; pictures of one size share them."""
    y, x = np.meshgrid(*(centres(side, size) for side in cells), indexing="ij")
    return _terms(*_normalised(x, y, (0, 0, shape[1], shape[0])), degree)


def _surface(coefficients: np.ndarray, correction: np.ndarray | None, size: int, shape: tuple[int, ...]) -> np.ndarray:
    """The polynomial over a box, and the correction of its cells interpolated linearly, constant beyond the outermost
    centres; both by one product of matrices. What varies is small, so that narrow numbers hold it exactly enough."""
    full = np.zeros((3, 3))
    for value, place in zip(coefficients, ((0, 0), (0, 1), (1, 0), (0, 2), (1, 1), (2, 0)), strict=False):
        full[place] = value
    down, across = powers_of(shape[0]), full.astype(np.float32) @ powers_of(shape[1]).T
    if correction is not None:
        rows, columns = (weights_of(cells, size, side) for cells, side in zip(correction.shape, shape, strict=True))
        down, across = np.hstack([down, rows]), np.vstack([across, correction.astype(np.float32) @ columns.T])
    result: np.ndarray = down @ across
    return result


def _embedded(surface: np.ndarray, box: tuple[int, int, int, int], shape: tuple[int, ...]) -> np.ndarray:
    """The surface in its box of a picture of that shape, NaN elsewhere."""
    if surface.shape == shape:
        return surface
    whole = np.full(shape, np.nan, np.float32)
    whole[box[1] : box[3], box[0] : box[2]] = surface
    return whole


def _large_scale(left: np.ndarray, noise: float) -> tuple[np.ndarray, float]:
    """What remains at large scale on the grid of cells, outlying cells and their neighbours left out, and its own
    variance share."""
    known = np.isfinite(left)
    width = max(2.0, _LOCAL * min(left.shape))
    down, across = (blur_of(side, width) for side in left.shape)
    data, smooth = np.where(known, left, 0.0), np.zeros(left.shape)
    for _ in range(3):
        rest = np.where(known, data - smooth, 0.0)
        sigma = residual_sigma(rest, known, noise / SAMPLES)
        calm = known & ~with_neighbours(np.abs(rest) > _OUTLIER * sigma)
        weight, total = (down @ part @ across.T for part in (calm.astype(float), np.where(calm, data, 0.0)))
        smooth = total / np.maximum(weight, 0.15)
    return smooth, 1.0 / (2.0 * math.pi * width * width)


def _knots(
    residual: np.ndarray, smoothed: np.ndarray, good: np.ndarray, size: int, noise: float
) -> tuple[tuple[float, float], ...]:
    """Robust scatter of one pixel, of 3 x 3 and of cell means; each at least what the noise alone would give."""
    tiny = 1e-9
    sigma = max(residual_sigma(residual, good, noise), tiny)
    nine = residual_sigma(smoothed, good, noise / 3)
    knots = [(1.0, sigma), (9.0, min(max(nine, tiny), sigma))]
    cells, share = cell_means(residual, good, size)
    if size > 3 and (share > 0.5).sum() >= 12:
        knots.append(
            (float(size * size), min(max(residual_sigma(cells[share > 0.5], None, noise / size), tiny), knots[-1][1]))
        )
    return tuple(knots)
