"""Errors that are shared near by only, sizes of pixels place by place, cores of areas, and bounds of a width."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from heatbrief.detect import Case, difference, find_areas, read_region, survey_gate
from heatbrief.detect.areas import LEAST_SEED, SEED, start_level
from heatbrief.detect.change import change_of
from heatbrief.detect.shared import shared_standard
from heatbrief.model import ErrorSource, PixelScale
from scipy.stats import binom, norm

SHADING = ErrorSource("lens shading", "lens shading", 0.2, "K", (293.15,), (1.0,), reach=20.0)


def boxed(x0, y0, x1, y1, shape=(120, 160)):
    mask = np.zeros(shape, bool)
    mask[y0:y1, x0:x1] = True
    return mask


@pytest.mark.parametrize("apart", [0.0, 5.0, 20.0, 200.0])
def test_an_error_of_a_reach_cancels_only_near_by(apart):
    """Two equal effects with correlation r leave s sqrt(2 - 2 r) (variance of a difference, textbook)."""
    left = shared_standard((SHADING,), 293.0, (SHADING,), 293.0, apart)
    assert left == pytest.approx(0.2 * math.sqrt(2.0 - 2.0 * math.exp(-0.5 * (apart / 20.0) ** 2)), abs=1e-12)
    everywhere = replace(SHADING, reach=None)
    assert shared_standard((everywhere,), 293.0, (everywhere,), 293.0, apart) == 0.0


def test_the_difference_of_two_regions_adds_what_they_do_not_share(make):
    """GUM 5.2.2 by hand [memory]: noise in full, shading as far as it reaches, emissivity by the slope between both."""
    plain = make.picture((120, 160), noise=0.01)
    slope = ErrorSource("emissivity", "emissivity", 0.02, "1", (290.0, 300.0), (-10.0, -60.0))
    shaded = replace(plain, errors=((*plain.errors[0], SHADING, slope),))
    first = boxed(10, 10, 20, 20)
    for second, apart in ((boxed(22, 10, 32, 20), 12.0), (boxed(130, 90, 140, 100), math.hypot(120.0, 80.0))):
        one, other = read_region(shaded, first), read_region(shaded, second)
        shading = 2.0 * (1.0 - math.exp(-0.5 * (apart / 20.0) ** 2)) * 0.2**2
        emissivity = (0.02 * 5.0 * (one.values["mean"] - other.values["mean"])) ** 2
        variance = shading + emissivity + 2.0 * plain.noise() ** 2 / 100
        assert difference(one, other).standard == pytest.approx(math.sqrt(variance), rel=1e-6)


def test_bounds_of_a_contrast_grow_with_the_size_of_the_area(make):
    """A small spot lies within the reach of its surroundings, a large one does not."""
    extra = []
    for size in (6, 60):
        thermogram = make.picture((240, 320), [(120, 90, 120 + size, 90 + size, 2.0)])
        reached = replace(SHADING, reach=60.0)
        (plain,), (shaded,) = (
            find_areas(one) for one in (thermogram, replace(thermogram, errors=((*thermogram.errors[0], reached),)))
        )
        extra.append(math.sqrt(shaded.contrast.standard**2 - plain.contrast.standard**2))
    assert 0.02 < extra[0] < extra[1] < 0.2 * math.sqrt(2.0)


def test_what_is_fixed_to_the_camera_drops_out_of_a_change(make):
    first = make.picture((120, 160), seed=1)
    first = replace(first, errors=((*first.errors[0], SHADING),))
    change = change_of(first, first)
    names = {one.name: one.standard for one in change.picture.errors[0]}
    assert change.shift == (0, 0) and names["lens shading"] == 0.0
    assert names["noise"] == pytest.approx(make.noise * math.sqrt(2.0)) and names["camera accuracy"] == 1.0


def tilted_scale():
    """A floor seen at an angle: sizes grow upwards, w = 0.2 at the top row and 1 at row 119; metres = 0.01 px there."""
    a = 0.8 / 119
    return PixelScale(0.01, 0.01, 0.02, "known rectangle", (0.01, 0.0, 0.0, 0.0, 0.01, 0.0, 0.0, a, 0.2), ())


def test_areas_on_a_tilted_surface_are_measured_pixel_by_pixel(make):
    scale = tilted_scale()
    patches = [(60, 15, 72, 27, 1.0), (60, 95, 72, 107, 1.0)]
    thermogram = replace(make.picture((120, 160), patches), pixel=scale)
    far, near = find_areas(thermogram)
    for area in (far, near):
        expected = scale.area_of(area.mask(120, 160))
        assert (area.area.value, area.area.low) == (expected.value, expected.low)
    assert far.area.value > 4 * near.area.value and abs(far.pixels - near.pixels) < 30
    least = (far.area.value + near.area.value) / 2
    assert [one.box for one in find_areas(thermogram, smallest_m2=least)] == [far.box]
    assert len(find_areas(thermogram, smallest_m2=0.9 * near.area.value)) == 2
    assert find_areas(thermogram, smallest_m2=1.1 * far.area.value) == ()


def lamp(make, peak=18.0, seed=0, patch=0.9, blur=0.5):
    """A hot core of 9 x 9 pixels inside a mild patch of 120 x 100."""
    patches = [(60, 60, 180, 160, patch), (110, 100, 119, 109, peak)]
    return make.scene((240, 320), patches, seed=seed, blur=blur)


def test_a_hot_core_in_a_mild_area_is_an_area_of_its_own(make):
    values, (around, spot) = lamp(make)
    areas = find_areas(make.thermogram(values), None, "warm")
    assert len(areas) == 2
    core, rest = sorted(areas, key=lambda area: area.pixels)
    mask = core.mask(240, 320)
    assert (mask & spot).sum() / (mask | spot).sum() > 0.8
    assert core.contrast.value == pytest.approx(18.9, abs=0.2)
    assert rest.contrast.low <= 0.9 <= rest.contrast.high
    assert not (mask & rest.mask(240, 320)).any() and rest.pixels > 0.9 * (around & ~spot).sum()
    assert [one.ordinal for one in areas] == [1, 2]


def test_a_cold_core_and_two_cores_are_split_off_too(make):
    values, _ = lamp(make)
    assert len(find_areas(make.thermogram(2 * 293.15 - values), None, "cold")) == 2
    two, _ = make.scene((240, 320), [(60, 60, 180, 160, 0.9), (80, 80, 86, 86, 15.0), (150, 130, 156, 136, 15.0)])
    assert len(find_areas(make.thermogram(two), None, "warm")) == 3


def test_what_stands_out_little_or_falls_off_smoothly_is_not_split(make):
    assert len(find_areas(make.thermogram(lamp(make, peak=3.0)[0]), None, "warm")) == 1
    y, x = np.mgrid[:240, :320]
    for height in (2.0, 20.0, 200.0):
        bump = height * np.exp(-((x - 150) ** 2 + (y - 120) ** 2) / (2 * 12.0**2))
        assert len(find_areas(make.thermogram(make.scene((240, 320))[0] + bump), None, "warm")) == 1


def test_the_start_follows_from_the_size_of_the_search():
    """Upper tail of the normal distribution (scipy.stats.norm): two signs, 0.001 false starts in a search."""
    assert start_level(80 * 60) == pytest.approx(norm.isf(0.001 / 2 / 4800), rel=1e-9)
    assert start_level(9) == LEAST_SEED and start_level(10**9) == SEED
    levels = [start_level(width * height) for width, height in ((80, 60), (160, 120), (320, 240), (640, 480))]
    assert levels == sorted(levels) and LEAST_SEED < levels[0] < levels[-1] < SEED


@pytest.mark.parametrize("size", [4, 6, 9])
@pytest.mark.parametrize("times", [4.0, 12.0])
def test_bounds_of_a_width_hold_the_truth(make, size, times):
    held = tried = 0
    half_widths = []
    for seed in range(40):
        x, y = (float(one) for one in np.random.default_rng(seed).uniform(10, 60, 2))
        fine = np.zeros((120, 160))
        covered = [
            np.clip(np.minimum(np.arange(n) + 1, at + size) - np.maximum(np.arange(n), at), 0, 1)
            for n, at in ((120, y), (160, x))
        ]
        fine = np.outer(*covered)
        values = make.scene((120, 160), seed=seed)[0] + times * make.noise * fine
        for area in find_areas(make.thermogram(values), None, "warm"):
            tried += 1
            held += area.across.low <= size <= area.across.high
            half_widths.append(area.across.half_width)
    assert tried >= 30
    assert held >= binom.ppf(0.005, tried, 0.9)
    assert 0.1 < np.median(half_widths) < 2.0


def test_a_borderline_spot_is_not_known_rather_than_failed(make):
    """Common practice asks for 3 pixels; a width of 2.5 with bounds around 3 can be either."""
    (area,) = find_areas(make.picture((120, 160), [(60, 40, 64, 44, 0.6)]))
    for width, passed in ((1.2, False), (2.7, None), (3.2, None), (5.0, True)):
        small = replace(area, width=width, pixels=round(width * 4))
        gate = survey_gate(Case("envelope.test", "envelope", make.picture(), make.context(), area=small), "spot")
        assert gate.passed is passed, width
        assert bool(gate.remedy) == (passed is not True)
