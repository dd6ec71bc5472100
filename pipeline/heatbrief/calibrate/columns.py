"""Stripes of the detector's columns and rows in raw counts: found, told from real edges, removed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from heatbrief.model.thermogram import ErrorSource, Picture
from heatbrief.physics.robust import mad_sigma

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


@dataclass(frozen=True)
class Stripes:
    """offsets to subtract, (width,), 0 where kept for the scene's sake; their usual size; standard error that stays."""

    offsets: np.ndarray
    size: float
    standard: float


def stripes_of(values: np.ndarray) -> Stripes | None:
    """The stripes of the columns of counts (height, width), or None when there are none that stand out of the noise.

    Each column is compared with the median of its neighbourhood, in bands of rows; the median over the bands is its
    offset. Columns whose bands disagree, that stand out far, or that lie on a step of the picture's own level are left.
    """
    height, width = values.shape
    if height < 4 * BANDS or width < 4 * _WINDOW:
        return None
    lines, together = _lines(values)
    offsets, error, noise = np.zeros(width), np.zeros(width), 0.0
    for turn in range(_ROUNDS):
        found, error, rest_noise = _offsets(lines - offsets)
        noise = noise if turn else rest_noise * np.sqrt(together)
        offsets = offsets + found
    estimate, size = float(np.median(error)), mad_sigma(offsets)
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


def _lines(values: np.ndarray) -> tuple[np.ndarray, int]:
    """About _LINES lines, each the mean of so many rows: stripes stay, noise falls, and the rest is quick."""
    together = max(1, values.shape[0] // _LINES)
    used = np.asarray(values[: values.shape[0] // together * together], np.float32)
    if not np.isfinite(used).all():
        used = np.where(np.isfinite(used), used, np.nanmedian(used))
    return used.reshape(-1, together, used.shape[1]).mean(axis=1), together


def _offsets(lines: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """(offset, its standard error) of each column, (width,), and the noise of one value."""
    from scipy.ndimage import median_filter

    rest = lines - median_filter(lines, size=(1, _WINDOW), mode="mirror")
    noise = mad_sigma(rest)
    rest = np.clip(rest, -3.0 * noise, 3.0 * noise)
    bands = np.stack([part.mean(axis=0) for part in np.array_split(rest, BANDS)])
    offset = np.median(bands, axis=0)
    spread = 1.4826 * np.median(np.abs(bands - offset), axis=0)
    return offset, np.sqrt(np.pi / 2.0) * spread / np.sqrt(BANDS), noise


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
        found = stripes_of(values.T if turned else values)
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
