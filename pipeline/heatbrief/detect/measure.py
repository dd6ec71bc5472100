"""Measure one area: contrast, peak, size and sharpness, each with bounds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from heatbrief.detect.edges import edge_width
from heatbrief.detect.field import Field
from heatbrief.detect.outline import edge_pixels, grown, outline_of, shape_numbers, shrunk
from heatbrief.detect.shared import absolute_standard, celsius, shared_standard, widened
from heatbrief.model.finding import Outline
from heatbrief.model.pixel_scale import PixelScale
from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.model.thermogram import ErrorSource, Thermogram

Sign = Literal["warm", "cold"]
_LOST_TO_BLUR = 0.16
"""Share per side that the mean of 3 x 3 pixels loses on a target 3 pixels wide, Gaussian blur of 0.5 px (computed)."""
_SLIPPED = 0.035
"""Share of the contrast lost where one row of rim was shed and the outline may lie a pixel too far out (computed)."""
_HALF_PIXEL = 0.5 / math.sqrt(3.0)
"""Standard uncertainty of where a boundary runs [px]: anywhere within half a pixel."""
_RAMP, _NOISE_OF_NINE = 3.0, 1.0 / 3.0
"""A mean of 3 x 3 pixels crosses a sharp edge within 3 pixels, and carries a third of one pixel's noise (computed)."""


@dataclass(frozen=True)
class Area:
    """A compact area that stands out.

    ordinal            1, 2, ... from top to bottom, then left to right, within one search
    origin, bits       (x0, y0) of the bounding box and its pixels, bool
    contrast           mean of the inner pixels minus what was expected there ["K", or "count"]; negative for cold
    peak               the same for the most extreme 3 x 3 pixels
    contrast_to_noise  magnitude of the contrast over the scatter of one pixel
    edge_width         distance over which 10 to 90 % of the step happens [px]; None when it cannot be told
    elongation, fill   see `heatbrief.detect.outline.shape_numbers`; width is the least width [px]
    edge_distance      least distance to the edge of the searched region [px]; touches_edge when it reaches it
    mean, surroundings absolute temperatures [degC]; None when unscaled or when the zone is fit for comparison only
    area               on the target [m2]; None when the size of a pixel is not known
    """

    thermogram: str
    ordinal: int
    origin: tuple[int, int]
    bits: np.ndarray
    sign: Sign
    outline: Outline
    pixels: int
    centre: tuple[float, float]
    contrast: Quantity
    peak: Quantity
    contrast_to_noise: float
    edge_width: float | None
    elongation: float
    fill: float
    width: float
    edge_distance: float
    touches_edge: bool
    mean: Quantity | None
    surroundings: Quantity | None
    area: Quantity | None

    @property
    def box(self) -> tuple[int, int, int, int]:
        """(x0, y0, x1, y1), upper ends excluded."""
        return self.origin[0], self.origin[1], self.origin[0] + self.bits.shape[1], self.origin[1] + self.bits.shape[0]

    @property
    def across(self) -> Quantity:
        """Least width [px] with bounds.

        Its two sides are known to the pixel grid and to what noise moves them by, which averages out along them; its
        length is set by the single pixels that reach farthest, so it is rather too long, by a pixel and more in noise,
        and the width too small.
        """
        long = max(self.pixels / max(self.width, 1e-6), 1.0)
        moved = _RAMP * _NOISE_OF_NINE / max(self.contrast_to_noise, 1e-6)
        sides = math.hypot(_HALF_PIXEL / math.sqrt(long), moved / math.sqrt(max(long / 3.0, 1.0)))
        ends = math.hypot(_HALF_PIXEL, moved) * self.width / long
        half = NORMAL_95 * min(math.sqrt(2.0) * math.hypot(sides, ends), self.width)
        high = self.pixels / max(long - 1.0 - 2.0 * moved, 1.0) + half
        return Quantity(self.width, "px", max(self.width - half, 0.0), high, 0.95, "least width of the area")

    def mask(self, height: int, width: int) -> np.ndarray:
        """Its pixels in a picture of that size, bool (height, width)."""
        return _whole(self.bits, self.origin, (height, width))


