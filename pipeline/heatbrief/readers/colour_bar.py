"""Temperatures from a picture of colours by the colour bar in it, for any colours that tell its places apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heatbrief.api import ColourBar
from heatbrief.errors import StepError
from heatbrief.model.thermogram import Picture
from heatbrief.readers.colour_curve import Curve, sample_bar
from heatbrief.readers.colour_damage import OFF_LIMIT, matched, spread
from heatbrief.readers.colour_match import slopes
from heatbrief.readers.compression import Compression, luma_error

ZERO_CELSIUS_K = 273.15
MOST_PIXELS = 4_000_000
WIDEST = 0.1
"""Share of the bar: a place known worse than this is no reading."""
_TURNS = {"up": (0, True), "down": (0, False), "right": (1, False), "left": (1, True)}

Box = tuple[int, int, int, int]


@dataclass(frozen=True)
class _Reading:
    """share (height, width) along the bar, its standard uncertainty, and which pixels cannot be used.

    common  part of that uncertainty that neighbouring pixels have together, as a factor
    """

    share: np.ndarray
    standard: np.ndarray
    masked: np.ndarray
    common: float


def recover(rgb: np.ndarray, bar: ColourBar, compression: Compression | None) -> Picture:
    """Temperatures in kelvin of the thermal picture in (height, width, 3) colours of 0 to 255.

    Colours that are not on the bar are masked. StepError "colour-bar-outside", "colour-bar-short",
    "colour-bar-constant", "colour-bar-ambiguous", "colour-bar-ends", "too-large" or "no-values".
    """
    low, high = bar.ends
    if not (np.isfinite([low, high]).all() and -ZERO_CELSIUS_K < low < high):
        raise StepError(
            "colour-bar-ends",
            f"the colour bar cannot run from {low:g} to {high:g} degC",
            "Write ends: [cold end, warm end] with their units.",
        )
    height, width = rgb.shape[:2]
    left, top, across, down = area = bar.picture or (0, 0, width, height)
    for name, box in (("box", bar.box), ("picture", area), *(("overlays", one) for one in bar.overlays)):
        _check_box(name, box, width, height)
    if across * down > MOST_PIXELS:
        raise StepError(
            "too-large",
            f"the picture has {across} x {down} pixels; with a colour bar the limit is {MOST_PIXELS} in all",
            "Give `picture`, the box of the thermal picture in the file, or make the picture smaller.",
        )
    curve = sample_bar(_strip(rgb, bar), compression is not None)
    crop = np.ascontiguousarray(rgb[top : top + down, left : left + across])
    covered = np.zeros((height, width), bool)
    for box in bar.overlays:
        covered[_grown(box, compression)] = True
    covered[_slices(bar.box)] = True
    covered = covered[top : top + down, left : left + across]
    reading = _read(crop, covered, curve, compression, (left, top))
    return _picture(reading, covered, curve, bar)


def _check_box(name: str, box: Box, width: int, height: int) -> None:
    left, top, across, down = box
    if across < 1 or down < 1 or left < 0 or top < 0 or left + across > width or top + down > height:
        raise StepError(
            "colour-bar-outside",
            f"{name}: {list(box)} does not lie in the file's {width} x {height} pixels",
            "Write [left, top, width, height], counted from the top left of the file.",
        )


def _slices(box: Box) -> tuple[slice, slice]:
    left, top, across, down = box
    return slice(top, top + down), slice(left, left + across)


def _grown(box: Box, compression: Compression | None) -> tuple[slice, slice]:
    """The box, out to the edges of the blocks that it touches: compression smears within them."""
    left, top, across, down = box
    wide, tall = compression.block if compression else (1, 1)
    first, last = (
        (left // wide * wide, top // tall * tall),
        (-(-(left + across) // wide) * wide, -(-(top + down) // tall) * tall),
    )
    return slice(first[1], last[1]), slice(first[0], last[0])


def _strip(rgb: np.ndarray, bar: ColourBar) -> np.ndarray:
    """The bar as (length, width, 3), its cold end first."""
    axis, backward = _TURNS[bar.runs]
    strip = rgb[_slices(bar.box)]
    strip = strip if axis == 0 else strip.swapaxes(0, 1)
    return strip[::-1] if backward else strip


def _read(
    crop: np.ndarray, covered: np.ndarray, curve: Curve, compression: Compression | None, at: tuple[int, int]
) -> _Reading:
    packed = crop.astype(np.uint32) @ np.array([65536, 256, 1], np.uint32)
    unique, inverse = np.unique(packed, return_inverse=True)
    colours = np.stack([unique >> 16, unique >> 8 & 255, unique & 255], axis=-1).astype(np.float64)
    inverse = inverse.reshape(packed.shape)
    weight = np.bincount(inverse[~covered], minlength=len(unique))
    luma = None if compression is None else luma_error(crop, compression, at)
    found, common = matched(colours, weight, curve, luma)
    off = (found.residual > OFF_LIMIT)[inverse] & ~covered
    masked = covered | found.doubtful[inverse]
    masked |= spread(off, found.offset[inverse], compression, at)
    return _Reading(found.share[inverse], found.standard[inverse], masked, common)


def _picture(reading: _Reading, covered: np.ndarray, curve: Curve, bar: ColourBar) -> Picture:
    low, high = (end + ZERO_CELSIUS_K for end in bar.ends)
    span = high - low
    good = ~reading.masked & (reading.standard < WIDEST)
    if not good.any():
        raise StepError(
            "no-values",
            "no pixel of the picture has a colour of the colour bar",
            "Check the boxes of the bar and of the picture, and that both show the same set of colours.",
        )
    end = np.maximum(0.5 / curve.steps, reading.standard)
    share = np.where(reading.share < end, 0.0, np.where(reading.share > 1.0 - end, 1.0, reading.share))
    values = np.where(share >= 1.0, high, low + span * share)
    inside = good & (share > 0.0) & (share < 1.0)
    one, shared = _errors(reading, share, inside if inside.any() else good, curve)
    lost = int(np.count_nonzero(~good & ~covered))
    notes = [
        f"temperatures recovered from colours by the colour bar from {bar.ends[0]:g} to {bar.ends[1]:g} degC: "
        f"{span * one:.2g} K standard uncertainty of a pixel"
    ]
    if lost:
        notes.append(f"{lost} pixels masked whose colours are not, or not in one place, on the colour bar")
    return Picture(
        values=np.where(good, values, np.nan),
        kelvin=True,
        floor=low,
        ceiling=high,
        notes=tuple(notes),
        read_error=float(span * one),
        read_shared=float(np.hypot(bar.standard, span * shared)),
    )


def _errors(reading: _Reading, share: np.ndarray, used: np.ndarray, curve: Curve) -> tuple[float, float]:
    """Standard uncertainty of a pixel, and of what pixels have in common apart from the ends, as shares of the bar.

    Rounding is to levels of the bar, or of red, green and blue where these are coarser. Neighbours on one level share
    it, else it averages out.
    """
    colour = float(np.sqrt(np.mean(reading.standard[used] ** 2)))
    per_level = np.interp(reading.share[used], curve.share, 1.0 / np.maximum(np.hypot(*slopes(curve, np.eye(3))), 1e-6))
    rounding = float(np.sqrt(np.mean(np.maximum(1.0 / curve.steps, per_level) ** 2) / 12.0))
    pairs = used[:, 1:] & used[:, :-1]
    flat = float(np.mean(share[:, 1:][pairs] == share[:, :-1][pairs])) if pairs.any() else 1.0
    return float(np.hypot(colour, rounding)), float(
        np.sqrt((colour * reading.common) ** 2 + flat * rounding**2 + curve.loose**2)
    )
