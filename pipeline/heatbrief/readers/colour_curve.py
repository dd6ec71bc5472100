"""The colours along a colour bar as a curve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heatbrief.errors import StepError

LEAST_LENGTH = 16
LEAST_RANGE = 24.0
"""Levels of 255 that the bar must span; less is one colour with damage."""
APART = 0.1
"""Share of the bar beyond which two equal colours make it ambiguous."""
MOST_SAMPLES, GAP = 512, 1.5


@dataclass(frozen=True)
class Curve:
    """colours (m, 3) from the cold to the warm end, at `share` (m,) 0 to 1 of the way.

    steps   levels that the bar tells apart; spread how much colours differ across the bar [levels of 255]
    loose   standard uncertainty of a place on the bar, as a share of it
    """

    colours: np.ndarray
    share: np.ndarray
    steps: int
    spread: float
    loose: float


def sample_bar(strip: np.ndarray, lossy: bool) -> Curve:
    """The curve of a bar. `strip` is (length, width, 3), the cold end first.

    StepError "colour-bar-short", "colour-bar-constant" or "colour-bar-ambiguous".
    """
    line, spread = _across(strip.astype(np.float64))
    line = _without_frame(line)
    if len(line) < LEAST_LENGTH:
        raise StepError(
            "colour-bar-short",
            f"the colour bar is {len(line)} pixels long; at least {LEAST_LENGTH} are needed",
            "Check `box`: [left, top, width, height] of the bar in pixels of the file.",
        )
    length = len(line)
    if lossy or spread > 0.5:
        from scipy.signal import savgol_filter

        line = savgol_filter(line, 7, 2, axis=0, mode="interp")
    if float(np.ptp(line, axis=0).max()) < LEAST_RANGE:
        raise StepError(
            "colour-bar-constant",
            "the colour bar has one colour all along",
            "Check `box` and `runs`: the bar must change colour from its cold to its warm end.",
        )
    colours, share, run = _runs(line)
    _refuse_ambiguous(colours, share, 3.0 + 2.0 * spread + (3.0 if lossy else 0.0))
    steps = len(colours) - 1 if run >= 2.0 else 255
    if len(colours) > MOST_SAMPLES:
        kept = np.unique(np.linspace(0, len(colours) - 1, MOST_SAMPLES).astype(int))
        colours, share = colours[kept], share[kept]
    colours, share = _filled(colours, share)
    return Curve(colours, share, min(steps, 255), spread, 0.5 / length / 3.0**0.5)


def _across(strip: np.ndarray) -> tuple[np.ndarray, float]:
    """Colour of each place along the bar, from the middle of its width, and the spread around it there."""
    width = strip.shape[1]
    trim = width // 4
    middle = strip[:, trim : width - trim]
    line = np.median(middle, axis=1)
    off = np.abs(middle - line[:, None])
    near = np.where(off <= 8.0, middle, line[:, None])
    return near.mean(axis=1), float(np.sqrt(np.mean(np.minimum(off, 8.0) ** 2)))


def _without_frame(line: np.ndarray) -> np.ndarray:
    """Without lines at either end that belong to a frame: a jump far beyond any step inside the bar."""
    if len(line) < LEAST_LENGTH:
        return line
    step = np.abs(np.diff(line, axis=0)).max(axis=1)
    edge = max(3, len(line) // 25)
    limit = 3.0 * float(step[edge:-edge].max()) + 12.0
    jumps = np.flatnonzero(step > limit)
    first = max((at + 1 for at in jumps if at < edge), default=0)
    last = min((at + 1 for at in jumps if at >= len(step) - edge), default=len(line))
    return line[first:last]


def _runs(line: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """Distinct neighbouring colours, the place of each as a share, and how many pixels a colour lasts.

    A colour at an end that lasts shorter than the others is the outer half of its own: its place is the end itself.
    """
    starts = np.flatnonzero(np.r_[True, np.any(line[1:] != line[:-1], axis=1)])
    lengths = np.diff(np.r_[starts, len(line)])
    place = starts + (lengths - 1) / 2.0
    if len(place) < 2:
        return line[starts], np.zeros(len(place)), float(lengths[0])
    usual = float(np.median(lengths))
    if lengths.max() > max(APART * len(line), 2.5 * usual):
        longest = int(np.argmax(lengths))
        raise _ambiguous(starts[longest] / len(line), (starts[longest] + lengths[longest]) / len(line))
    place[0] = 0.0 if lengths[0] < 0.75 * usual else place[0]
    place[-1] = len(line) - 1.0 if lengths[-1] < 0.75 * usual else place[-1]
    first = min(place[0], (usual - 1.0) / 2.0)
    last = max(place[-1], len(line) - 1.0 - (usual - 1.0) / 2.0)
    return line[starts], (place - first) / (last - first), float(lengths.mean())


def _ambiguous(first: float, second: float) -> StepError:
    return StepError(
        "colour-bar-ambiguous",
        f"the colour bar has one colour in two places, {100 * first:.0f} % and {100 * second:.0f} % of the way",
        "Temperatures cannot be read from such colours; export the picture with another set of colours.",
    )


def _filled(colours: np.ndarray, share: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """With places between the samples, about `GAP` levels apart and the old ones kept, so that none is overlooked."""
    gaps = np.sqrt((np.diff(colours, axis=0) ** 2).sum(axis=1))
    gap = max(GAP, float(gaps.sum()) / (MOST_SAMPLES - len(gaps) / 2.0))
    parts = np.maximum(1, np.ceil(gaps / gap)).astype(int)
    first = np.repeat(np.arange(len(gaps)), parts)
    part = (np.arange(len(first)) - np.repeat(np.cumsum(parts) - parts, parts)) / np.repeat(parts, parts)
    at = np.r_[first + part, len(gaps)]
    old = np.arange(len(colours))
    return np.stack([np.interp(at, old, colours[:, one]) for one in range(3)], axis=-1), np.interp(at, old, share)


def _refuse_ambiguous(colours: np.ndarray, share: np.ndarray, tolerance: float) -> None:
    kept = np.unique(np.linspace(0, len(colours) - 1, min(len(colours), MOST_SAMPLES)).astype(int))
    some, at = colours[kept], share[kept]
    squared = ((some[:, None, :] - some[None, :, :]) ** 2).sum(axis=-1)
    bad = np.argwhere((squared < tolerance**2) & (at[None, :] - at[:, None] > APART))
    if len(bad):
        raise _ambiguous(at[bad[0][0]], at[bad[0][1]])
