"""A named part of a thermogram: box, polygon, line, point, or the whole picture."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from heatbrief.model.quantity import Quantity

Shape = Literal["whole", "box", "polygon", "line", "point"]
Fact = Quantity | str | bool | float


@dataclass(frozen=True)
class Region:
    """A region with the facts its owner gave.

    name      the owner's own words; unique within its thermogram
    points    (x, y) in pixels, x to the right, y down, pixel centres at whole numbers; two corners for a box
    shows     what it is ("breaker", "exhaust runner", "window frame"); checks choose by it
    group     regions of one group on one thermogram are compared with each other (twins)
    facts     what else is known, such as {"load": 12 A, "rated": 20 A}
    """

    name: str
    thermogram: str
    shape: Shape = "whole"
    points: tuple[tuple[float, float], ...] = ()
    shows: str = ""
    room: str = ""
    group: str = ""
    material: str = ""
    emissivity: Quantity | None = None
    facts: Mapping[str, Fact] = field(default_factory=dict)

    def mask(self, height: int, width: int) -> np.ndarray:
        """Pixels inside, bool (height, width). Parts outside the picture are cut off; a point or line has one pixel of width."""
        rows, columns, inside = self.window(height, width)
        if inside.shape == (height, width):
            return inside
        mask = np.zeros((height, width), bool)
        mask[rows, columns] = inside
        return mask

    def window(self, height: int, width: int) -> tuple[slice, slice, np.ndarray]:
        """Rows and columns that hold the region, and which pixels there lie inside, bool; for pictures painted often."""
        if self.shape == "whole":
            return slice(0, height), slice(0, width), np.ones((height, width), bool)
        points = np.asarray(self.points, float)
        if self.shape in ("point", "line"):
            return slice(0, height), slice(0, width), _along(points, height, width)
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        rows, columns = _pixels(y0, y1, height), _pixels(x0, x1, width)
        if self.shape == "box":
            return rows, columns, np.ones((rows.stop - rows.start, columns.stop - columns.start), bool)
        return rows, columns, _inside(points, rows, columns)

    def bounding_box(self, height: int, width: int) -> tuple[int, int, int, int]:
        """Smallest box (x0, y0, x1, y1), upper ends excluded, that holds the region within the picture."""
        return bounding_box(self.mask(height, width))


def bounding_box(mask: np.ndarray) -> tuple[int, int, int, int]:
    """(x0, y0, x1, y1), upper ends excluded, of the True pixels; zeros when there are none."""
    if mask.size and mask.all():
        return 0, 0, mask.shape[1], mask.shape[0]
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if rows.size == 0:
        return 0, 0, 0, 0
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def _pixels(low: float, high: float, count: int) -> slice:
    """Pixels whose centres lie from `low` up to but not at `high`, within the picture."""
    start = math.ceil(min(max(low, 0.0), count))
    return slice(start, max(start, math.ceil(min(max(high, 0.0), count))))


def _inside(points: np.ndarray, rows: slice, columns: slice) -> np.ndarray:
    """Even-odd rule at pixel centres; a pixel centre on the left or upper edge counts as inside."""
    x = np.arange(columns.start, columns.stop, dtype=float)
    inside = np.zeros((rows.stop - rows.start, x.size), bool)
    for (x1, y1), (x2, y2) in zip(points, np.roll(points, -1, axis=0), strict=True):
        crossed = _pixels(min(y1, y2) - rows.start, max(y1, y2) - rows.start, len(inside))
        if y1 != y2 and crossed.start < crossed.stop:
            y = np.arange(crossed.start, crossed.stop)[:, None] + rows.start
            inside[crossed] ^= x >= x1 + (y - y1) * (x2 - x1) / (y2 - y1)
    return inside


def _along(points: np.ndarray, height: int, width: int) -> np.ndarray:
    """Pixels nearest to the points of a polyline sampled at half a pixel."""
    mask = np.zeros((height, width), bool)
    if len(points) == 1:
        points = np.vstack([points, points])
    for start, end in itertools.pairwise(points):
        count = int(np.ceil(2 * np.abs(end - start).max())) + 1
        columns, rows = np.rint(np.linspace(start, end, count)).astype(int).T
        good = (rows >= 0) & (rows < height) & (columns >= 0) & (columns < width)
        mask[rows[good], columns[good]] = True
    return mask
