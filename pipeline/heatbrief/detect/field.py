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

from heatbrief.detect.robust_surface import robust_fit
from heatbrief.physics.robust import mad_sigma

Kind = Literal["plane", "smooth", "constant"]

CELLS = 900
"""Wanted number of cells in a full box; enough for a smooth surface, few enough to be quick."""
_SAMPLES = 7
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
    _inverse: np.ndarray
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
        row = _terms(*_normalised(np.array([x]), np.array([y]), self.box), _degree_of(self._inverse))[0]
        return self._cell * math.sqrt(max(float(row @ self._inverse @ row), 0.0) + self._local)


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
    expected = np.full(values.shape, np.nan, np.float32)
    if box[2] == 0:
        return Field(
            expected, inside, kind, max(noise, 0.0), ((1.0, max(noise, 1e-12)),), box, 0.0, np.zeros((1, 1)), 0.0
        )
    x0, y0, x1, y1 = box
    part, good = values[y0:y1, x0:x1], inside[y0:y1, x0:x1]
    size = max(2, math.ceil(math.sqrt(part.size / CELLS)))
    level = _cells(part, good, size)
    height, width = part.shape
    flat_box = (0, 0, width, height)
    degree = _fitting_degree(_DEGREE[kind], int(np.isfinite(level).sum()))
    known = np.isfinite(level)
    grid_y, grid_x = np.meshgrid(*(_centres(side, size) for side in level.shape), indexing="ij")
    terms = _terms(*_normalised(grid_x[known], grid_y[known], flat_box), degree)
    coefficients, weights, centre = robust_fit(terms, level[known].astype(float), max(noise / _SAMPLES, 1e-9))
    surface = _polynomial(coefficients, centre, width, height, degree)
    left, local = np.full(level.shape, np.nan), 0.0
    left[known] = level[known] - centre - terms @ coefficients
    if kind == "smooth" and degree == 2:
        correction, local = _large_scale(left, noise)
        left -= correction
        surface += _spread(correction, size, width, height)
    if surface.shape == expected.shape:
        expected = surface
    else:
        expected[y0:y1, x0:x1] = surface
    inverse = np.linalg.pinv(terms.T @ (weights[:, None] * terms))
    smoothed = box_mean(residual := part - surface, good)
    knots = _knots(residual, smoothed, good, size, noise)
    cell = residual_sigma(left, known, noise / _SAMPLES)
    seen = (weakref.ref(values), expected, smoothed)
    return Field(expected, inside, kind, knots[0][1], knots, box, cell, inverse, local, seen)


