"""The colour maps: evenly rising lightness, safe for colour-vision deficiencies. Sources stand in the data files."""

from __future__ import annotations

import functools

import numpy as np
from heatbrief_site import resource

LEVELS = 254
"""Colours in use; the last two of 256 palette entries are the greys of the hatching."""
HATCH = ((128, 128, 128), (176, 176, 176))
MAPS = ("batlow", "lajolla", "grey")
"""Maps a reader may choose; the first is the one of all printed pictures."""


@functools.cache
def palette() -> tuple[int, ...]:
    """768 bytes: 254 colours from low to high and two greys."""
    return (*colour_bytes(MAPS[0]), *(channel for colour in HATCH for channel in colour))


@functools.cache
def colour_bytes(name: str) -> bytes:
    """Red, green, blue of 254 colours from low to high."""
    if name == "grey":
        return bytes(round(level * 255 / (LEVELS - 1)) for level in range(LEVELS) for _ in range(3))
    lines = [line for line in resource(f"data/{name}.txt").read_text("ascii").splitlines() if len(line) == 7]
    colours = [tuple(int(line[at : at + 2], 16) for at in (1, 3, 5)) for line in lines]
    chosen = [colours[round(level * (len(colours) - 1) / (LEVELS - 1))] for level in range(LEVELS)]
    return bytes(channel for colour in chosen for channel in colour)


def to_indices(values: np.ndarray, low: float, high: float) -> np.ndarray:
    """Palette entries, uint8, for values (height, width) from `low` to `high` [same unit]; NaN becomes hatching."""
    level = np.rint(np.clip((values - low) / (high - low), 0.0, 1.0) * (LEVELS - 1))
    rows, columns = np.indices(values.shape)
    hatch = LEVELS + ((rows + columns) % 4 < 2)
    return np.where(np.isfinite(values), np.nan_to_num(level), hatch).astype(np.uint8)
