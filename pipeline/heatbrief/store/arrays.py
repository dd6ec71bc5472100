"""Thermograms to objects and back: exact arrays for the work store, 16-bit pictures for what is published."""

from __future__ import annotations

import io
import math
import typing
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from heatbrief.model.results import StoredArray
from heatbrief.model.thermogram import Thermogram
from heatbrief.store.codec import to_model
from heatbrief.store.files import Objects, ObjectStore
from heatbrief.store.keys import plain

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
    from PIL import Image

    values = np.asarray(thermogram.values, np.float64)
    valid = np.isfinite(values)
    if not valid.any():
        return None
    is_temperature = thermogram.scale == "temperature"
    if is_temperature:
        values = values - CELSIUS
    withheld = thermogram.withheld
    if withheld.any():
        rest = values[valid & ~withheld]
        values[withheld] += (rest.min() if rest.size else 0.0) - values[withheld].min()
    lowest, highest = float(values[valid].min()), float(values[valid].max())
    step = _step((highest - lowest) / (LEVELS - 1), FINEST_STEP_K if is_temperature else 1.0)
    low = math.floor(lowest / step) * step
    counts = np.zeros(values.shape, np.uint16)
    counts[valid] = np.rint((values[valid] - low) / step).astype(np.uint16) + 1
    stream = io.BytesIO()
    Image.fromarray(counts).save(stream, format="PNG", compress_level=1)
    height, width = values.shape
    unit = "degC" if is_temperature else "count"
    return StoredArray(store.put(stream.getvalue(), ".png"), low, step, unit, width, height, _runs(withheld))


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
