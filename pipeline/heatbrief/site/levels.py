"""Stored counts as they are drawn: ranges and colours are worked out for each count once, not for each pixel."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np

from heatbrief.site.colours import LEVELS

Box = tuple[int, int, int, int]


@dataclass(frozen=True, eq=False)
class Levels:
    """Counts (height, width), uint16, 0 where nothing was read; count c stands for low + step * (c - 1)."""

    counts: np.ndarray
    low: float
    step: float

    @property
    def shape(self) -> tuple[int, ...]:
        """Height and width."""
        return self.counts.shape

    @functools.cached_property
    def values(self) -> np.ndarray:
        """The value of each count up to the highest, NaN for 0."""
        values = self.low + self.step * (np.arange(self._amounts.size, dtype=float) - 1.0)
        values[0] = np.nan
        return values

    def cut(self, box: Box) -> Levels:
        """A part of the picture, (x0, y0, x1, y1), upper ends excluded."""
        x0, y0, x1, y1 = box
        if (x0, y0, y1, x1) == (0, 0, *self.counts.shape):
            return self
        return Levels(self.counts[y0:y1, x0:x1], self.low, self.step)

    @property
    def masked(self) -> bool:
        """Whether a pixel has no reading."""
        return bool(self._amounts[0])

    @functools.cached_property
    def _amounts(self) -> np.ndarray:
        """How many pixels have each count."""
        return np.bincount(self.counts.ravel(), minlength=1)

    @functools.cached_property
    def _upto(self) -> np.ndarray:
        """How many readings are no higher than each count."""
        upto: np.ndarray = np.cumsum(self._amounts) - self._amounts[0]
        return upto

    def percentiles(self, *shares: float) -> tuple[float, ...]:
        """Percentiles of the readings, linear between neighbours as numpy's; empty when there is none."""
        upto = self._upto
        if not upto[-1]:
            return ()
        found = []
        for share in shares:
            place = share / 100 * float(upto[-1] - 1)
            at = int(place)
            one, other = (
                self.values[int(np.searchsorted(upto, rank, "right"))] for rank in (at, min(at + 1, upto[-1] - 1))
            )
            found.append(float(one + (other - one) * (place - at)))
        return tuple(found)

    def indices(self, low: float, high: float) -> np.ndarray:
        """Palette entries, uint8 (height, width); hatching where nothing was read."""
        level = np.rint(np.clip((self.values - low) / (high - low), 0.0, 1.0) * (LEVELS - 1))
        level[0] = 0
        shown = level.astype(np.uint8).take(self.counts)
        if self.masked:
            rows, columns = np.nonzero(self.counts == 0)
            shown[rows, columns] = LEVELS + ((rows + columns) % 4 < 2)
        return shown

    def ends(self) -> tuple[float, float]:
        """Lowest and highest reading; NaN when there is none."""
        read = self.values[1:][self._amounts[1:] > 0]
        return (float(read[0]), float(read[-1])) if read.size else (np.nan, np.nan)
