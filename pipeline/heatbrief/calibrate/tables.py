"""Tables from whole counts to object temperatures, made once for each kind of surface and remembered."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from heatbrief.calibrate.readings import HOTTEST_K
from heatbrief.physics.measurement import Settings, object_temperature_lut
from heatbrief.physics.sakuma_hattori import BandModel

BLOCK = 1024
DIRECT = 65536
Rows = tuple[Settings | None, ...]


@lru_cache(maxsize=1024)
def _block(
    band: BandModel, scale: tuple[float, float], stated: Settings, true: Settings | None, number: int
) -> np.ndarray:
    """Object temperatures (float32, K) of one block of counts; `true` None keeps the reported ones."""
    step, zero = scale
    first = zero + step * BLOCK * number
    kelvin = first + step * np.arange(BLOCK)
    if true is None:
        table = np.where(kelvin > 0.0, kelvin, np.nan).astype(np.float32)
    else:
        table = object_temperature_lut(band, step, first, true, stated=stated, levels=BLOCK)
    table[kelvin > HOTTEST_K] = np.nan
    table.flags.writeable = False
    return table


@lru_cache(maxsize=64)
def table_of(
    band: BandModel, scale: tuple[float, float], stated: Settings, rows: Rows, blocks: tuple[int, int]
) -> tuple[np.ndarray, int]:
    """Table (rows, levels) for blocks of counts from the first to the last, and the count of its first column.

    It starts at count 0 where that spares a subtraction for every pixel.
    """
    first, last = blocks
    base = 0 if len(rows) == 1 and first >= 0 and (last + 1) * BLOCK <= DIRECT else first * BLOCK
    table = np.full((len(rows), (last + 1) * BLOCK - base), np.nan, np.float32)
    for row, true in enumerate(rows):
        for number in range(first, last + 1):
            start = number * BLOCK - base
            table[row, start : start + BLOCK] = _block(band, scale, stated, true, number)
    table.flags.writeable = False
    return table, base


def looked_up(table: np.ndarray, base: int, counts: np.ndarray, painted: np.ndarray | None) -> np.ndarray:
    """The table's entry for every pixel, by its count and, with several rows, by its zone."""
    if painted is None:
        index = counts if base == 0 and counts.dtype.kind == "u" else np.subtract(counts, base, dtype=np.intp)
        # All counts lie within the table; "wrap" only spares the check.
        row: np.ndarray = table[0].take(index, mode="wrap")
        return row
    if counts.dtype == np.uint16 and table.size <= DIRECT:
        # Narrow arithmetic is twice as quick; it wraps round on the way and ends within the table.
        index = np.multiply(painted, np.uint16(table.shape[1]), dtype=np.uint16)
        index += counts
        index -= np.uint16(base)
    else:
        index = np.multiply(painted, table.shape[1], dtype=np.intp)
        index += counts
        index -= base
    result: np.ndarray = table.ravel().take(index, mode="wrap")
    return result
