"""The fields a scene is made of, the grid they live on, and what every part of a scene offers."""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar, Literal

import numpy as np

from heatbrief.model.region import Region
from heatbrief.physics.planck import ZERO_CELSIUS_K

Points = tuple[tuple[float, float], ...]
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Grid:
    """The points at which a scene is evaluated, `oversample` of them across and down each pixel.

    Positions are in pixels as in regions: x to the right, y down, centres of pixels at whole numbers.
    """

    width: int
    height: int
    pixel_m: tuple[float, float]
    oversample: int = 1
    time_s: float = 0.0
    seed: int = 0
    texture: str = ""

    @property
    def shape(self) -> tuple[int, int]:
        """(height, width) of the fields, in fine pixels."""
        return self.height * self.oversample, self.width * self.oversample

    @property
    def step_m(self) -> tuple[float, float]:
        """Distance between neighbouring points [m], down and across."""
        return self.pixel_m[1] / self.oversample, self.pixel_m[0] / self.oversample

    def xy(self) -> tuple[np.ndarray, np.ndarray]:
        """x (1, columns) and y (rows, 1) of the points [px]."""
        rows, columns = self.shape
        x = (np.arange(columns) + 0.5) / self.oversample - 0.5
        y = (np.arange(rows) + 0.5) / self.oversample - 0.5
        return x[None, :], y[:, None]

    def metres(self, x0: float, y0: float) -> tuple[np.ndarray, np.ndarray]:
        """Offsets of the points from a place given in pixels [m], across and down."""
        x, y = self.xy()
        return (x - x0) * self.pixel_m[0], (y - y0) * self.pixel_m[1]

    def inside(self, outline: Points) -> np.ndarray:
        """Points within a polygon given in pixels, bool (rows, columns); the even-odd rule of `Region`."""
        s = self.oversample
        scaled = tuple((s * (x + 0.5) - 0.5, s * (y + 0.5) - 0.5) for x, y in outline)
        return Region("", "", "polygon", scaled).mask(*self.shape)

    def soften(self, mask: np.ndarray, length_m: float, mode: Literal["nearest", "wrap"] = "nearest") -> np.ndarray:
        """A mask or field spread sideways by a Gaussian of standard deviation `length_m`, float."""
        from scipy.ndimage import gaussian_filter

        # beyond a few widths of the view a wider kernel changes nothing and would not fit in memory
        sigma = [min(length_m / step, 2.0 * count) for step, count in zip(self.step_m, self.shape, strict=True)]
        return gaussian_filter(mask.astype(np.float64), sigma, mode=mode) if length_m > 0 else mask.astype(np.float64)

    def uneven(self, name: str, length_m: float) -> np.ndarray:
        """Smooth random field of mean 0 and standard deviation 1, the same in every picture of one texture."""
        random = np.random.default_rng([self.seed, zlib.crc32(self.texture.encode()), zlib.crc32(name.encode())])
        smooth = self.soften(random.standard_normal(self.shape), length_m, "wrap")
        spread = smooth.std()
        return (smooth - smooth.mean()) / spread if spread > 0 else smooth

    def along(self, line: Points) -> tuple[np.ndarray, np.ndarray]:
        """For every point: distance from a polyline [m] and way along it to the nearest place [m]."""
        x, y = self.xy()
        best, way, done = np.full(self.shape, np.inf), np.zeros(self.shape), 0.0
        for (x0, y0), (x1, y1) in pairwise(line):
            u, v = (x1 - x0) * self.pixel_m[0], (y1 - y0) * self.pixel_m[1]
            a, b = (x - x0) * self.pixel_m[0], (y - y0) * self.pixel_m[1]
            length = float(np.hypot(u, v)) or 1e-9
            t = np.clip((a * u + b * v) / length**2, 0.0, 1.0)
            distance = np.hypot(a - t * u, b - t * v)
            nearer = distance < best
            best, way = np.where(nearer, distance, best), np.where(nearer, done + t * length, way)
            done += length
        return best, way


@dataclass(frozen=True)
class Fields:
    """What a view holds at every point of its grid, each (rows, columns).

    kelvin      true surface temperature [K]
    uneven      departure of a plain surface from its mean temperature [K]; parts that replace the temperature keep it
    emissivity  in the imager's band
    reflected   temperature of what the point mirrors [K]
    tone        grey of the visible picture, 0 black to 1 white
    """

    kelvin: np.ndarray
    uneven: np.ndarray
    emissivity: np.ndarray
    reflected: np.ndarray
    tone: np.ndarray


@dataclass(frozen=True)
class Mark:
    """Where a part shows: a bool mask on the grid, and its outline in pixels if it has a plain one."""

    mask: np.ndarray
    outline: Points = ()
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Part:
    """One thing in a view. Subclasses set `kind` and implement `paint`.

    name    what its owner would call it; defect is the truth a check is measured by
    """

    kind: ClassVar[str] = ""
    name: str = ""
    defect: bool = False
    note: str = ""

    def paint(self, fields: Fields, grid: Grid) -> tuple[Fields, Mark]:
        """The fields with this part in them, and where it is. Must not change the arrays it is given."""
        raise NotImplementedError

    def sound(self) -> Part | None:
        """The same thing without its defect, to measure the defect against; None to compare with no part at all."""
        return None


def kelvin(celsius: float | np.ndarray) -> float | np.ndarray:
    """Degrees Celsius as kelvin."""
    return celsius + ZERO_CELSIUS_K


def box_outline(box: Box) -> Points:
    """Corners of [left, top, width, height]."""
    left, top, width, height = box
    return ((left, top), (left + width, top), (left + width, top + height), (left, top + height))


def mix(old: np.ndarray, new: np.ndarray | float, share: np.ndarray) -> np.ndarray:
    """`old` where the share is 0, `new` where it is 1."""
    result: np.ndarray = old + (new - old) * share
    return result
