"""A picture in square cells: their medians and means, and matrices between cells and pixels.

The matrices depend on sizes alone, so that the pictures of a survey share them.

Arrays are (height, width); a side of n pixels has ceil(n / size) cells.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from heatbrief.detect.outline import framed

CELLS = 900
"""Wanted number of cells in a full box; enough for a smooth surface, few enough to be quick."""
SAMPLES = 7
"""At most so many pixels along each side of a cell are looked at for its median."""
_MOST_ALONG = 1000
_REMEMBERED = 8


def cell_size(shape: tuple[int, ...]) -> int:
    """Side of a cell [px] in a box of that shape: about CELLS cells, and no row of them so long that matrices grow
    large."""
    return max(2, math.ceil(math.sqrt(shape[0] * shape[1] / CELLS)), math.ceil(max(shape) / _MOST_ALONG))


def cell_levels(part: np.ndarray, good: np.ndarray, size: int) -> np.ndarray:
    """The median of up to 7 x 7 samples of each cell; NaN where fewer than a quarter are inside."""
    rows, columns, beyond = _places(*part.shape, size)
    samples = part.take(rows, axis=0).take(columns, axis=1)
    samples[beyond if good.all() else beyond | ~good.take(rows, axis=0).take(columns, axis=1)] = np.inf
    n = min(size, SAMPLES)
    down, across = len(rows) // n, len(columns) // n
    samples = np.sort(samples.reshape(down, n, across, n).transpose(0, 2, 1, 3).reshape(down, across, n * n), axis=2)
    count = np.einsum("ijk->ij", np.isfinite(samples).view(np.uint8), dtype=np.intp)
    low, high = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, n * n - 1)
    at_low, at_high = (np.take_along_axis(samples, at[..., None], 2)[..., 0].astype(float) for at in (low, high))
    with np.errstate(invalid="ignore"):
        level = np.where(count >= max(1, n * n // 4), 0.5 * (at_low + at_high), np.nan)
    if not np.isfinite(level).any():
        level = np.where(count > 0, at_low, np.nan)
    return level


@lru_cache(maxsize=_REMEMBERED)
def _places(height: int, width: int, size: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Rows and columns of the samples of all cells, and which samples, (rows, columns), lie beyond the picture, where
    the last row and column stand for them."""
    offsets = np.linspace(0, size - 1, min(size, SAMPLES)).round().astype(int)
    rows, columns = ((np.arange(0, side, size)[:, None] + offsets).ravel() for side in (height, width))
    beyond = (rows >= height)[:, None] | (columns >= width)
    return _kept(np.minimum(rows, height - 1)), _kept(np.minimum(columns, width - 1)), _kept(beyond)


def centres(cells: int, size: int) -> np.ndarray:
    """Places of the centres of a row of cells [px]."""
    result: np.ndarray = np.arange(cells) * size + (size - 1) / 2
    return result


@lru_cache(maxsize=_REMEMBERED)
def weights_of(cells: int, size: int, length: int) -> np.ndarray:
    """What each cell counts for each pixel of a line, (length, cells); pictures of one size share it."""
    at = [np.interp(np.arange(length), centres(cells, size), row) for row in np.eye(cells)]
    return _kept(np.stack(at, axis=1).astype(np.float32))


@lru_cache(maxsize=_REMEMBERED)
def powers_of(length: int) -> np.ndarray:
    """Powers 0, 1 and 2 of the places along a side, (length, 3), from -1 at one end to 1 at the other."""
    place = 2 * (np.arange(length) + 0.5) / length - 1
    return _kept(np.stack([place**0, place, place * place], axis=1).astype(np.float32))


@lru_cache(maxsize=_REMEMBERED)
def blur_of(length: int, width: float) -> np.ndarray:
    """Matrix that takes a line of that length to its Gaussian mean, nothing beyond its ends, (length, length)."""
    reach = int(4.0 * width + 0.5)
    kernel = np.exp(-0.5 * np.square(np.arange(-reach, reach + 1) / width))
    apart = np.arange(length)[:, None] - np.arange(length) + reach
    near = (apart >= 0) & (apart <= 2 * reach)
    return _kept(np.where(near, (kernel / kernel.sum())[np.clip(apart, 0, 2 * reach)], 0.0))


def with_neighbours(mask: np.ndarray) -> np.ndarray:
    """The mask widened by one cell all round."""
    wide = framed(mask, 1)
    rows = wide[:-2] | wide[1:-1] | wide[2:]
    result: np.ndarray = rows[:, :-2] | rows[:, 1:-1] | rows[:, 2:]
    return result


def cell_means(residual: np.ndarray, good: np.ndarray, size: int) -> tuple[np.ndarray, np.ndarray]:
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


def _kept(matrix: np.ndarray) -> np.ndarray:
    """The same, never to be changed, as it is shared."""
    matrix.flags.writeable = False
    return matrix
