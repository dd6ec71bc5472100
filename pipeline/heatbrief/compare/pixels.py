"""Stored pictures as temperatures, and how much a place in one stands out from what is around it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from heatbrief.model.results import ThermogramRecord
from heatbrief.store.arrays import stored_values

MARGIN, LEAST_RING, LEAST_INNER = 3, 12, 4
PATCH = 30.0
"""Neighbouring pixels of a real surface vary together; about this many count as one (our choice)."""
EMISSIVITY_SHARE = 0.02
"""Relative standard uncertainty of a contrast from emissivity and reflection that both surveys do not share (our choice)."""


class Pixels:
    """Temperatures of a survey's pictures, read when first asked for."""

    def __init__(self, objects: Path | None, given: dict[str, np.ndarray] | None = None) -> None:
        self.objects = objects
        self._known: dict[str, np.ndarray | None] = dict(given or {})

    def values(self, record: ThermogramRecord) -> np.ndarray | None:
        """Temperatures in degC, float64 (height, width), NaN where there is none; None when unscaled, withheld everywhere or gone."""
        if record.id not in self._known:
            self._known[record.id] = self._read(record)
        return self._known[record.id]

    def _read(self, record: ThermogramRecord) -> np.ndarray | None:
        if record.array is None or record.array.unit != "degC" or self.objects is None:
            return None
        return stored_values(record.array, self.objects)


@dataclass(frozen=True)
class Standout:
    """How far a place stands out [K], the standard uncertainty of that, and the level around it [degC]."""

    value: float
    standard: float
    around: float
    pixels: int


def standout(
    values: np.ndarray, place: np.ndarray, search: np.ndarray, others: np.ndarray | None = None
) -> Standout | None:
    """The mean within a place minus the median around it; None when either has too few pixels.

    place, search, others   bool (height, width): the place, where its surroundings may be taken from, other findings' places
    Errors of the camera that all pixels share cancel and are not counted.
    """
    good = np.isfinite(values)
    inner = _inner(place) & good
    if np.count_nonzero(inner) < LEAST_INNER:
        inner = place & good
    ring = _ring(place, search & good & ~(_grown(others, 2) if others is not None else np.zeros_like(place)))
    if np.count_nonzero(inner) < LEAST_INNER or np.count_nonzero(ring) < LEAST_RING:
        return None
    level, around = float(values[inner].mean()), float(np.median(values[ring]))
    scatter = 1.4826 * float(np.median(np.abs(values[ring] - around)))
    count = min(np.count_nonzero(inner), np.count_nonzero(ring))
    standard = float(np.hypot(scatter / np.sqrt(max(1.0, count / PATCH)), EMISSIVITY_SHARE * abs(level - around)))
    return Standout(level - around, standard, around, int(np.count_nonzero(place)))


def wet_pixels(values: np.ndarray, zone: np.ndarray, around: float, threshold: float) -> int:
    """Pixels of a zone that lie beyond a threshold [K, signed] from the level around, after a 3 x 3 mean."""
    from scipy.ndimage import uniform_filter

    smooth = uniform_filter(np.where(np.isfinite(values), values, around), 3)
    apart = smooth - around
    return int(np.count_nonzero(zone & (apart <= threshold if threshold < 0 else apart >= threshold)))


def grown_zone(place: np.ndarray, search: np.ndarray) -> np.ndarray:
    """Where a wet place may have spread to: grown by half its size within the searched region; bool, shape of both."""
    result: np.ndarray = _grown(place, max(4, round(0.5 * float(np.sqrt(np.count_nonzero(place)))))) & search
    return result


def _ring(place: np.ndarray, allowed: np.ndarray) -> np.ndarray:
    width = max(5, round(0.35 * float(np.sqrt(np.count_nonzero(place)))))
    near = _grown(place, MARGIN)
    ring = _grown(near, width) & ~near & allowed
    result: np.ndarray = ring if np.count_nonzero(ring) >= 4 * LEAST_RING else allowed & ~near
    return result


def _inner(mask: np.ndarray) -> np.ndarray:
    from scipy.ndimage import binary_erosion

    return binary_erosion(mask)


def _grown(mask: np.ndarray, by: int) -> np.ndarray:
    from scipy.ndimage import binary_dilation, generate_binary_structure

    return binary_dilation(mask, generate_binary_structure(2, 1), iterations=by)
