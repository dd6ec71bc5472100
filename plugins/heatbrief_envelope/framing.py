"""Studs and joists: parallel lines, alike in strength and evenly spaced, as an insulated frame is expected to show."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from heatbrief.physics.robust import mad_sigma, median_of_rows

from heatbrief_envelope.leaning import SLANTS, columns_of, leaning, levels_of, none_beyond, rows_together, sharpest

LEAST_LINES = 3
WIDEST_M = 0.13
"""Widest member with the blur of the lining on both sides (common practice: members are 38 to 90 mm)."""
SPACING_M = (0.25, 0.85)
"""Clear range around the usual spacings of 0.40, 0.41, 0.48, 0.60 and 0.61 m (common practice)."""
ALIKE, FAINTEST = 0.6, 0.2
_SEED = 4.0
_STEP = 0.12
_ROUGHLY = 0.5
"""When no group of rows shows even this part of the noise of a pixel, the full profile shows no line either."""


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

    residual (height, width), 0 where not `inside`; noise is the standard deviation of one pixel; pixel_m its side [m]
    or None. Lines must be LEAST_LINES or more (two when they are a usual spacing apart), at distances that are
    multiples of one spacing, of one sign and alike in strength; anything stronger or out of step is left out.
    """
    found = [
        one
        for turned, runs in ((False, "down"), (True, "across"))
        if (one := _along(residual, inside, noise, pixel_m, runs, turned))
    ]
    if not found:
        return None
    best = max(found, key=lambda one: (one.lines, abs(one.contrast)))
    return best if best.runs == "down" else Framing(best.expected.T, best.lines, best.contrast, best.spacing, "across")


def _along(
    residual: np.ndarray, inside: np.ndarray, noise: float, pixel_m: float | None, runs: str, turned: bool
) -> Framing | None:
    """Lines that run down the array, upright or leaning a little; with `turned`, across it."""
    means, mostly, together = rows_together(residual, inside, turned)
    pixels = leaning(means, mostly, SLANTS * together)
    if none_beyond(pixels, 0.5 * _ROUGHLY * noise):
        return None
    slant, rough = sharpest(levels_of(pixels))
    # No level is farther from the median of those around it than twice the largest, which spares most of the medians.
    if 2.0 * np.nanmax(np.abs(rough), initial=0.0) <= _ROUGHLY * noise:
        return None
    if np.abs(_over_base(rough)).max(initial=0.0) <= _ROUGHLY * noise:
        return None
    if turned:
        residual, inside = residual.T, inside.T
    profile = _over_base(levels_of(leaning(residual, inside, np.array([slant])))[0])
    widest = max(3.0, WIDEST_M / pixel_m) if pixel_m else max(3.0, 0.06 * profile.size)
    peaks = _peaks(profile, noise, widest)
    for sign in (1, -1):
        own = [peak for peak in peaks if peak[1] * sign > 0]
        highest = max((abs(height) for _, height in own), default=0.0)
        chosen = _regular([peak for peak in own if abs(peak[1]) >= FAINTEST * highest], pixel_m)
        if chosen:
            return _framing(residual.shape, profile, chosen, slant, widest, runs)
    return None


def _over_base(levels: np.ndarray) -> np.ndarray:
    """Levels of columns less their running median, which is cut off at the ends; 0 where they are not known."""
    known, width = np.isfinite(levels), levels.size
    if known.sum() < 9:
        return np.zeros(width)
    filled = np.interp(np.arange(width), np.flatnonzero(known), levels[known])
    half = width // 6
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(filled, half, constant_values=np.nan), 2 * half + 1)
    return np.where(known, filled - median_of_rows(windows), 0.0)


def _peaks(profile: np.ndarray, noise: float, widest: float) -> list[tuple[float, float]]:
    """(column, height) of narrow peaks either way: above _SEED times the scatter of the profile and above the noise of
    one pixel."""
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
        kept[columns_of(shape, slant)],
        len(chosen),
        float(np.median([height for _, height in chosen])),
        float(np.min(np.diff(places))),
        runs,
    )
