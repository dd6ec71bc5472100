"""What changed between two pictures of one view, as a picture that can be searched like any other."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from heatbrief.detect.registration import shifts
from heatbrief.detect.shared import common_share
from heatbrief.errors import StepError
from heatbrief.model.thermogram import ErrorSource, Thermogram

REACH = 3
"""A camera on its stand moves by no more pixels than this (our own choice)."""


@dataclass(frozen=True)
class Change:
    """Later minus earlier picture.

    picture   values are the change plus `base` [K or counts], so that what stayed reads `base`; noise of both
              pictures counts
    base      the typical value of the later picture
    shift     (x, y) by which the earlier picture was moved to fit the later [px]
    """

    picture: Thermogram
    base: float
    shift: tuple[int, int]


def change_of(later: Thermogram, earlier: Thermogram) -> Change:
    """The change from one picture to the other. Shade, materials, reflections and errors that stayed drop out.

    A camera that moved by up to REACH pixels is followed in whole pixels (`registration.shifts`), so that no noise is
    averaged away; pixels without a partner are masked. Raises StepError when the pictures differ in size or scale.
    """
    if later.shape != earlier.shape or later.scale != earlier.scale:
        raise StepError(
            "sequence-not-alike",
            f"{later.id} and {earlier.id} differ in size or scale",
            "Use pictures of one camera from one place.",
        )
    moved = shifts([later.values, earlier.values])[1]
    # What went further is a shadow or a thing in the scene; a steadied camera does not.
    shift = (round(moved.x), round(moved.y)) if moved.length < REACH + 0.5 else (0, 0)
    before = _moved(earlier.values, shift)
    base = float(np.nanmedian(later.values)) if later.valid.any() else 0.0
    values = (later.values - before + np.float32(base)).astype(np.float32)
    errors = tuple(tuple(_left(zone, math.hypot(*shift))) for zone in later.errors)
    return Change(replace(later, values=values, errors=errors), base, shift)


def _left(zone: Iterable[ErrorSource], shift: float) -> Iterable[ErrorSource]:
    """What errors do to the change: independent ones of both pictures add in quadrature, those fixed to a place in the
    picture differ only by how far it moved, other shared ones act only as their effect varies."""
    for source in zone:
        apart = 1.0 if not source.shared else 1.0 - common_share(shift, source.reach)
        yield (
            source
            if source.shared and source.reach is None
            else replace(source, standard=source.standard * math.sqrt(2.0 * apart))
        )


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
