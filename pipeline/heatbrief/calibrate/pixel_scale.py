"""Size of a pixel on the target, from what the manifest states."""

from __future__ import annotations

import math

import numpy as np

from heatbrief.api import Camera, Context, Rectangle, StepError
from heatbrief.model.pixel_scale import PixelScale
from heatbrief.physics.geometry import Homography, field_of_view_deg, fit_homography, footprint, tilt_area_factor

STATED_RELATIVE = 0.02
DISTANCE_RELATIVE = 0.05
LENS_RELATIVE = 0.01
TILT_UNSTATED_DEG = 3.0
UNKNOWN_TILT_RELATIVE = 0.03
"""A view meant to be square on is off by some 15 degrees at most: 3.5 % in area. Our choices, all of them."""
LENGTH_UNSTATED = 0.005
CORNER_PX = 0.5
"""Standard uncertainty of a side measured with a tape, and of a corner pointed at in the picture. Our choices."""


def pixel_scale(context: Context, width: int, height: int) -> PixelScale | None:
    """Pixel size with its uncertainty, or None when nothing states it.

    A known rectangle wins over a stated pixel size, that over distance and lens. StepError "known-rectangle".
    """
    view = context.view
    if view.rectangle is not None:
        return _from_rectangle(view.rectangle)
    if view.pixel_size is not None and view.pixel_size.value > 0.0:
        side = view.pixel_size
        return PixelScale(side.value, side.value, side.standard / side.value or STATED_RELATIVE, "pixel size given")
    field = field_of(context.camera, width, height)
    if view.distance is None or view.distance.value <= 0.0 or field is None:
        return None
    covered = footprint(view.distance.value, field, (width, height))
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


def field_of(camera: Camera, width: int, height: int) -> tuple[float, float] | None:
    """Angles across and down [deg] of a picture of this size, as stated or from pixel pitch and focal length."""
    field = camera.field_of_view
    if field is not None:
        return field if (width >= height) == (field[0] >= field[1]) else field[::-1]
    if camera.pixel_pitch is None or camera.focal_length is None:
        return None
    across, down = (field_of_view_deg(side, camera.pixel_pitch, camera.focal_length) for side in (width, height))
    return across, down


def _tilt(context: Context) -> tuple[float, float]:
    """(area factor, relative standard uncertainty of a length) of a tilted surface."""
    tilt = context.view.tilt
    if tilt is None:
        return 1.0, UNKNOWN_TILT_RELATIVE
    angle = min(max(tilt.value, 0.0), 85.0)
    spread = math.radians(tilt.standard or TILT_UNSTATED_DEG)
    return float(tilt_area_factor(angle)), 0.5 * math.tan(math.radians(angle)) * spread


def _from_rectangle(known: Rectangle) -> PixelScale:
    sides = np.array([known.width.value, known.height.value])
    corners = np.asarray(known.corners, float)
    best = _mapping(corners, sides)
    spread = [one.standard or LENGTH_UNSTATED * one.value for one in (known.width, known.height)]
    moved = [_mapping(corners, sides + step) for step in np.diag(spread)]
    moved += [_mapping(corners + step.reshape(4, 2), sides) for step in CORNER_PX * np.eye(8)]
    middle = _middle(corners)
    width, height = _extent(best, middle)
    area = float(best.scale(middle))
    change = math.sqrt(math.fsum((float(one.scale(middle)) / area - 1.0) ** 2 for one in moved))
    # Rows and columns of pixels are not square to each other on a slanting surface; their product is kept the area.
    square = math.sqrt(area / (width * height))
    return PixelScale(
        width * square, height * square, change / 2.0, "known rectangle", _numbers(best), tuple(map(_numbers, moved))
    )


def _mapping(corners: np.ndarray, sides: np.ndarray) -> Homography:
    try:
        return fit_homography(corners, np.array([(0, 0), (1, 0), (1, 1), (0, 1)], float) * sides)
    except ValueError as error:
        raise StepError(
            "known-rectangle",
            f"the known rectangle cannot be used: {error}",
            "Give its four corners in order around it.",
        ) from None


def _middle(corners: np.ndarray) -> np.ndarray:
    """Where the diagonals cross: the picture of the rectangle's middle."""
    (a, b, c, d) = corners
    across, other = c - a, d - b
    along = ((b - a)[0] * other[1] - (b - a)[1] * other[0]) / (across[0] * other[1] - across[1] * other[0])
    result: np.ndarray = a + along * across
    return result


def _extent(mapping: Homography, place: np.ndarray) -> tuple[float, float]:
    """Length on the surface of a step of one pixel to the right and of one down."""
    ends = mapping.map(place + np.array([(0.5, 0), (-0.5, 0), (0, 0.5), (0, -0.5)]))
    return float(np.hypot(*(ends[0] - ends[1]))), float(np.hypot(*(ends[2] - ends[3])))


def _numbers(mapping: Homography) -> tuple[float, ...]:
    return tuple(float(number) for number in mapping.matrix.ravel())
