"""How sharp the edge of an area is."""

from __future__ import annotations

import numpy as np

from heatbrief.detect.field import Field
from heatbrief.detect.outline import grown, shrunk

_REACH = 10
"""Rings looked at on either side of the boundary."""


def edge_width(values: np.ndarray, field: Field, bits: np.ndarray, origin: tuple[int, int]) -> float | None:
    """Distance [px] over which 10 to 90 % of the step happens, from mean residuals of rings inside and outside the
    boundary.

    About 1.5 px is the sharpest that can be told. None when the step is under 3 times the scatter of a ring, when the
    area is
    too thin for two rings, or when the profile does not settle within 10 px.
    """
    window, mask = _framed(bits, origin, values.shape)
    residual = values[window] - field.expected[window]
    good = field.inside[window]
    profile: list[tuple[float, float, int]] = []
    for mask_now, step, start in ((mask, -1, -0.5), (~mask, 1, 0.5)):
        rest = mask_now
        for ring in range(_REACH):
            thinner = shrunk(rest) if step < 0 else ~grown(~rest, 1)
            found = residual[rest & ~thinner & good]
            if found.size < 4:
                break
            profile.append((start + step * ring, float(found.mean()), found.size))
            rest = thinner
    profile.sort()
    inner, outer = [p for p in profile if p[0] < 0], [p for p in profile if p[0] > 0]
    if len(inner) < 2 or len(outer) < 2:
        return None
    high, low = inner[0][1], outer[-1][1]
    if abs(high - low) < 3 * field.scatter(min(inner[0][2], outer[-1][2])):
        return None
    share = np.array([(value - low) / (high - low) for _, value, _ in profile])
    at = np.array([place for place, _, _ in profile])
    share = np.minimum.accumulate(share)
    if share[0] < 0.9 or share[-1] > 0.1:
        return None
    return float(np.interp(-0.1, -share, at) - np.interp(-0.9, -share, at))


def _framed(
    bits: np.ndarray, origin: tuple[int, int], shape: tuple[int, ...]
) -> tuple[tuple[slice, slice], np.ndarray]:
    """The area's box widened by the reach of the rings and cut to the picture, and the area's pixels in it."""
    x0, y0 = max(origin[0] - _REACH, 0), max(origin[1] - _REACH, 0)
    x1 = min(origin[0] + bits.shape[1] + _REACH, shape[1])
    y1 = min(origin[1] + bits.shape[0] + _REACH, shape[0])
    mask = np.zeros((y1 - y0, x1 - x0), bool)
    mask[origin[1] - y0 : origin[1] - y0 + bits.shape[0], origin[0] - x0 : origin[0] - x0 + bits.shape[1]] = bits
    return (slice(y0, y1), slice(x0, x1)), mask
