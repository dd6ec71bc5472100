"""Columns of a picture that lean a little: their pixels one below the other, and what they show."""

from __future__ import annotations

import numpy as np

SLANTS = np.tan(np.radians(np.arange(-8.0, 8.1, 2.0)))
_ROWS = 24
"""About so many groups of rows are enough to see which way lines lean."""


def rows_together(residual: np.ndarray, inside: np.ndarray, turned: bool) -> tuple[np.ndarray, np.ndarray, int]:
    """(means of a few rows each, which of them are mostly inside, how many rows make one); with `turned` of columns.

    residual (height, width), 0 where not `inside`. A leaning line moves by about a pixel over so few rows, and all slants are tried in the time of one on all rows.
    """
    together = max(1, residual.shape[turned] // _ROWS)
    count = residual.shape[turned] // together
    used = (slice(None), slice(count * together)) if turned else (slice(count * together), slice(None))
    shape = (-1, count, together) if turned else (count, together, -1)
    summed = "ijk->ij" if turned else "ijk->ik"
    if inside.all():
        known = np.full((1, 1), together, np.int32)
    else:
        known = np.einsum(summed, inside[used].view(np.uint8).reshape(shape), dtype=np.int32)
    means = np.einsum(summed, residual[used].reshape(shape)) / np.maximum(known, 1).astype(np.float32)
    mostly = 2 * known > together
    if turned:
        means, mostly = means.T, mostly.T
    return means, np.broadcast_to(mostly, means.shape), together


def none_beyond(pixels: np.ndarray, most: float) -> bool:
    """Whether no level at any slant lies above `most` or below -`most`: fewer than half of its pixels do, 127 at most.

    To count them takes a tenth of the time that it takes to sort them.
    """
    marks = (np.isfinite(pixels), pixels > most, pixels < -most)
    counts, above, below = (np.add.reduce(one.view(np.uint8), axis=1, dtype=np.uint8) for one in marks)
    return not (_known(counts, pixels.shape[1]) & (2 * np.maximum(above, below) >= counts)).any()


def sharpest(levels: np.ndarray) -> tuple[float, np.ndarray]:
    """The slant at which neighbouring columns differ most, and their levels, of those at all slants."""
    best = int(np.nansum(np.square(np.diff(levels, axis=1)), axis=1).argmax())
    return float(SLANTS[best]), levels[best]


def _shifts(height: int, slants: np.ndarray) -> np.ndarray:
    """By how many columns each row of a leaning line lies off its place at mid height, (slants, height)."""
    result: np.ndarray = np.rint(slants[:, None] * (np.arange(height) - (height - 1) / 2)).astype(np.intp)
    return result


def columns_of(shape: tuple[int, ...], slant: float) -> np.ndarray:
    """For each pixel the column its leaning line crosses at mid height, kept within the picture."""
    height, width = shape
    result: np.ndarray = np.clip(np.arange(width) - _shifts(height, np.array([slant]))[0, :, None], 0, width - 1)
    return result


def leaning(residual: np.ndarray, inside: np.ndarray, slants: np.ndarray) -> np.ndarray:
    """Rows moved so that a column leaning by each slant stands upright, (slants, height, width); NaN outside."""
    height, width = residual.shape
    shifts = _shifts(height, slants)
    reach = int(np.abs(shifts).max(initial=0))
    wide = np.full((height, width + 2 * reach), np.nan, residual.dtype)
    np.copyto(wide[:, reach : reach + width], residual, where=inside)
    windows = np.lib.stride_tricks.sliding_window_view(wide, width, axis=1)
    result: np.ndarray = windows[np.arange(height), shifts + reach]
    return result


def levels_of(pixels: np.ndarray) -> np.ndarray:
    """Median of each leaning column, (slants, width), of `leaning` pixels; NaN where fewer than half as many are known
    as in the fullest one."""
    ordered = np.sort(pixels, axis=1)
    counts = np.count_nonzero(np.isfinite(ordered), axis=1)
    low, high = np.maximum(counts - 1, 0) // 2, counts // 2 * (counts > 1)
    middle = 0.5 * sum(np.take_along_axis(ordered, at[:, None], 1)[:, 0].astype(float) for at in (low, high))
    result: np.ndarray = np.where(_known(counts, pixels.shape[1]), middle, np.nan)
    return result


def _known(counts: np.ndarray, height: int) -> np.ndarray:
    """Which leaning columns, (slants, width), have half as many pixels inside as the fullest, and some."""
    result: np.ndarray = counts >= np.maximum(0.5 * counts.max(axis=1, keepdims=True), max(min(8, height // 2), 1))
    return result
