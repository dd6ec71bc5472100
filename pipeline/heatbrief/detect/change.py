"""What changed between two pictures of one view, as a picture that can be searched like any other."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from heatbrief.errors import StepError
from heatbrief.model.thermogram import ErrorSource, Thermogram

REACH = 3


@dataclass(frozen=True)
class Change:
    """Later minus earlier picture.

    picture   values are the change plus `base` [K or counts], so that what stayed reads `base`; noise of both
              pictures counts
    base      the typical value of the later picture
    shift     (x, y) by which the earlier picture was moved to fit the later [px]; within REACH
    """

    picture: Thermogram
    base: float
    shift: tuple[int, int]


def change_of(later: Thermogram, earlier: Thermogram) -> Change:
    """The change from one picture to the other. Shade, materials, reflections and errors that stayed drop out.

    A camera that moved by up to REACH pixels is followed in whole pixels; pixels without a partner are masked. Raises
    StepError
    when the pictures differ in size or scale.
    """
    if later.shape != earlier.shape or later.scale != earlier.scale:
        raise StepError(
            "sequence-not-alike",
            f"{later.id} and {earlier.id} differ in size or scale",
            "Use pictures of one camera from one place.",
        )
    shift = _shift(later.values, earlier.values)
    before = _moved(earlier.values, shift)
    base = float(np.nanmedian(later.values)) if later.valid.any() else 0.0
    values = (later.values - before + np.float32(base)).astype(np.float32)
    errors = tuple(tuple(_doubled(zone)) for zone in later.errors)
    return Change(replace(later, values=values, errors=errors), base, shift)


def _doubled(zone: Iterable[ErrorSource]) -> Iterable[ErrorSource]:
    """Independent errors of both pictures add in quadrature; shared ones act on the change only as their effect
    varies."""
    for source in zone:
        yield source if source.shared else replace(source, standard=source.standard * 2.0**0.5)


def _shift(later: np.ndarray, earlier: np.ndarray) -> tuple[int, int]:
    """The whole-pixel shift that makes the fine detail of both agree best; none unless clearly better than none."""
    first, second = _detail(earlier), _detail(later)
    edge = REACH + 1
    inner = second[edge:-edge, edge:-edge]
    if min(inner.shape) < 16:
        return 0, 0
    height, width = second.shape
    scores = {}
    for y in range(-REACH, REACH + 1):
        for x in range(-REACH, REACH + 1):
            part = first[edge - y : height - edge - y, edge - x : width - edge - x]
            scores[x, y] = float(np.nanmean(np.abs(inner - part)))
    best = min(scores, key=lambda one: (scores[one], abs(one[0]) + abs(one[1]), one))
    return best if scores[best] < 0.9 * scores[0, 0] else (0, 0)


def _detail(values: np.ndarray) -> np.ndarray:
    """A picture less its own large scale."""
    from scipy.ndimage import uniform_filter

    filled = np.where(np.isfinite(values), values, np.nanmedian(values) if np.isfinite(values).any() else 0.0)
    return uniform_filter(filled, 3) - uniform_filter(filled, 11)


def _moved(values: np.ndarray, shift: tuple[int, int]) -> np.ndarray:
    x, y = shift
    if (x, y) == (0, 0):
        return values
    moved = np.full_like(values, np.nan)
    height, width = values.shape
    moved[max(y, 0) : height + min(y, 0), max(x, 0) : width + min(x, 0)] = values[
        max(-y, 0) : height + min(-y, 0), max(-x, 0) : width + min(-x, 0)
    ]
    return moved
