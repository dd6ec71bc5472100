"""Thermograms to objects and back: exact arrays for the work store, 16-bit pictures for what is published."""

from __future__ import annotations

import io
import math
import typing
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from heatbrief.model.once import ends_of
from heatbrief.model.results import StoredArray
from heatbrief.model.thermogram import Thermogram
from heatbrief.store.codec import to_model
from heatbrief.store.files import Objects, ObjectStore
from heatbrief.store.keys import plain
from heatbrief.store.png import png_bytes

CELSIUS = 273.15
LEVELS = 65534
FINEST_STEP_K = 0.01
"""Stored pictures are not finer than this: a tenth of the noise of the best cameras in use (our choice)."""


_ARRAYS = ("values", "zones")


def keep_thermogram(store: Objects, thermogram: Thermogram) -> dict[str, Any]:
    """Keep the arrays exactly; returns plain data from which `load_thermogram` restores the thermogram."""
    data: dict[str, Any] = {name: plain(value) for name, value in vars(thermogram).items() if name not in _ARRAYS}
    for name in _ARRAYS:
        array = getattr(thermogram, name)
        data[name] = None if array is None else store.put(_npy(array), ".npy")
    return data


def load_thermogram(store: Objects, data: Mapping[str, Any]) -> Thermogram:
    """The inverse of `keep_thermogram`. Raises OSError or ValueError when an object is gone or damaged."""
    arrays: dict[str, Any] = {name: None if data[name] is None else _array(store, data[name]) for name in _ARRAYS}
    kinds = typing.get_type_hints(Thermogram)
    rest = {name: to_model(value, kinds[name]) for name, value in data.items() if name not in (*_ARRAYS, "facts")}
    return Thermogram(**arrays, **rest, facts=data["facts"])


def publish_array(store: Objects, thermogram: Thermogram) -> StoredArray | None:
    """The picture as a 16-bit greyscale PNG object, degC or counts; None when every pixel is masked.

    Where a surface is fit for comparison only, the values are moved together to start at the lowest of the others.
    """
    values, valid = thermogram.values, thermogram.valid
    whole = bool(valid.all())
    if not whole and not valid.any():
        return None
    is_temperature = thermogram.scale == "temperature"
    withheld = thermogram.withheld
    if withheld.any():
        rest = values[valid & ~withheld]
        values = values.astype(np.float64)
        values[withheld] += (rest.min() if rest.size else CELSIUS) - values[withheld].min()
    lowest, highest = ends_of(values, valid)
    shift = CELSIUS if is_temperature else 0.0
    step = _step((highest - lowest) / (LEVELS - 1), FINEST_STEP_K if is_temperature else 1.0)
    low = math.floor((lowest - shift) / step) * step
    counts = _counts(values, lowest, step, ((lowest - shift) - low) / step, valid, whole)
    height, width = values.shape
    unit = "degC" if is_temperature else "count"
    return StoredArray(store.put(png_bytes(counts), ".png"), low, step, unit, width, height, _runs(withheld))


def _counts(values: np.ndarray, lowest: float, step: float, first: float, valid: np.ndarray, whole: bool) -> np.ndarray:
    """Whole steps from a pixel `first` steps below the lowest value, and 1; 0 where masked; uint16 (height, width).

    Differences from the lowest value are exact enough in the narrow numbers of the picture itself, and twice as quick.
    """
    wide = np.float64 if (values.dtype != np.float32 or lowest < 0.0) else np.float32
    if not whole:
        values = np.where(valid, values, lowest)
    steps = np.subtract(values, lowest, dtype=wide)
    steps *= wide(1.0 / step)
    steps += wide(first + 1.5)  # half a step more, and cut off: rounded
    counts: np.ndarray = steps.astype(np.uint16)
    if not whole:
        counts[~valid] = 0
    return counts


def stored_values(array: StoredArray, objects: Path) -> np.ndarray | None:
    """The published values, float64 (height, width) in the array's unit, NaN where masked or withheld; None when the picture is gone."""
    from PIL import Image

    path = ObjectStore(objects).path(array.object)
    try:
        with Image.open(path, formats=("PNG",)) as image:
            if image.size != (array.width, array.height):  # before anything is decoded
                return None
            counts = np.asarray(image)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
    if counts.shape != (array.height, array.width) or counts.dtype.kind not in "iu":
        return None
    values = array.low + array.step * (counts.astype(np.float64) - 1.0)
    flat = values.ravel()
    for start, length in array.withheld:
        flat[max(start, 0) : max(start + length, 0)] = np.nan
    values[counts == 0] = np.nan
    return values


def _runs(mask: np.ndarray) -> tuple[tuple[int, int], ...]:
    """(first pixel in reading order, how many) of each run of a mask (height, width)."""
    if not mask.any():
        return ()
    steps = np.diff(mask.ravel().astype(np.int8), prepend=0, append=0)
    starts, ends = np.flatnonzero(steps == 1), np.flatnonzero(steps == -1)
    return tuple((int(start), int(end - start)) for start, end in zip(starts, ends, strict=True))


def _step(needed: float, finest: float) -> float:
    """Smallest 1-2-5 step that is at least `needed` and `finest`."""
    if needed <= finest:
        return finest
    exponent = math.floor(math.log10(needed))
    return next(factor * 10.0**exponent for factor in (1, 2, 5, 10) if factor * 10.0**exponent >= needed * (1 - 1e-12))


def _array(store: Objects, name: str) -> np.ndarray:
    with store.open(name) as stream:
        array: np.ndarray = np.load(stream, allow_pickle=False)
    return array


def _npy(array: np.ndarray) -> bytes:
    stream = io.BytesIO()
    np.save(stream, array, allow_pickle=False)
    return stream.getvalue()