def measured_area(
    thermogram: Thermogram,
    field: Field,
    smoothed: np.ndarray,
    sign: Sign,
    bits: np.ndarray,
    origin: tuple[int, int],
    edge_distance: float,
    bridge: int,
) -> Area:
    """The area of the pixels `bits` at `origin`; `smoothed` is the 3 x 3 mean of the residual over the field's box."""
    x0, y0 = origin
    height, width = bits.shape
    window = (slice(y0, y0 + height), slice(x0, x0 + width))
    within = (slice(y0 - field.box[1], y0 - field.box[1] + height), slice(x0 - field.box[0], x0 - field.box[0] + width))
    averaged = np.where(bits, smoothed[within] if sign == "warm" else -smoothed[within], -np.inf)
    highest = np.unravel_index(int(averaged.argmax()), bits.shape)
    inner, shed = _inner(bits, highest)
    level = float(np.mean(thermogram.values[window][inner], dtype=np.float64))
    ground = float(np.mean(field.expected[window][inner], dtype=np.float64))
    unit, errors, around, absolute = _errors(thermogram, bits, origin)
    rows, columns = np.nonzero(bits)
    centre = (float(columns.mean()) + x0, float(rows.mean()) + y0)
    elongation, fill, least = shape_numbers(bits)
    apart = max(field.reach, rows.size / (2.0 * max(least, 1.0)) + 1.0)
    systematic = math.hypot(shared_standard(errors, level, around, ground, apart), field.leverage(*centre))
    slipped = _SLIPPED * abs(level - ground) * float(edge_pixels(inner).mean() / inner.mean()) if shed == 1 else 0.0
    unsure = math.hypot(systematic, slipped)
    contrast = _contrast(field, level - ground, int(inner.sum()), unsure, unit, rows.size, None if shed else least)
    noise = thermogram.noise() / math.sqrt(inner.sum())
    mean = celsius(level, math.hypot(absolute_standard(errors, level), noise), "mean of the inner pixels")
    below = math.hypot(absolute_standard(around, ground), field.leverage(*centre))
    return Area(
        thermogram=thermogram.id,
        ordinal=0,
        origin=origin,
        bits=bits,
        sign=sign,
        outline=Outline(outline_of(bits, origin, bridge), rows.size),
        pixels=rows.size,
        centre=centre,
        contrast=contrast,
        peak=_peak(field, float(smoothed[within][highest]), systematic, unit, rows.size),
        contrast_to_noise=abs(contrast.value) / field.sigma,
        edge_width=edge_width(thermogram.values, field, bits, origin),
        elongation=elongation,
        fill=fill,
        width=least,
        edge_distance=edge_distance,
        touches_edge=edge_distance < 1.0,
        mean=mean if absolute[0] else None,
        surroundings=celsius(ground, below, "expected from the surroundings") if absolute[1] else None,
        area=target_area(_whole(bits, origin, thermogram.shape), thermogram.pixel),
    )


