"""Stripes of the detector's columns and rows in raw counts: found, told from real edges, removed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from heatbrief.model.thermogram import ErrorSource, Picture
from heatbrief.physics.robust import mad_sigma, median_of

BANDS = 8
"""Parts of a column that must agree: a stripe of the detector runs all the way, most edges of a scene do not."""
SIGNIFICANT = 3.0
"""A pattern counts when it is this many times the error of its estimate ..."""
LEAST_SHARE = 0.1
"""... and at least this share of the noise of one pixel; less is not worth touching the picture for."""
OUTSTANDING = 4.0
"""An offset this many times the usual one is a thing in the scene, and is kept."""
MOST_PROTECTED = 0.5
IDENTITY = "rows and columns"
_WINDOW, _ROUNDS, _LINES = 9, 3, 32
_HOPELESS = 0.5
"""A pattern of less than this part of what counts does not come to count in later rounds, which only refine it."""


@dataclass(frozen=True)
class Stripes:
    """offsets to subtract, (width,), 0 where kept for the scene's sake; their usual size; standard error that stays."""

    offsets: np.ndarray
    size: float
    standard: float


def stripes_of(values: np.ndarray, axis: int = 0) -> Stripes | None:
    """The stripes of the columns of counts (height, width), or None when there are none that stand out of the noise.

    axis  0 for stripes of the columns, 1 for those of the rows, which are then meant wherever this speaks of columns

    Each column is compared with the median of its neighbourhood, in bands of rows; the median over the bands is its
    offset. Columns whose bands disagree, that stand out far, or that lie on a step of the picture's own level are left.
    """
    height, width = values.shape[axis], values.shape[1 - axis]
    if height < 4 * BANDS or width < 4 * _WINDOW:
        return None
    lines, together = _lines(values, axis)
    offsets, error, noise = np.zeros(width, np.float32), np.zeros(width, np.float32), 0.0
    for turn in range(_ROUNDS):
        found, error, rest_noise = _offsets(lines - offsets)
        noise = noise if turn else rest_noise * math.sqrt(together)
        offsets = offsets + found
        estimate, size = median_of(error), mad_sigma(offsets)
        if size <= _HOPELESS * max(SIGNIFICANT * estimate, LEAST_SHARE * noise):
            return None
    if size <= SIGNIFICANT * estimate or size <= LEAST_SHARE * noise:
        return None
    scene = (np.abs(offsets) > OUTSTANDING * size) | (error > OUTSTANDING * estimate) | _on_edge(lines - offsets, size)
    if scene.mean() > MOST_PROTECTED:
        return None
    kept = np.where(scene, 0.0, offsets)
    left, _, _ = _offsets(lines - kept)
    # The neighbourhood that a column is compared with carries stripes of its own, which do not show in the comparison.
    unseen = size / np.sqrt(_WINDOW)
    return Stripes(
        kept - kept[~scene].mean() * ~scene,
        size,
        float(np.sqrt(estimate**2 + mad_sigma(left[~scene]) ** 2 + unseen**2)),
    )


