"""Pixels at the ends of the recording range: which they are, and what it means for the numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import cast

import numpy as np

from heatbrief.model.thermogram import Picture, Thermogram

LOW, HIGH = "saturated_low_runs", "saturated_high_runs"
"""Names of the facts of a thermogram that hold the places, as ((first pixel in reading order, how many), ...)."""
LEAST_PILE = 16
PILE = 20.0
"""A recording that ends below its format's limit piles pixels up at one value: at least so many, and so many times as
many as at the levels next to it ..."""
LEAST_NOISE = 2.0
"""... in a picture with this much noise in counts, which a drawn or cleaned picture has not."""
_NEXT_LEVELS = 64


def ends_of(picture: Picture) -> tuple[float | None, float | None]:
    """(floor, ceiling) of the recording: those of the file's format, else where whole counts pile up at an end."""
    floor, ceiling = picture.floor, picture.ceiling
    if picture.kelvin or picture.values.dtype.kind not in "ui" or picture.values.dtype.itemsize < 2:
        return floor, ceiling
    low, high = int(picture.values.min()), int(picture.values.max())
    if high - low < 2 * _NEXT_LEVELS or max(_how_many(picture.values, end) for end in (low, high)) < LEAST_PILE:
        return floor, ceiling
    if _noise(picture.values) < LEAST_NOISE:
        return floor, ceiling
    if (ceiling is None or high < ceiling) and _piled(
        high - picture.values[picture.values >= high - _NEXT_LEVELS].astype(np.int64)
    ):
        ceiling = float(high)
    if (floor is None or low > floor) and _piled(
        picture.values[picture.values <= low + _NEXT_LEVELS].astype(np.int64) - low
    ):
        floor = float(low)
    return floor, ceiling


def _noise(values: np.ndarray) -> float:
    """Usual noise of a pixel in counts; 0 where at least half of the neighbours are equal."""
    steps = np.diff(values[:: max(1, len(values) // 64)].astype(np.int64), axis=1)
    return 1.4826 * float(np.median(np.abs(steps))) / 2.0**0.5 if steps.size else 0.0


def _how_many(values: np.ndarray, level: int) -> int:
    return int(np.count_nonzero(values == level))


def _piled(steps: np.ndarray) -> bool:
    """Whether many more pixels lie at the very end than next to it; `steps` are counts from the end."""
    levels = np.bincount(steps, minlength=_NEXT_LEVELS + 1)
    near = levels[1 : _NEXT_LEVELS + 1]
    return bool(levels[0] >= LEAST_PILE and levels[0] > PILE * near.mean())


def masks_of(picture: Picture) -> tuple[np.ndarray, np.ndarray]:
    """Pixels at the lower and at the upper end of the recording, bool (height, width)."""
    floor, ceiling = ends_of(picture)
    values = picture.values
    # The ends are found many times faster than all pixels are compared, and most pictures do not reach them.
    whole = values.dtype.kind in "ui" and values.size > 0
    low = floor is not None and not (whole and values.min() > floor)
    high = ceiling is not None and not (whole and values.max() < ceiling)
    return (
        values <= floor if low else np.zeros(values.shape, bool),
        values >= ceiling if high else np.zeros(values.shape, bool),
    )


def places_of(low: np.ndarray, high: np.ndarray) -> Mapping[str, object]:
    """The places as facts of a thermogram; nothing for ends that no pixel reaches."""
    return {name: _runs(mask) for name, mask in ((LOW, low), (HIGH, high)) if mask.any()}


def saturated(thermogram: Thermogram) -> tuple[np.ndarray, np.ndarray]:
    """Pixels at the lower and at the upper end of the recording, bool (height, width)."""
    return _mask(thermogram, LOW), _mask(thermogram, HIGH)


def saturation_method(thermogram: Thermogram, name: str, chosen: np.ndarray) -> str:
    """What "min", "max", "mean", "median" or "p95" of the pixels `chosen` is when some saturate, else ""."""
    if LOW not in thermogram.facts and HIGH not in thermogram.facts:
        return ""
    low, high = (int(np.count_nonzero(one & chosen)) for one in saturated(thermogram))
    count = int(np.count_nonzero(chosen))
    if name == "max" and high:
        return "at least this: the recording saturates here and the true value lies above it"
    if name == "min" and low:
        return "at most this: the recording saturates here and the true value lies below it"
    if high == count > 0:
        return "at least this: every pixel saturates"
    if low == count > 0:
        return "at most this: every pixel saturates"
    if name == "mean" and low and high:
        return f"uncertain: {low} of {count} pixels saturate low and {high} high"
    if name == "mean" and (low or high):
        return f"{'at least' if high else 'at most'} this: {low or high} of {count} pixels saturate"
    share = {"median": 0.5, "p95": 0.95}.get(name)
    if share is not None and high >= (1.0 - share) * count > 0:
        return "at least this: so many pixels saturate"
    if share is not None and low >= share * count > 0:
        return "at most this: so many pixels saturate"
    return ""


def saturation_notes(thermogram: Thermogram, mask: np.ndarray | None = None) -> tuple[str, ...]:
    """What saturation means for the pixels of `mask` (bool; None: all), in words; empty when it means nothing."""
    notes: list[str] = []
    if LOW not in thermogram.facts and HIGH not in thermogram.facts:
        return ()
    for places, end, bound in zip(saturated(thermogram), ("lower", "upper"), ("at most", "at least"), strict=True):
        inside = places if mask is None else places & mask
        if count := int(np.count_nonzero(inside)):
            which = "lowest" if end == "lower" else "highest"
            notes.append(
                f"{count} pixels are at the {end} end of the recording range: the {which} value is {bound} "
                f"what is given, and the mean is {bound} what is given, as far as these pixels count"
            )
    return tuple(notes)


def _runs(mask: np.ndarray) -> tuple[tuple[int, int], ...]:
    steps = np.diff(mask.ravel().astype(np.int8), prepend=0, append=0)
    starts, ends = np.flatnonzero(steps == 1), np.flatnonzero(steps == -1)
    return tuple((int(start), int(end - start)) for start, end in zip(starts, ends, strict=True))


def _mask(thermogram: Thermogram, name: str) -> np.ndarray:
    mask = np.zeros(thermogram.values.size, bool)
    runs = cast(Iterable[tuple[int, int]], thermogram.facts.get(name, ()))
    for start, length in runs:
        mask[start : start + length] = True
    return mask.reshape(thermogram.shape)