def bounding_box(mask: np.ndarray) -> tuple[int, int, int, int]:
    """(x0, y0, x1, y1), upper ends excluded, of the True pixels; zeros when there are none."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if rows.size == 0:
        return 0, 0, 0, 0
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def box_mean(values: np.ndarray, inside: np.ndarray) -> np.ndarray:
    """Mean over 3 x 3 pixels, counting only those inside; 0 where none is. float32, same shape."""
    if inside.all():
        total = sum3(values.astype(np.float32, copy=False))
        sides = (np.minimum(np.minimum(np.arange(n) + 2, np.arange(n)[::-1] + 2), min(3, n)) for n in values.shape)
        down, across = (np.float32(1) / side.astype(np.float32) for side in sides)
        total *= down[:, None]
        total *= across
        return total
    total = sum3(np.where(inside, values, np.float32(0)).astype(np.float32, copy=False))
    count = sum3(inside.astype(np.float32))
    result: np.ndarray = np.divide(total, count, out=np.zeros_like(total), where=count > 0)
    return result


def sum3(values: np.ndarray) -> np.ndarray:
    """Sum over 3 x 3 pixels, as far as there are any."""
    rows = _with_next(values)
    # All rows as one long line are summed twice as quickly as one by one; where one ends is put right afterwards.
    total = _with_next(rows.ravel()).reshape(rows.shape)
    total[:, 0], total[:, -1] = rows[:, :2].sum(axis=1), rows[:, -2:].sum(axis=1)
    return total


def _with_next(values: np.ndarray) -> np.ndarray:
    """Sum of each row and those next to it."""
    total = values.copy()
    total[1:] += values[:-1]
    total[:-1] += values[1:]
    return total


def _cells(part: np.ndarray, good: np.ndarray, size: int) -> np.ndarray:
    """The median of up to 7 x 7 samples of each cell; NaN where fewer than a quarter are inside."""
    offsets = np.linspace(0, size - 1, min(size, _SAMPLES)).round().astype(int)
    height, width = part.shape
    across, down = math.ceil(width / size), math.ceil(height / size)
    rows = (np.arange(down)[:, None] * size + offsets).ravel()
    columns = (np.arange(across)[:, None] * size + offsets).ravel()
    row_in, column_in = np.minimum(rows, height - 1), np.minimum(columns, width - 1)
    usable = good.take(row_in, axis=0).take(column_in, axis=1)
    usable[rows >= height] = usable[:, columns >= width] = False
    samples = part.take(row_in, axis=0).take(column_in, axis=1)
    samples[~usable] = np.inf
    n = offsets.size
    samples = np.sort(samples.reshape(down, n, across, n).transpose(0, 2, 1, 3).reshape(down, across, n * n), axis=2)
    count = np.einsum("ijk->ij", np.isfinite(samples).view(np.uint8), dtype=np.intp)
    low, high = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, n * n - 1)
    at_low, at_high = (np.take_along_axis(samples, at[..., None], 2)[..., 0].astype(float) for at in (low, high))
    with np.errstate(invalid="ignore"):
        level = np.where(count >= max(1, n * n // 4), 0.5 * (at_low + at_high), np.nan)
    if not np.isfinite(level).any():
        level = np.where(count > 0, at_low, np.nan)
    return level


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


def _polynomial(coefficients: np.ndarray, centre: float, width: int, height: int, degree: int) -> np.ndarray:
    x, y = _normalised(np.arange(width), np.arange(height), (0, 0, width, height))
    full = np.zeros((3, 3))
    for value, (i, j) in zip(coefficients, ((0, 0), (0, 1), (1, 0), (0, 2), (1, 1), (2, 0)), strict=False):
        full[i, j] += value
    columns, rows = np.stack([x**0, x, x * x]), np.stack([y**0, y, y * y])
    # What varies is small, so that narrow numbers hold it exactly enough.
    result: np.ndarray = (rows.T @ full).astype(np.float32) @ columns.astype(np.float32)
    result += np.float32(centre)
    return result


def _large_scale(left: np.ndarray, noise: float) -> tuple[np.ndarray, float]:
    """What remains at large scale on the grid of cells, outlying cells and their neighbours left out, and its own
    variance share."""
    known = np.isfinite(left)
    width = max(2.0, _LOCAL * min(left.shape))
    down, across = (_blur(side, width) for side in left.shape)
    data, smooth = np.where(known, left, 0.0), np.zeros(left.shape)
    for _ in range(3):
        rest = np.where(known, data - smooth, 0.0)
        sigma = residual_sigma(rest, known, noise / _SAMPLES)
        calm = known & ~_with_neighbours(np.abs(rest) > _OUTLIER * sigma)
        weight, total = (down @ part @ across.T for part in (calm.astype(float), np.where(calm, data, 0.0)))
        smooth = total / np.maximum(weight, 0.15)
    return smooth, 1.0 / (2.0 * math.pi * width * width)


@lru_cache(maxsize=32)
def _blur(length: int, width: float) -> np.ndarray:
    """Matrix that takes a line of that length to its Gaussian mean, nothing beyond its ends, (length, length)."""
    reach = int(4.0 * width + 0.5)
    kernel = np.exp(-0.5 * np.square(np.arange(-reach, reach + 1) / width))
    apart = np.arange(length)[:, None] - np.arange(length) + reach
    near = (apart >= 0) & (apart <= 2 * reach)
    return _kept(np.where(near, (kernel / kernel.sum())[np.clip(apart, 0, 2 * reach)], 0.0))


def _with_neighbours(mask: np.ndarray) -> np.ndarray:
    """The mask widened by one cell all round."""
    wide = np.pad(mask, 1)
    rows = wide[:-2] | wide[1:-1] | wide[2:]
    result: np.ndarray = rows[:, :-2] | rows[:, 1:-1] | rows[:, 2:]
    return result


def _kept(matrix: np.ndarray) -> np.ndarray:
    """The same, never to be changed, as it is shared."""
    matrix.flags.writeable = False
    return matrix


def _spread(grid: np.ndarray, size: int, width: int, height: int) -> np.ndarray:
    """The grid interpolated linearly to pixels, constant beyond the outermost centres of cells of that size."""
    down, across = _weights(grid.shape[0], size, height), _weights(grid.shape[1], size, width)
    result: np.ndarray = (down @ grid.astype(np.float32)) @ across.T
    return result


@lru_cache(maxsize=32)
def _weights(cells: int, size: int, length: int) -> np.ndarray:
    """What each cell counts for each pixel of a line, (length, cells); pictures of one size share it."""
    at = [np.interp(np.arange(length), _centres(cells, size), row) for row in np.eye(cells)]
    return _kept(np.stack(at, axis=1).astype(np.float32))


def _centres(cells: int, size: int) -> np.ndarray:
    result: np.ndarray = np.arange(cells) * size + (size - 1) / 2
    return result


def _knots(
    residual: np.ndarray, smoothed: np.ndarray, good: np.ndarray, size: int, noise: float
) -> tuple[tuple[float, float], ...]:
    """Robust scatter of one pixel, of 3 x 3 and of cell means; each at least what the noise alone would give."""
    tiny = 1e-9
    sigma = max(residual_sigma(residual, good, noise), tiny)
    nine = residual_sigma(smoothed, good, noise / 3)
    knots = [(1.0, sigma), (9.0, min(max(nine, tiny), sigma))]
    cells, share = _block_means(residual, good, size)
    if size > 3 and (share > 0.5).sum() >= 12:
        knots.append(
            (float(size * size), min(max(residual_sigma(cells[share > 0.5], None, noise / size), tiny), knots[-1][1]))
        )
    return tuple(knots)


def _block_means(residual: np.ndarray, good: np.ndarray, size: int) -> tuple[np.ndarray, np.ndarray]:
    """Mean of each cell over its pixels inside, and their share of a whole cell."""
    if good.all():
        down, across = (np.diff([*range(0, side, size), side]).astype(np.float32) for side in good.shape)
        count, total = down[:, None] * across, _blocks(residual, size)
    else:
        count, total = _blocks(good.astype(np.float32), size), _blocks(np.where(good, residual, np.float32(0)), size)
    return total / np.maximum(count, 1), count / (size * size)


def _blocks(values: np.ndarray, size: int) -> np.ndarray:
    """Sums over blocks of `size` by `size` pixels, those at the lower and right edge as far as they go."""
    for _ in range(2):  # rows first, then, turned over, columns
        whole = len(values) // size * size
        rows = values[:whole].reshape(-1, size, values.shape[1]).sum(axis=1)
        values = (rows if whole == len(values) else np.vstack([rows, values[whole:].sum(axis=0)])).T
    return values
