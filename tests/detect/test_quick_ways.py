"""Quick ways give what the plain ones do: those of scipy and numpy, or a search of the whole picture."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from heatbrief.detect import areas, cells, fit_field, mask_key, once, read_region
from heatbrief.detect.field import box_mean, sum3
from heatbrief.model import ErrorSource
from heatbrief.model.once import mean_of
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import binary_dilation, correlate, gaussian_filter, label

SHAPES = ((1, 1), (1, 6), (5, 1), (2, 2), (2, 7), (3, 3), (3, 2), (24, 31))
EIGHT = np.ones((3, 3))


def plainly_standing_out(level, good, high, low, smallest):
    """The definition: every piece of the whole picture is looked at."""
    kept = np.zeros(level.shape, bool)
    labels, count = label((level > low) & good, EIGHT)
    for number in range(1, count + 1):
        piece = labels == number
        if (level[piece] > high).any() and piece.sum() >= smallest:
            kept |= piece & (level >= 0.5 * np.percentile(level[piece], 70.0))
    return kept


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    patches=st.lists(
        st.tuples(st.integers(0, 150), st.integers(0, 110), st.integers(1, 150), st.integers(1, 90), st.floats(0.4, 9)),
        max_size=4,
    ),
    masked=st.booleans(),
)
def test_nothing_that_stands_out_is_missed(seed, patches, masked):
    """Areas are looked for about their starts only; long ones reach far beyond, and many are noise."""
    random = np.random.default_rng(seed)
    values = random.normal(0.0, 0.45, (120, 160))
    for x, y, width, height, kelvin in patches:
        values[y : y + height, x : x + width] += kelvin
    good = np.ones(values.shape, bool)
    if masked:
        good[random.integers(0, 100) :, random.integers(0, 140) :] = False
    level = box_mean(values.astype(np.float32), good)
    for sign, part in (("warm", level), ("cold", -level)):
        wanted = plainly_standing_out(part, good, 0.9, 0.375, 9)
        assert np.array_equal(areas._standing_out(part, good, 0.9, 0.375, 9), wanted)
        if wanted.any():
            assert sign in areas._signs("either", level, 0.9) and areas._signs(sign, level, 0.9) == (sign,)


def test_an_area_that_winds_through_the_whole_picture_is_found_whole():
    level = np.zeros((200, 260), np.float32)
    level[5, 5:255] = level[5:195, 254] = level[194, 5:255] = level[60:195, 5] = 1.0
    level[100, 100] = 9.0
    level[5, 120] = 4.0
    found = areas._standing_out(level, np.ones(level.shape, bool), 2.0, 0.5, 9)
    assert np.array_equal(found, plainly_standing_out(level, np.ones(level.shape, bool), 2.0, 0.5, 9))
    assert found.sum() > 700 and not found[100, 100]


@pytest.mark.parametrize("shape", SHAPES)
def test_sums_and_means_of_neighbours(shape):
    values = np.random.default_rng(1).normal(0.0, 1.0, shape).astype(np.float32)
    total = correlate(values.astype(float), EIGHT, mode="constant")
    count = correlate(np.ones(shape), EIGHT, mode="constant")
    assert sum3(values) == pytest.approx(total, abs=1e-5)
    assert box_mean(values, np.ones(shape, bool)) == pytest.approx(total / count, abs=1e-5)


def test_blur_and_widening_of_cells_are_those_of_scipy():
    random = np.random.default_rng(2)
    for shape, width in (((26, 34), 3.12), ((5, 40), 2.0), ((1, 3), 2.0)):
        grid = random.normal(0.0, 1.0, shape)
        ours = cells.blur_of(shape[0], width) @ grid @ cells.blur_of(shape[1], width).T
        assert ours == pytest.approx(gaussian_filter(grid, width, mode="constant"), abs=1e-12)
        mask = grid > 1.0
        assert np.array_equal(cells.with_neighbours(mask), binary_dilation(mask, np.ones((3, 3), bool)))


def test_means_about_a_field_are_those_of_what_is_expected_now(make):
    """What a fit has worked out is used for its own picture and field only."""
    thermogram = make.picture((90, 120), [(40, 30, 60, 45, 2.0)])
    inside = np.ones(thermogram.shape, bool)
    inside[:10] = False
    fitted = fit_field(thermogram.values, inside, "smooth", noise=0.05)
    x0, y0, x1, y1 = fitted.box
    other = (thermogram.values + np.float32(3.0)).astype(np.float32)
    for values, now in (
        (thermogram.values, fitted),
        (other, fitted),
        (thermogram.values, replace(fitted, expected=fitted.expected + np.float32(1.0))),
    ):
        plain = box_mean(values[y0:y1, x0:x1] - now.expected[y0:y1, x0:x1], inside[y0:y1, x0:x1])
        assert np.array_equal(now.smoothed(values), plain)


def test_readings_are_the_means_of_three_by_three(make):
    thermogram = make.picture((60, 80), [(20, 20, 30, 30, 4.0), (50, 40, 58, 48, -3.0)])
    mask = np.zeros(thermogram.shape, bool)
    mask[3:55, 7:79] = True
    mask[30:34, 40:44] = False
    values = thermogram.values.astype(float)
    inner = correlate(mask.astype(float), EIGHT, mode="constant") == 9
    means = correlate(values, EIGHT, mode="nearest")[inner] / 9.0
    found = read_region(thermogram, mask)
    assert found.values["peak"] == pytest.approx(means.max(), abs=1e-4)
    assert found.values["low"] == pytest.approx(means.min(), abs=1e-4)
    assert found.values["mean"] == pytest.approx(values[mask].mean(), abs=1e-6)
    assert found.spread == pytest.approx(values[mask].std(), rel=1e-4)


def test_what_is_remembered_belongs_to_one_picture_and_mask():
    values = np.arange(12.0, dtype=np.float32).reshape(3, 4)
    fixed = values.view()
    fixed.flags.writeable = False
    left, every = np.zeros((3, 4), bool), np.ones((3, 4), bool)
    left[:, 0] = True
    assert mask_key(left) != mask_key(every) != mask_key(~every) and mask_key(every) == mask_key(every.copy())
    assert (
        (mean_of(fixed, every), mean_of(fixed, left)) == (5.5, 4.0) == (mean_of(values, every), mean_of(values, left))
    )
    calls = []
    for picture in (fixed, fixed, values, values):
        once(picture, "key", lambda: calls.append(1))
    assert len(calls) == 3, "a picture that may be changed is never remembered"


@settings(max_examples=200, deadline=None)
@given(
    knots=st.lists(st.floats(200.0, 900.0), min_size=1, max_size=6, unique=True).map(sorted),
    seed=st.integers(0, 10**6),
    at=st.floats(150.0, 950.0),
)
def test_the_effect_at_one_temperature_is_that_of_many(knots, seed, at):
    known = tuple(np.random.default_rng(seed).normal(0.0, 2.0, len(knots)).tolist())
    source = ErrorSource("noise", "", 0.3, "K", tuple(knots), known)
    for place in (at, *knots):
        assert source.effect(place) == source.effect(np.array([place]))[0]
