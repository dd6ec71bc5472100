"""From decoded values to a Picture: scale or unit, size asked for, masks, ends of the recording range."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from heatbrief.api import Context
from heatbrief.errors import StepError
from heatbrief.model.thermogram import Picture
from heatbrief.physics.temperature_units import to_kelvin
from heatbrief.readers import moment
from heatbrief.readers.sidecar import sidecar_scale

HOTTEST_K = 10_000.0
COLOUR_REMEDY = (
    "Export the picture with its numbers: as a 16-bit greyscale TIFF or PNG, or as a table of temperatures. If there is "
    "only a PNG or JPEG with a colour bar, say with `scale: {bar: ...}` where the bar is and what its ends say."
)
MOST_TINT = 12
_LEAST_RANGE_OVER_TINT = 4
_LUMA = np.array([0.299, 0.587, 0.114])  # ITU-R BT.601


@dataclass(frozen=True)
class Decoded:
    """What a format's decoder hands over: (height, width) values, bits per value if whole counts, moment, notes."""

    values: np.ndarray
    bits: int | None = None
    taken: str = ""
    notes: tuple[str, ...] = ()


def colour_picture(layout: str) -> StepError:
    """The error for a picture in false colours, which are not monotonic in temperature."""
    return StepError(
        "colour-picture", f"the picture holds colours ({layout}), not temperatures or counts", COLOUR_REMEDY
    )


def transparent() -> StepError:
    """The error for a picture with transparent parts."""
    return StepError(
        "picture-layout",
        "parts of the picture are transparent",
        "Export the thermal picture alone, without transparency.",
    )


def grey_of(channels: np.ndarray, layout: str) -> tuple[np.ndarray, tuple[str, ...]]:
    """The grey levels of an (height, width, 3 or 4) array, and notes; StepError "colour-picture" when it has colours.

    Lossy compression tints grey a little: 8-bit levels up to `MOST_TINT` apart count as grey when the picture's own
    range is much wider than that.
    """
    if channels.shape[-1] < 3:
        raise colour_picture(layout)
    if channels.shape[-1] > 3 and channels[..., 3].min() != channels[..., 3].max():
        raise transparent()
    red, green, blue = (channels[..., at] for at in range(3))
    if np.array_equal(red, green) and np.array_equal(red, blue):
        return np.ascontiguousarray(red), ("all colours are grey; their level is taken",)
    colours = channels[..., :3]
    tint = int((colours.max(axis=-1) - colours.min(axis=-1)).max()) if channels.dtype == np.uint8 else MOST_TINT + 1
    luma = np.rint(colours @ _LUMA) if tint <= MOST_TINT else np.zeros(1)
    if np.ptp(luma) < _LEAST_RANGE_OVER_TINT * tint:
        raise colour_picture(layout)
    return luma.astype(np.uint8), (
        f"grey within {tint} of 255 levels, as lossy compression leaves it; the luma is taken",
    )


def assemble(decoded: Decoded, path: Path, context: Context) -> tuple[Picture, ...]:
    """The one Picture of the page asked for.

    StepError "picture-layout", "picture-size", "no-values", "scale-conflict" or "sidecar".
    """
    values = _plain(decoded.values)
    check_size(values, context)
    scale, unit, notes = _meaning(path, context)
    picture = Picture(
        values=values, kelvin=False, taken=decoded.taken or moment.from_name(path.stem), notes=decoded.notes + notes
    )
    if values.dtype.kind in "ui":
        floor, ceiling = _ends(decoded, values.dtype)
        picture = replace(picture, floor=floor, ceiling=ceiling)
    if unit:
        picture = _temperatures(picture, unit)
    elif scale is not None:
        picture = replace(picture, scale=scale)
    if picture.values.dtype.kind == "f":
        picture = _masked(picture)
    return (picture,)


def _plain(values: np.ndarray) -> np.ndarray:
    """uint8, uint16, int16 kept; other numbers as float64, float32 as it is; native byte order."""
    if values.ndim != 2 or values.dtype.kind not in "uifb":
        raise StepError(
            "picture-layout",
            f"the values have the shape {values.shape} and the type {values.dtype}",
            "Give one number for each pixel, in rows and columns.",
        )
    native = values.astype(values.dtype.newbyteorder("="), copy=False)
    kept = {"b1": np.uint8, "u1": np.uint8, "u2": np.uint16, "i1": np.int16, "i2": np.int16, "f4": np.float32}
    target = kept.get(f"{native.dtype.kind}{native.dtype.itemsize}", np.float64)
    with np.errstate(over="ignore", invalid="ignore"):
        return np.ascontiguousarray(native.astype(target, copy=False))


def check_size(values: np.ndarray, context: Context) -> None:
    """StepError "picture-size" unless the picture has the size that the manifest says, if it says one."""
    height, width = values.shape
    if context.view.size is not None and tuple(context.view.size) != (width, height):
        asked = " x ".join(str(side) for side in context.view.size)
        raise StepError(
            "picture-size",
            f"the picture has {width} x {height} pixels; the manifest says {asked}",
            "Correct `size`, or give the picture that was meant.",
        )


def _meaning(path: Path, context: Context) -> tuple[tuple[float, float] | None, str, tuple[str, ...]]:
    """Scale and unit: from the manifest, else from a file beside the picture."""
    scale, unit = context.view.scale, context.view.values_unit
    if scale is not None and unit:
        raise StepError(
            "scale-conflict",
            "both a scale for counts and a unit for temperatures are given",
            "Keep `kelvin_per_count` for counts, or `values` for temperatures.",
        )
    if scale is not None or unit:
        return scale, unit, ()
    scale, unit = sidecar_scale(path)
    notes = () if scale is None and not unit else (f"scale read from {path.name}.yaml",)
    return scale, unit, notes


def _ends(decoded: Decoded, dtype: np.dtype) -> tuple[float, float]:
    info = np.iinfo(dtype)
    bits = decoded.bits
    if dtype.kind == "u" and bits is not None and 8 <= bits < info.bits:
        return 0.0, float(2**bits - 1)
    return float(info.min), float(info.max)


def _temperatures(picture: Picture, unit: str) -> Picture:
    try:
        kelvin = to_kelvin(picture.values, unit)
        floor, ceiling = (
            None if end is None else float(to_kelvin(end, unit)) for end in (picture.floor, picture.ceiling)
        )
    except KeyError:
        raise StepError("unknown-unit", f"temperatures cannot be in {unit!r}", "Use degC, kelvin or degF.") from None
    return replace(picture, values=kelvin, kelvin=True, floor=floor, ceiling=ceiling)


def _masked(picture: Picture) -> Picture:
    """Infinite values, and temperatures that no surface has, become NaN; StepError "no-values" when none is left."""
    values, notes = picture.values, picture.notes
    good = np.isfinite(values)
    if picture.kelvin:
        possible = good & (values > 0.0) & (values <= HOTTEST_K)
        strange = int(np.count_nonzero(good) - np.count_nonzero(possible))
        if strange:
            notes += (f"{strange} pixels below absolute zero or above {HOTTEST_K:g} K masked",)
        good = possible
    if not good.any():
        raise StepError(
            "no-values",
            "no pixel of the picture holds a usable number",
            "Check the export, and the unit or scale given for it.",
        )
    if not good.all():
        values = np.where(good, values, values.dtype.type(np.nan))
    return replace(picture, values=values, notes=notes)
