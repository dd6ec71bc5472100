"""A place against what is around it, and how one picture is laid over another."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.compare.pixels import standout, wet_pixels
from heatbrief.compare.register import shift_between

RNG = np.random.default_rng(5)


def surface(height=80, width=100, level=21.0):
    return level + RNG.normal(0, 0.05, (height, width))


def box(x0, y0, x1, y1, shape=(80, 100)):
    mask = np.zeros(shape, bool)
    mask[y0:y1, x0:x1] = True
    return mask


def test_the_planted_contrast_is_within_its_bounds():
    values, place = surface(), box(40, 30, 60, 45)
    values[place] -= 2.5
    found = standout(values, place, np.ones_like(place))
    assert abs(found.value + 2.5) < 1.96 * found.standard and abs(found.around - 21.0) < 0.05


def test_a_common_offset_of_the_camera_cancels():
    values, place = surface(), box(40, 30, 60, 45)
    values[place] += 3.0
    one, two = standout(values, place, np.ones_like(place)), standout(values + 1.7, place, np.ones_like(place))
    assert one.value == pytest.approx(two.value) and two.around == pytest.approx(one.around + 1.7)


def test_another_finding_beside_it_is_no_plain_surface():
    values, place, other = surface(), box(40, 30, 50, 40), box(53, 20, 75, 50)
    values[place] -= 2.0
    values[other] -= 6.0
    assert standout(values, place, np.ones_like(place), other).value == pytest.approx(-2.0, abs=0.1)


@pytest.mark.parametrize("mask", [np.zeros((80, 100), bool), box(3, 3, 4, 4), np.ones((80, 100), bool)])
def test_too_few_pixels_give_nothing(mask):
    assert standout(surface(), mask, np.ones_like(mask)) is None


def test_masked_pixels_are_left_out():
    values, place = surface(), box(40, 30, 60, 45)
    values[place] += 4.0
    values[30:36, 40:60] = np.nan
    assert standout(values, place, np.ones_like(place)).value == pytest.approx(4.0, abs=0.2)


def test_wet_pixels_are_those_past_the_threshold():
    values, wet = np.full((80, 100), 21.0), box(40, 30, 60, 45)
    values[wet] -= 3.0
    assert abs(wet_pixels(values, np.ones_like(wet), 21.0, -1.5) - wet.sum()) <= 70


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_moved_view_is_found_whatever_the_season(sign):
    from scipy.ndimage import gaussian_filter, shift

    detail = 8 * gaussian_filter(np.random.default_rng(1).normal(0, 1, (80, 100)), 1.5)
    before = 20.0 + detail
    after = 28.0 + sign * shift(detail, (-2.0, 3.0), order=1, mode="nearest")
    assert shift_between(before, after, sign < 0) == pytest.approx((-3.0, 2.0), abs=0.2)


def test_along_stripes_no_shift_is_claimed():
    stripes = 20.0 + np.repeat(np.sin(np.arange(100) / 3.0)[None, :], 80, axis=0)
    moved = np.roll(stripes, 2, axis=1) + RNG.normal(0, 0.02, stripes.shape)
    assert shift_between(stripes, moved, False)[1] == 0.0
