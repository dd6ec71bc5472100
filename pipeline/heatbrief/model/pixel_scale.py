"""Size of the pixels of a picture on the surface it shows, the same everywhere or place by place."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from heatbrief.model.quantity import NORMAL_95, Quantity

RIM_PIXELS = 0.3
"""Standard uncertainty of where a boundary runs, in pixels: a rectangle one pixel wide, 1/sqrt(12)."""


@dataclass(frozen=True)
class PixelScale:
    """Size of one pixel on the target.

    width, height  [m] best estimate, in the middle of the known rectangle when there is one
    relative       relative standard uncertainty of a length there
    method         "distance and field of view", "pixel size given", "known rectangle"
    homography     row by row, from pixels (x, y) to metres on the surface; None where all pixels are taken as alike
    moved          the same mapping with each of its inputs moved by one standard uncertainty, for bounds anywhere
    """

    width: float
    height: float
    relative: float
    method: str
    homography: tuple[float, ...] | None = None
    moved: tuple[tuple[float, ...], ...] = ()

    @property
    def area(self) -> float:
        """Area of a pixel on the target [m2], in the middle of the known rectangle when there is one."""
        return self.width * self.height

    def areas(self, height: int, width: int) -> np.ndarray:
        """Area of every pixel [m2], float64 (height, width); NaN for pixels at or beyond the horizon of the surface."""
        if self.homography is None:
            return np.full((height, width), self.area)
        rows, columns = np.mgrid[0:height, 0:width]
        return _local(self.homography, columns, rows)

    def area_of(self, mask: np.ndarray) -> Quantity | None:
        """Area of the pixels of a mask, bool (height, width), in m2 with bounds.

        Bounds: the scale, which all pixels share, and half a pixel along the rim. None for an empty mask and for one
        that reaches beyond the horizon of the surface.
        """
        rows, columns = np.nonzero(mask)
        if not rows.size:
            return None
        value, shared = self._sum(rows, columns)
        if not math.isfinite(value):
            return None
        rim = RIM_PIXELS * math.sqrt(rim_pixels(mask)) * value / rows.size
        reach = NORMAL_95 * math.hypot(shared, rim)
        return Quantity(value, "m2", max(0.0, value - reach), value + reach, 0.95, f"{rows.size} pixels, {self.method}")

    def _sum(self, rows: np.ndarray, columns: np.ndarray) -> tuple[float, float]:
        """Area of some pixels and its standard uncertainty from the scale [m2]; NaN beyond the horizon."""
        if self.homography is None:
            value = rows.size * self.area
            return value, 2.0 * self.relative * value
        value = float(_local(self.homography, columns, rows).sum())
        moved = (float(_local(one, columns, rows).sum()) - value for one in self.moved)
        return value, math.sqrt(math.fsum(step**2 for step in moved if math.isfinite(step)))


def rim_pixels(mask: np.ndarray) -> int:
    """Pixels of a mask that touch its outside."""
    padded = np.pad(mask, 1)
    inner = padded[:-2, 1:-1] & padded[2:, 1:-1] & padded[1:-1, :-2] & padded[1:-1, 2:]
    return int(np.count_nonzero(mask & ~inner))


def _local(matrix: tuple[float, ...], x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Area scale |det H| / w^3 of a plane-to-plane mapping at pixels."""
    depth = matrix[6] * x + matrix[7] * y + matrix[8]
    size = abs(float(np.linalg.det(np.reshape(matrix, (3, 3)))))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(depth > 0.0, size / depth**3, np.nan)