def _lines(values: np.ndarray, axis: int) -> tuple[np.ndarray, int]:
    """About _LINES lines, each the mean of so many rows: stripes stay, noise falls, and the rest is quick."""
    together = max(1, values.shape[axis] // _LINES)
    count = values.shape[axis] // together
    used = values[: count * together] if axis == 0 else values[:, : count * together]
    used = np.asarray(used, np.float32)
    if values.dtype.kind == "f" and not np.isfinite(used).all():
        used = np.where(np.isfinite(used), used, np.nanmedian(used))
    if axis == 0:
        lines = used.reshape(count, together, -1).mean(axis=1)
    else:
        lines = np.ascontiguousarray(
            (used.reshape(-1, together) @ np.full(together, 1.0 / together, np.float32)).reshape(-1, count).T
        )
    return lines, together


def _offsets(lines: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """(offset, its standard error) of each column, (width,), and the noise of one value."""
    rest = lines - _running_median(lines)
    noise = mad_sigma(rest)
    np.clip(rest, -3.0 * noise, 3.0 * noise, out=rest)
    bands = _bands(rest)
    offset = _middle(bands)
    spread = 1.4826 * _middle(np.abs(bands - offset))
    return offset, math.sqrt(math.pi / 2.0) * spread / math.sqrt(BANDS), noise


def _bands(lines: np.ndarray) -> np.ndarray:
    """Means of each BANDS-th part of the lines, the first parts longer by one where they do not divide evenly."""
    size, longer = divmod(len(lines), BANDS)
    cut, width = longer * (size + 1), lines.shape[1]
    parts = lines[:cut].reshape(longer, size + 1, width), lines[cut:].reshape(BANDS - longer, size, width)
    return np.concatenate([np.einsum("ijk->ik", part) / np.float32(part.shape[1]) for part in parts])


def _middle(rows: np.ndarray) -> np.ndarray:
    """Median of each column of a few rows."""
    ordered = np.sort(rows, axis=0)
    result: np.ndarray = 0.5 * (ordered[(len(rows) - 1) // 2] + ordered[len(rows) // 2])
    return result


def _running_median(lines: np.ndarray) -> np.ndarray:
    """Median of nine neighbours along each line, mirrored at the ends; all places at once.

    It is the median of three: the highest of the lowest, the middle of the middle and the lowest of the highest of the
    three threes next to each other, which are put in order once for all places (J. L. Smith, "Implementing median
    filters in XC4000E FPGAs", Xcell 23, 1996 [memory]; the tests try it on all cases).
    """
    reach, width = _WINDOW // 2, lines.shape[1]
    wide = np.concatenate([lines[:, reach:0:-1], lines, lines[:, -2 : -2 - reach : -1]], axis=1)
    first, second, third = wide[:, :-2], wide[:, 1:-1], wide[:, 2:]
    less, more = np.minimum(first, second), np.maximum(first, second)
    ordered = np.minimum(less, third), np.maximum(less, np.minimum(more, third)), np.maximum(more, third)
    low, middle, high = ([one[:, at : at + width] for at in (0, 3, 6)] for one in ordered)
    return _middle_of(
        np.maximum(np.maximum(low[0], low[1]), low[2]),
        _middle_of(*middle),
        np.minimum(np.minimum(high[0], high[1]), high[2]),
    )


def _middle_of(first: np.ndarray, second: np.ndarray, third: np.ndarray) -> np.ndarray:
    """Median of three, element by element."""
    less, more = np.minimum(first, second), np.maximum(first, second)
    result: np.ndarray = np.maximum(less, np.minimum(more, third))
    return result


def _on_edge(lines: np.ndarray, size: float) -> np.ndarray:
    """Columns at which the picture's own level steps by more than stripes do, (width,)."""
    profile = np.median(lines, axis=0)
    wide = np.pad(profile, 5, mode="edge")
    count = profile.size
    left = np.mean([wide[at : at + count] for at in range(4)], axis=0)
    right = np.mean([wide[at : at + count] for at in range(7, 11)], axis=0)
    result: np.ndarray = np.abs(right - left) > OUTSTANDING * size
    return result


def without_stripes(picture: Picture) -> tuple[Picture, tuple[str, ...]]:
    """The picture less the stripes of its columns and rows, their remaining error added, and notes."""
    values, variance, notes = picture.values, 0.0, []
    kelvin = 1.0 if picture.kelvin else None if picture.scale is None else abs(picture.scale[0])
    for name, turned in (("columns", False), ("rows", True)):
        found = stripes_of(values, int(turned))
        if found is None:
            continue
        values = np.asarray(values, np.float64) - (found.offsets[:, None] if turned else found.offsets[None, :])
        variance += found.standard**2
        unit = "counts" if kelvin is None else "K"
        size = found.size * (kelvin or 1.0)
        notes.append(
            f"stripes of the detector's {name} removed, typically {size:.2g} {unit}; a straight line one or two "
            f"pixels wide and fainter than {OUTSTANDING * size:.2g} {unit} would go with them"
        )
    if not notes:
        return picture, ()
    errors = tuple(one for one in picture.errors if one.shared != IDENTITY)  # those of a flat field, now replaced
    if kelvin is not None:
        errors = (
            *errors,
            ErrorSource(IDENTITY, IDENTITY, float(np.sqrt(variance)) * kelvin, "K", (293.15,), (1.0,), reach=1.0),
        )
    return replace(picture, values=values, errors=errors), tuple(notes)
