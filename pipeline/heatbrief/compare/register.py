"""How the later picture of a view has to be moved to lie on the earlier one."""

from __future__ import annotations

import numpy as np

from heatbrief.detect.registration import NEGLIGIBLE, shifts

MOST = 0.12
"""Shifts beyond this share of the shorter side are not believed: the regions would have to be drawn again."""
PLAINER = 1.03
"""A plainer shift is taken when what it leaves different is at most this many times what the full one leaves."""


def shift_between(before: np.ndarray, after: np.ndarray, reversed_drive: bool) -> tuple[float, float]:
    """(x, y) [px], to the right and down; (0, 0) where no shift explains more than none.

    before, after    temperatures (height, width), NaN allowed
    reversed_drive   True when what was warm before is cold after, as between winter and summer
    Along stripes a shift cannot be seen; of shifts that explain about as much the plainest is taken.
    """
    found = shifts([before, -after if reversed_drive else after])[1]
    if not found.found or found.length <= NEGLIGIBLE or found.length > MOST * min(before.shape):
        return 0.0, 0.0
    one, two = _detail(before), _detail(-after if reversed_drive else after)
    options = ((0.0, 0.0), (found.x, 0.0), (0.0, found.y), (found.x, found.y))
    left = [_left(one, two, x, y) for x, y in options]
    return next(option for option, rest in zip(options, left, strict=True) if rest <= PLAINER * left[-1])


def _detail(values: np.ndarray) -> np.ndarray:
    """Edges at the scale of a few pixels, in proportion to their own usual size."""
    from scipy.ndimage import gaussian_filter

    filled = np.where(np.isfinite(values), values, np.nanmedian(values))
    detail = gaussian_filter(filled, 1.0) - gaussian_filter(filled, 5.0)
    usual = 1.4826 * float(np.median(np.abs(detail))) or 1.0
    return np.tanh(detail / (4.0 * usual))


def _left(one: np.ndarray, two: np.ndarray, x: float, y: float) -> float:
    from scipy.ndimage import shift

    moved = shift(two, (y, x), order=1, mode="constant", cval=np.nan)
    both = np.isfinite(moved)
    return float(np.sqrt(np.mean(np.square(one[both] - moved[both])))) if both.any() else float("inf")
