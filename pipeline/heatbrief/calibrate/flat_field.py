"""Lens shading and fixed pattern from frames of one camera: only what repeats from frame to frame is removed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from heatbrief.errors import StepError
from heatbrief.model.flat_field import FlatField
from heatbrief.model.thermogram import ErrorSource, Picture

LEAST_SCENES = 8
"""Ordinary pictures needed before what they share counts as the camera's: our choice."""
LEAST_CORRELATION = 0.5
"""Below this correlation of two frames a slow pattern is taken as passing; smooth scenes agree by chance up to 0.5."""
SMOOTH_SHARE = 24
"""The slow part is what a Gaussian of this share of the shorter side leaves."""
MOST_PIXELS = 64_000_000
"""In all frames together: more would need more than a gigabyte of memory."""
_PLANE_ROUNDS = 6
_MOST_FIT_PIXELS = 20_000


@dataclass(frozen=True)
class Parts:
    """A frame's pattern, split: slow and pixels (height, width), columns (1, width), rows (height, 1)."""

    slow: np.ndarray
    columns: np.ndarray
    rows: np.ndarray
    pixels: np.ndarray


@dataclass(frozen=True)
class Shared:
    """What frames share of one part: best prediction for a new picture, variance that stays, correlation."""

    best: np.ndarray
    left: float
    correlation: float


def shading_of(pictures: Sequence[Picture], of: str = "even surface") -> FlatField:
    """The pattern that frames of one camera share, as a FlatField without the names of its frames.

    of   "even surface": each frame shows one temperature; what differs from its median is the camera's.
         "many scenes": ordinary pictures; each loses its robust plane, and what is left is the camera's as far as the
         frames share it. At least `LEAST_SCENES` are needed.
    Every part is weighted by how well the frames agree about it: the linear prediction of least square error, weight
    C / (C + V / n) with C the covariance of two frames and V the variance of one about what they share. One frame alone
    cannot tell single pixels from noise, so these are left alone. StepError "flat-field" for frames that do not belong
    together, or too few of them.
    """
    _check(pictures, of)
    frames = [parts_of(_residual(np.asarray(one.values, np.float64), of == "many scenes")) for one in pictures]
    slow = shared([one.slow for one in frames], of, LEAST_CORRELATION)
    columns, rows = shared([one.columns for one in frames], of), shared([one.rows for one in frames], of)
    pixels = shared([one.pixels for one in frames], of) if len(frames) > 1 else Shared(np.zeros((1, 1)), 0.0, 0.0)
    pattern = np.asarray(slow.best + columns.best + rows.best + pixels.best, np.float32)
    pattern -= np.float32(np.median(pattern))
    first = pictures[0]
    return FlatField(
        frames=(),
        of=of,
        pattern=pattern,
        kelvin=first.kelvin,
        step=None if first.scale is None else first.scale[0],
        smooth=float(np.sqrt(slow.left)),
        lines=float(np.sqrt(columns.left + rows.left)),
        notes=_notes(len(frames), slow),
        used=len(frames),
    )


def parts_of(residual: np.ndarray) -> Parts:
    """Split a frame's residual (height, width) into its four parts, which add up to it."""
    from scipy.ndimage import gaussian_filter, median_filter

    calm = median_filter(residual, 5, mode="nearest")
    slow = gaussian_filter(calm, max(3.0, min(residual.shape) / SMOOTH_SHARE), mode="nearest")
    rest = residual - slow
    columns = np.median(rest, axis=0, keepdims=True)
    rest = rest - columns
    rows = np.median(rest, axis=1, keepdims=True)
    return Parts(slow, columns, rows, rest - rows)


def shared(frames: Sequence[np.ndarray], of: str = "even surface", least: float = 0.0) -> Shared:
    """What frames agree on in one part; nothing below the correlation `least`."""
    data = np.stack(frames)
    count, spread = len(data), float(data.var(axis=tuple(range(1, data.ndim))).mean())
    centre = np.median(data, axis=0) if count > 2 else data.mean(axis=0)
    if count == 1:
        # One frame does not say whether its pattern repeats: it is taken, and may be wrong by all of itself.
        return Shared(centre, spread, 0.0)
    flat = data.reshape(count, -1) - data.reshape(count, -1).mean(axis=1, keepdims=True)
    products = flat @ flat.T / flat.shape[1]
    common = float((products.sum() - np.trace(products)) / (count * (count - 1)))
    own = max(spread - common, 0.0)
    correlation = common / spread if spread > 0.0 else 0.0
    if common <= 0.0 or correlation < least:
        return Shared(np.zeros_like(centre), max(common, 0.0) if of == "many scenes" else spread, correlation)
    weight = common / (common + own / count)
    # Ordinary scenes differ by what they show, so only the error of the estimate stays; even surfaces by the camera.
    return Shared(weight * centre, weight * own / count + (own if of == "even surface" else 0.0), correlation)


