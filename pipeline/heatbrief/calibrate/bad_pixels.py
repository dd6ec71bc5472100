"""Single pixels of raw counts that stand out alone. Small real targets are blurred by the lens and are kept."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from heatbrief.physics.robust import mad_sigma

MOST_SHARE = 0.01
"""More than this share of suspects is a pattern of the scene, not of the detector; then nothing is replaced."""
LEAST_BLUR = 0.06
"""A point target seen through any lens raises its four neighbours by more than this part of its own excess: 0.13 for a
blur of 0.4 pixels, 0.23 for 0.5 (Gaussian blur times a full pixel; computed)."""
_RING = np.array([(-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1), (1, -1), (1, 0), (1, 1)])
_CROSS = np.array([(-1, 0), (0, -1), (0, 1), (1, 0)])
_WIDE = np.array([(y, x) for y in range(-2, 3) for x in range(-2, 3) if max(abs(y), abs(x)) == 2])
_SAMPLE_LINES = 64
_BAND = 4_000_000
"""So many pixels are looked at together, so that a large picture does not take memory for all of them at once."""
_MOST_NEIGHBOUR = 0.3


def find_bad_pixels(counts: np.ndarray, limit: float) -> np.ndarray:
    """Places (n, 2) as (row, column) of bad pixels in whole counts (height, width); `limit` in robust deviations."""
    none = np.empty((0, 2), np.intp)
    if min(counts.shape) < 5:
        return none
    threshold = limit * max(_noise(counts), 1.0)
    suspects = np.concatenate(list(_peaks(counts, (1.0 - _MOST_NEIGHBOUR) * threshold)))
    if not suspects.size or len(suspects) > MOST_SHARE * counts.size:
        return none
    result: np.ndarray = suspects[_alone(counts, suspects, threshold)]
    return result


def _peaks(counts: np.ndarray, by: float) -> Iterator[np.ndarray]:
    """Places of peaks, row after row, some rows at a time with those beside them."""
    rows = max(1, _BAND // counts.shape[1])
    for first in range(0, counts.shape[0], rows):
        top = max(first - 1, 0)
        found = _peaks_in(counts[top : first + rows + 1], by)
        found[:, 0] += top
        yield found[(found[:, 0] >= first) & (found[:, 0] < first + rows)]


def _peaks_in(counts: np.ndarray, by: float) -> np.ndarray:
    """Places that lie above or below all four neighbours by more than `by`; all that stand alone are among them.

    Only pixels that lie so far from the next one in reading order, or the one before, are looked at.
    """
    line = _unsigned(np.ascontiguousarray(counts)).ravel()
    limit = min(max(math.floor(by), 0), np.iinfo(line.dtype).max)
    steps = np.maximum(line[1:], line[:-1])
    steps -= np.minimum(line[1:], line[:-1])
    far = np.flatnonzero(steps > limit)
    at = np.union1d(far, far + 1)
    own, beside = line[at], [line[one] for one in _beside(at, *counts.shape)]
    highest, lowest = np.maximum.reduce(beside), np.minimum.reduce(beside)
    # What lies between its neighbours is moved onto them, so that no difference of unsigned numbers falls below zero.
    over = np.maximum(np.maximum(own, highest) - highest, lowest - np.minimum(own, lowest))
    return np.stack(np.divmod(at[over > limit], counts.shape[1]), axis=1)


def _beside(at: np.ndarray, height: int, width: int) -> Iterator[np.ndarray]:
    """Places in reading order of the four neighbours, mirrored at the edges."""
    row, column = np.divmod(at, width)
    yield np.where(row, at - width, at + width)
    yield np.where(row < height - 1, at + width, at - width)
    yield np.where(column, at - 1, at + 1)
    yield np.where(column < width - 1, at + 1, at - 1)


def _unsigned(counts: np.ndarray) -> np.ndarray:
    """The same counts, moved up where they may be negative, so that differences fit into their own kind of number."""
    if counts.dtype.kind == "u":
        return counts
    unsigned = np.dtype(f"u{counts.dtype.itemsize}")
    result: np.ndarray = counts.view(unsigned) ^ unsigned.type(1 << (8 * counts.dtype.itemsize - 1))
    return result


def _noise(counts: np.ndarray) -> float:
    """Noise of a pixel in counts, from differences of neighbours; edges of the scene are few and do not count."""
    lines = counts[:: max(1, counts.shape[0] // _SAMPLE_LINES)].astype(np.float32)
    columns = np.ascontiguousarray(counts[:, :: max(1, counts.shape[1] // _SAMPLE_LINES)], np.float32)
    return float(max(mad_sigma(np.diff(lines, axis=1)), mad_sigma(np.diff(columns, axis=0))) / np.sqrt(2.0))


def _alone(counts: np.ndarray, places: np.ndarray, threshold: float) -> np.ndarray:
    """Whether each suspect stands alone: its neighbours agree with the ring around them."""
    around = np.median(_at(counts, places, _WIDE), axis=1)
    own = counts[tuple(places.T)].astype(np.float64) - around
    sign = np.where(own >= 0.0, 1.0, -1.0)
    ring = (_at(counts, places, _RING) - around[:, None]) * sign[:, None]
    cross = (_at(counts, places, _CROSS) - around[:, None]) * sign[:, None]
    own = np.abs(own)
    result: np.ndarray = (
        (own > threshold) & (cross.mean(axis=1) < LEAST_BLUR * own) & (ring.max(axis=1) < _MOST_NEIGHBOUR * own)
    )
    return result


def _at(counts: np.ndarray, places: np.ndarray, offsets: np.ndarray) -> np.ndarray:
    """Values at offsets from places, (n, k); positions outside are mirrored at the edge."""
    height, width = counts.shape
    rows, columns = (places[:, None, axis] + offsets[None, :, axis] for axis in (0, 1))
    rows = (height - 1) - np.abs((height - 1) - np.abs(rows))
    columns = (width - 1) - np.abs((width - 1) - np.abs(columns))
    result: np.ndarray = counts[rows, columns].astype(np.float64)
    return result


def replaced(counts: np.ndarray, places: np.ndarray) -> np.ndarray:
    """A copy with the bad pixels set to the median of their good neighbours, rounded to whole counts."""
    if not len(places):
        return counts
    bad = np.zeros(counts.shape, bool)
    bad[tuple(places.T)] = True
    around = np.where(_at(bad, places, _RING) > 0.0, np.nan, _at(counts, places, _RING))
    usable = np.isfinite(around).any(axis=1)
    repaired = counts.copy()
    repaired[tuple(places[usable].T)] = np.rint(np.nanmedian(around[usable], axis=1)).astype(counts.dtype)
    return repaired
