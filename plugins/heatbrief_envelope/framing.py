"""Studs and joists: parallel lines, alike in strength and evenly spaced, as an insulated frame is expected to show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

LEAST_LINES = 3
WIDEST_M = 0.13
"""Widest member with the blur of the lining on both sides (common practice: members are 38 to 90 mm)."""
SPACING_M = (0.25, 0.85)
"""Clear range around the usual spacings of 0.40, 0.41, 0.48, 0.60 and 0.61 m (common practice)."""
ALIKE, FAINTEST = 0.6, 0.2
_ANGLES = np.tan(np.radians(np.arange(-8.0, 8.1, 2.0)))
_SEED = 4.0
_STEP = 0.12


@dataclass(frozen=True)
class Framing:
    """Regular lines of a region.

    expected    what they add to the smooth field, (height, width) in the unit of the picture; 0 where there are none
    lines       number of lines; contrast: their median strength; spacing [px]; runs "down" or "across" the picture
    """

    expected: np.ndarray
    lines: int
    contrast: float
    spacing: float
    runs: str


def framing_of(residual: np.ndarray, inside: np.ndarray, noise: float, pixel_m: float | None) -> Framing | None:
    """The regular lines in what is left of a picture after its smooth field, or None.

    residual (height, width), finite where `inside`; noise is the standard deviation of one pixel; pixel_m its side [m]
    or None. Lines must be LEAST_LINES or more (two when they are a usual spacing apart), at distances that are
    multiples of one spacing, of one sign and alike in strength; anything stronger or out of step is left out.
    """
    found = [
        one
        for one in (
            _along(residual, inside, noise, pixel_m, "down"),
            _along(residual.T, inside.T, noise, pixel_m, "across"),
        )
        if one
    ]
    if not found:
        return None
    best = max(found, key=lambda one: (one.lines, abs(one.contrast)))
    return best if best.runs == "down" else Framing(best.expected.T, best.lines, best.contrast, best.spacing, "across")


def _along(residual: np.ndarray, inside: np.ndarray, noise: float, pixel_m: float | None, runs: str) -> Framing | None:
    """Lines that run down the array, upright or leaning a little."""
    slant = max(_ANGLES, key=lambda one: _sharpness(_profile(residual, inside, one)))
    profile = _profile(residual, inside, slant)
    widest = max(3.0, WIDEST_M / pixel_m) if pixel_m else max(3.0, 0.06 * profile.size)
    peaks = _peaks(profile, noise, widest)
    for sign in (1, -1):
        own = [peak for peak in peaks if peak[1] * sign > 0]
        highest = max((abs(height) for _, height in own), default=0.0)
        chosen = _regular([peak for peak in own if abs(peak[1]) >= FAINTEST * highest], pixel_m)
        if chosen:
            return _framing(residual.shape, profile, chosen, slant, widest, runs)
    return None


def _columns(shape: tuple[int, ...], slant: float) -> np.ndarray:
    """For each pixel the column its leaning line crosses at mid height, kept within the picture."""
    height, width = shape
    y, x = np.mgrid[0:height, 0:width]
    result: np.ndarray = np.clip(np.rint(x - slant * (y - (height - 1) / 2)), 0, width - 1).astype(int)
    return result


def _profile(residual: np.ndarray, inside: np.ndarray, slant: float) -> np.ndarray:
    """Median of each (leaning) column, less a running median over the columns; 0 where fewer than half of the rows are
    inside."""
    width = residual.shape[1]
    column = _columns(residual.shape, slant)
    order = np.argsort(column[inside], kind="stable")
    groups, values = column[inside][order], residual[inside][order]
    starts = np.searchsorted(groups, np.arange(width + 1))
    counts = np.diff(starts)
    least = max(8, 0.5 * np.max(counts, initial=0))
    profile = np.array([np.median(values[a:b]) if b - a >= least else np.nan for a, b in pairwise(starts)])
    known = np.isfinite(profile)
    if known.sum() < 9:
        return np.zeros(width)
    filled = np.interp(np.arange(width), np.flatnonzero(known), profile[known])
    base = np.array([np.median(filled[max(0, i - width // 6) : i + width // 6 + 1]) for i in range(width)])
    return np.where(known, filled - base, 0.0)


def _sharpness(profile: np.ndarray) -> float:
    return float(np.square(np.diff(profile)).sum())


def _peaks(profile: np.ndarray, noise: float, widest: float) -> list[tuple[float, float]]:
    """(column, height) of narrow peaks either way: above _SEED times the scatter of the profile and above the noise of
    one pixel."""
    from heatbrief.physics.robust import mad_sigma

    found = []
    strong = np.abs(profile) > max(_SEED * float(mad_sigma(np.diff(profile))) / math.sqrt(2.0), noise)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], strong.astype(int), [0]])))
    for start, stop in zip(edges[::2], edges[1::2], strict=True):
        part = profile[start:stop]
        top = int(np.abs(part).argmax())
        wide = int((np.abs(part) > 0.5 * abs(part[top])).sum())
        if wide <= widest:
            weight = np.abs(part)
            found.append((float((np.arange(start, stop) * weight).sum() / weight.sum()), float(part[top])))
    return found


def _regular(peaks: list[tuple[float, float]], pixel_m: float | None) -> list[tuple[float, float]]:
    """The peaks that stand in step with one spacing and are alike in strength; empty when they are too few."""
    if len(peaks) < 2:
        return []
    usual = float(np.median([height for _, height in peaks]))
    alike = [peak for peak in peaks if abs(peak[1] - usual) <= ALIKE * abs(usual)]
    places = np.array([place for place, _ in alike])
    best: list[tuple[float, float]] = []
    for first in range(len(alike)):
        for second in range(first + 1, len(alike)):
            spacing = places[second] - places[first]
            if pixel_m is not None and not SPACING_M[0] <= spacing * pixel_m <= SPACING_M[1]:
                continue
            fitting = _in_step(alike, places, first, spacing)
            if len(fitting) > len(best):
                best = fitting
    enough = len(best) >= LEAST_LINES or (len(best) == 2 and pixel_m is not None)
    return best if enough else []


def _in_step(
    peaks: list[tuple[float, float]], places: np.ndarray, first: int, spacing: float
) -> list[tuple[float, float]]:
    """The strongest peak at each whole number of spacings from the first."""
    steps = (places - places[first]) / spacing
    at: dict[int, tuple[float, float]] = {}
    for peak, step in zip(peaks, steps, strict=True):
        near = round(float(step))
        if abs(step - near) <= _STEP and abs(peak[1]) > abs(at.get(near, (0.0, 0.0))[1]):
            at[near] = peak
    return [at[step] for step in sorted(at)]


def _framing(
    shape: tuple[int, ...],
    profile: np.ndarray,
    chosen: list[tuple[float, float]],
    slant: float,
    widest: float,
    runs: str,
) -> Framing:
    near = np.zeros(profile.size, bool)
    for place, _ in chosen:
        near[max(0, int(place - widest)) : int(place + widest) + 1] = True
    kept = np.where(near, profile, 0.0)
    places = [place for place, _ in chosen]
    return Framing(
        kept[_columns(shape, slant)],
        len(chosen),
        float(np.median([height for _, height in chosen])),
        float(np.min(np.diff(places))),
        runs,
    )