def without_shading(picture: Picture, field: FlatField) -> tuple[Picture, tuple[str, ...]]:
    """The picture less the camera's pattern with its error sources added, and notes; unchanged when it does not fit."""
    if field.pattern is None:
        return picture, field.notes
    factor = _factor(picture, field)
    if field.pattern.shape != picture.values.shape or factor is None:
        why = "size" if field.pattern.shape != picture.values.shape else "scale"
        return picture, (*field.notes, f"the flat field was not used: its frames differ from the picture in {why}")
    kelvin = 1.0 if picture.kelvin else None if picture.scale is None else abs(picture.scale[0])
    if kelvin is not None:
        carried = _errors(field, abs(factor) * kelvin, min(field.pattern.shape))
        picture = replace(picture, errors=(*picture.errors, *carried))
    if not field.pattern.any():
        return picture, field.notes
    swing = float(np.percentile(field.pattern, 98) - np.percentile(field.pattern, 2)) * abs(factor) * (kelvin or 1.0)
    unit = "counts" if kelvin is None else "K"
    said = f"flat field of {field.used} frame{'s' * (field.used > 1)} removed, {swing:.3g} {unit} from end to end"
    values = np.asarray(picture.values, np.float64) - factor * field.pattern
    return replace(picture, values=values), (said, *field.notes)


def _factor(picture: Picture, field: FlatField) -> float | None:
    """Units of the picture in one unit of the pattern, or None when that is not known."""
    if picture.kelvin == field.kelvin:
        if picture.kelvin or field.step is None or picture.scale is None:
            return 1.0
        return field.step / picture.scale[0]
    if picture.kelvin:
        return field.step
    return None if picture.scale is None else 1.0 / picture.scale[0]


def _errors(field: FlatField, kelvin: float, side: int) -> tuple[ErrorSource, ...]:
    sources = (
        ErrorSource("lens shading", "lens shading", field.smooth * kelvin, "K", (293.15,), (1.0,), reach=side / 6),
        ErrorSource("rows and columns", "rows and columns", field.lines * kelvin, "K", (293.15,), (1.0,), reach=1.0),
    )
    return tuple(one for one in sources if one.standard > 0.0)


def _check(pictures: Sequence[Picture], of: str) -> None:
    if not pictures:
        raise StepError(
            "flat-field", "no frame of the flat field can be used", "Check the files named in camera: flat_field."
        )
    first = pictures[0]
    if any(
        one.values.shape != first.values.shape or one.kelvin != first.kelvin or one.scale != first.scale
        for one in pictures
    ):
        raise StepError(
            "flat-field", "the frames of the flat field differ in size or scale", "Take all with one camera."
        )
    if len(pictures) * first.values.size > MOST_PIXELS:
        raise StepError("flat-field", "the frames of the flat field are too many or too large", "Name fewer frames.")
    if min(first.values.shape) < 16:
        raise StepError("flat-field", "the frames of the flat field are too small", "Use whole frames of the camera.")
    if of == "many scenes" and len(pictures) < LEAST_SCENES:
        raise StepError(
            "flat-field",
            f"{len(pictures)} ordinary pictures do not show what is the camera's; at least {LEAST_SCENES} are needed",
            "Name more pictures of different scenes, or photograph an even surface.",
        )


def _residual(values: np.ndarray, plane: bool) -> np.ndarray:
    """A frame less its median, or less its robust plane; masked pixels count as 0."""
    good = np.isfinite(values)
    if not good.any():
        return np.zeros(values.shape)
    level = _plane(values, good) if plane else np.median(values[good])
    return np.where(good, values - level, 0.0).astype(np.float32)


def _plane(values: np.ndarray, good: np.ndarray) -> np.ndarray:
    """Plane through a picture by iterated weights (Huber 1.345 sigma), on a sample of its pixels."""
    height, width = values.shape
    y, x = np.mgrid[-1.0 : 1.0 : height * 1j, -1.0 : 1.0 : width * 1j]
    at = np.flatnonzero(good)[:: max(1, int(np.count_nonzero(good)) // _MOST_FIT_PIXELS)]
    terms, data = np.column_stack([np.ones(at.size), x.flat[at], y.flat[at]]), values.flat[at]
    weights: np.ndarray = np.ones(at.size)
    found: np.ndarray = np.zeros(3)
    for _ in range(_PLANE_ROUNDS):
        found = np.linalg.lstsq(terms * weights[:, None], data * weights, rcond=None)[0]
        off = np.abs(data - terms @ found)
        weights = np.sqrt(np.minimum(1.0, 1.345 * 1.4826 * np.median(off) / np.maximum(off, 1e-12)))
    result: np.ndarray = found[0] + found[1] * x + found[2] * y
    return result


def _notes(count: int, slow: Shared) -> tuple[str, ...]:
    if count == 1:
        return (
            "one frame cannot show whether its pattern repeats: its whole size is kept as an error; name two or more",
        )
    if not np.any(slow.best):
        return (
            f"the {count} frames of the flat field do not agree on the slow shading "
            f"(correlation {slow.correlation:.2f}): it comes and goes, so it is not removed but counted as an error",
        )
    return ()