def _inner(bits: np.ndarray, highest: tuple[np.intp, ...]) -> tuple[np.ndarray, int]:
    """Pixels away from the rim, where blur mixes both sides, and how many rows of rim were shed: 2, else 1.

    When fewer than 9 would be left: the 3 x 3 pixels about the most extreme place, and 0.
    """
    for shed in (2, 1):
        inner = shrunk(bits, shed)
        if inner.sum() >= max(9, bits.sum() // 4):
            return inner, shed
    near = np.zeros(bits.shape, bool)
    near[max(highest[0] - 1, 0) : highest[0] + 2, max(highest[1] - 1, 0) : highest[1] + 2] = True
    return near & bits, 0


def _contrast(
    field: Field, value: float, inner: int, systematic: float, unit: str, pixels: int, least: float | None
) -> Quantity:
    """Contrast with bounds. `least` is the least width of an area too small to have pixels free of the rim, else None.

    For such an area the outer bound allows for what blur takes away, the inner one for having picked the most extreme
    place.
    """
    toward = away = 0.0
    if least is not None:
        kept = (1 - _LOST_TO_BLUR * min(1.0, max(0.0, (6 - least) / 2))) ** 2
        toward, away = abs(value) * (1 / kept - 1), field.scatter(inner) * _picked(pixels) / 2
    below, above = (away, toward) if value >= 0 else (toward, away)
    return widened(
        value,
        unit,
        math.hypot(field.scatter(inner), systematic),
        below,
        above,
        "mean of the inner pixels minus the expected field",
    )


def _peak(field: Field, value: float, systematic: float, unit: str, pixels: int) -> Quantity:
    """Most extreme mean of 3 x 3 pixels; the inner bound allows for having been picked."""
    chosen = field.scatter(9) * _picked(pixels)
    below, above = (chosen, 0.0) if value >= 0 else (0.0, chosen)
    return widened(
        value,
        unit,
        math.hypot(field.scatter(9), systematic),
        below,
        above,
        "most extreme mean of 3 x 3 pixels minus the expected field",
    )


def _picked(pixels: int) -> float:
    """About how many standard deviations the largest of that many pixels' 3 x 3 means lies out by chance."""
    return math.sqrt(2.0 * math.log1p(pixels / 9))


def _errors(
    thermogram: Thermogram, bits: np.ndarray, origin: tuple[int, int]
) -> tuple[str, tuple[ErrorSource, ...], tuple[ErrorSource, ...], tuple[bool, bool]]:
    """Unit of a contrast, the error sources of the area and of a band around it, and whether each zone allows
    temperatures."""
    if thermogram.scale != "temperature":
        return "count", (), (), (False, False)
    own = _whole(bits, origin, thermogram.shape)
    if thermogram.zones is None or len(thermogram.errors) < 2:
        known = thermogram.absolute[0] if thermogram.absolute else True
        errors = thermogram.errors_of(own)
        return "K", errors, errors, (known, known)
    band = grown(own, 4) & ~grown(own, 1)
    band = band if band.any() else own
    return (
        "K",
        thermogram.errors_of(own),
        thermogram.errors_of(band),
        (zone_allows_temperature(thermogram, own), zone_allows_temperature(thermogram, band)),
    )


def zone_of(thermogram: Thermogram, mask: np.ndarray) -> int:
    """Number of the zone that most pixels of a mask lie in; 0 when there are no zones."""
    if thermogram.zones is None or not mask.any():
        return 0
    return int(np.bincount(thermogram.zones[mask]).argmax())


def zone_allows_temperature(thermogram: Thermogram, mask: np.ndarray) -> bool:
    """False when unscaled or when the emissivity of the zone is fit for comparison only."""
    zone = zone_of(thermogram, mask)
    return thermogram.scale == "temperature" and (zone >= len(thermogram.absolute) or bool(thermogram.absolute[zone]))


def target_area(mask: np.ndarray, scale: PixelScale | None) -> Quantity | None:
    """Area on the target [m2] of the pixels of a mask of the whole picture, with bounds, every pixel with its own size.

    None when the size of a pixel is not known, for an empty mask and for one beyond the horizon of the surface.
    """
    return None if scale is None else scale.area_of(mask)


def _whole(bits: np.ndarray, origin: tuple[int, int], shape: tuple[int, int]) -> np.ndarray:
    """The pixels `bits` at `origin` in a picture of that shape."""
    x0, y0 = origin
    full = np.zeros(shape, bool)
    full[y0 : y0 + bits.shape[0], x0 : x0 + bits.shape[1]] = bits
    return full
