"""Bad pixels: single ones found and replaced, small real targets and edges kept."""

from __future__ import annotations

import math

import numpy as np
import pytest
from heatbrief.calibrate import bad_pixels
from heatbrief.calibrate.bad_pixels import _peaks, find_bad_pixels, replaced
from heatbrief.model.thermogram import Picture
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter

PLACES = [(5, 5), (0, 0), (47, 63), (20, 30), (33, 7), (0, 40)]


def scene(noise: float = 4.0) -> np.ndarray:
    rng = np.random.default_rng(11)
    y, x = np.mgrid[0:48, 0:64]
    return (30000 + 2.0 * x + 300.0 * (y > 30) + rng.normal(0, noise, (48, 64))).round().astype(np.uint16)


def test_dead_and_hot_pixels_are_found_and_nothing_else():
    counts = scene()
    for number, place in enumerate(PLACES):
        counts[place] = 0 if number % 2 else 34000
    assert {tuple(place) for place in find_bad_pixels(counts, 8.0).tolist()} == set(PLACES)
    assert len(find_bad_pixels(scene(), 8.0)) == 0


def test_a_blurred_point_target_is_kept():
    """A lens spreads a point: blur of 0.5 pixels leaves 37 % in the centre (section on size of source [computed])."""
    target = np.zeros((48, 64))
    target[20, 30] = 5000.0
    fine = np.kron(target, np.ones((9, 9)))
    blurred = gaussian_filter(fine, 0.5 * 9).reshape(48, 9, 64, 9).mean(axis=(1, 3))
    assert len(find_bad_pixels((scene() + blurred).astype(np.uint16), 8.0)) == 0


def test_the_replacement_is_the_median_of_the_good_neighbours():
    """[[20,21,22],[23,90,24],[25,26,27]]: without the centre 23.5, rounded to even 24 [computed: 23.5]."""
    counts = np.pad(np.array([[20, 21, 22], [23, 90, 24], [25, 26, 27]], np.uint16), 1, mode="edge")
    assert replaced(counts, np.array([[2, 2]]))[2, 2] == 24
    both = replaced(counts, np.array([[2, 2], [2, 3]]))
    assert both[2, 2] == np.rint(np.median([20, 21, 22, 23, 25, 26, 27]))


def test_more_suspects_than_a_detector_has_bad_pixels_means_a_pattern():
    counts = scene()
    counts[::6, ::6] = 40000
    assert len(find_bad_pixels(counts, 8.0)) == 0


def test_the_step_replaces_counts_and_keeps_the_places(thermogram):
    counts = scene()
    counts[20, 30] = 60000
    found = thermogram(Picture(counts, False, (0.01, 0.0), 0.0, 65535.0))
    assert found.facts["bad_pixels"] == 1 and found.facts["bad_pixel_places"] == ((30, 20),)
    assert abs(found.values[20, 30] - found.values[20, 29]) < 1.0
    kept = thermogram(Picture(counts, False, (0.01, 0.0)), settings={"bad_pixels": False})
    assert kept.values[20, 30] - kept.values[20, 29] > 100 and kept.facts["bad_pixels"] == 0


def test_temperatures_are_never_replaced(thermogram):
    values = np.full((20, 20), 300.0)
    values[10, 10] = 400.0
    assert thermogram(Picture(values, True)).values[10, 10] == 400.0


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    height=st.integers(2, 9),
    width=st.integers(2, 12),
    most=st.sampled_from([12, 60, 65535]),
    by=st.sampled_from([0.0, 7.0, 30.5, 40000.0]),
    signed=st.booleans(),
    band=st.sampled_from([1, 30, 4_000_000]),
)
def test_peaks_are_those_of_a_mirrored_picture(seed, height, width, most, by, signed, band):
    counts = np.random.default_rng(seed).integers(0, most, (height, width), endpoint=True).astype(np.uint16)
    if signed:
        counts = counts.view(np.int16)
    wide = np.pad(counts.astype(int), 1, mode="reflect")
    around = np.stack([wide[:-2, 1:-1], wide[2:, 1:-1], wide[1:-1, :-2], wide[1:-1, 2:]])
    over = np.maximum(counts - around.max(axis=0), around.min(axis=0) - counts.astype(int))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bad_pixels, "_BAND", band)
        found = np.concatenate(list(_peaks(counts, by)))
    assert np.array_equal(found, np.argwhere(over > math.floor(by)))
