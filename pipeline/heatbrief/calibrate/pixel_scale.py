"""Size of a pixel on the target, from what the manifest states."""

from __future__ import annotations

import math

from heatbrief.api import Context
from heatbrief.model.thermogram import PixelScale
from heatbrief.physics.geometry import footprint, tilt_area_factor

STATED_RELATIVE = 0.02
DISTANCE_RELATIVE = 0.05
LENS_RELATIVE = 0.01
TILT_UNSTATED_DEG = 3.0
UNKNOWN_TILT_RELATIVE = 0.03
"""A view meant to be square on is off by some 15 degrees at most: 3.5 % in area. Our choices, all of them."""


def pixel_scale(context: Context, width: int, height: int) -> PixelScale | None:
    """Pixel size with its relative standard uncertainty as a length, or None when nothing states it."""
    view = context.view
    if view.pixel_size is not None and view.pixel_size.value > 0.0:
        side = view.pixel_size
        return PixelScale(side.value, side.value, side.standard / side.value or STATED_RELATIVE, "pixel size given")
    field = context.camera.field_of_view
    if view.distance is None or view.distance.value <= 0.0 or field is None:
        return None
    across, down = field if (width >= height) == (field[0] >= field[1]) else field[::-1]
    covered = footprint(view.distance.value, (across, down), (width, height))
    factor, tilt_relative = _tilt(context)
    far = view.distance.standard / view.distance.value or DISTANCE_RELATIVE
    # Which way the surface leans is not known; the square root keeps the area right.
    stretch = math.sqrt(factor)
    return PixelScale(
        covered.pixel_width_m * stretch,
        covered.pixel_height_m * stretch,
        math.hypot(far, LENS_RELATIVE, tilt_relative),
        "distance and field of view",
    )


def _tilt(context: Context) -> tuple[float, float]:
    """(area factor, relative standard uncertainty of a length) of a tilted surface."""
    tilt = context.view.tilt
    if tilt is None:
        return 1.0, UNKNOWN_TILT_RELATIVE
    angle = min(max(tilt.value, 0.0), 85.0)
    spread = math.radians(tilt.standard or TILT_UNSTATED_DEG)
    return float(tilt_area_factor(angle)), 0.5 * math.tan(math.radians(angle)) * spread
