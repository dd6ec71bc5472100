"""Profiles of leaning lines and rims of areas, against their definitions."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from heatbrief_envelope import leaning, search
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import binary_dilation


def plain_level(residual, inside, slant, column):
    """Values of one leaning column that lie inside."""
    height, width = residual.shape
    places = [(row, column + round(slant * (row - (height - 1) / 2))) for row in range(height)]
    return [residual[row, at] for row, at in places if 0 <= at < width and inside[row, at]]


@pytest.mark.parametrize("masked", [False, True])
def test_levels_are_medians_along_each_slant(masked):
    random = np.random.default_rng(7)
    residual = random.normal(0.0, 1.0, (23, 40)).astype(np.float32)
    inside = random.random(residual.shape) > 0.2 if masked else np.ones(residual.shape, bool)
    slants = np.array([-0.37, 0.0, 0.21])
    levels = leaning.levels_of(leaning.leaning(residual, inside, slants))
    for slant, row in zip(slants, levels, strict=True):
        held = [plain_level(residual, inside, slant, column) for column in range(40)]
        fullest = max(map(len, held))
        for values, level in zip(held, row, strict=True):
            if len(values) >= max(0.5 * fullest, 8):
                assert level == pytest.approx(np.median(values), abs=1e-6)
            else:
                assert np.isnan(level)


@settings(max_examples=80, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    height=st.integers(1, 47),
    held=st.floats(0.0, 1.0),
    line=st.floats(-2.0, 2.0),
    share=st.floats(0.0, 3.0),
)
def test_counting_says_what_the_medians_say(seed, height, held, line, share):
    """Values on halves, so that medians often lie right at the limit."""
    random = np.random.default_rng(seed)
    residual = np.round(2.0 * random.normal(0.0, 1.0, (height, 40))).astype(np.float32) / 2.0
    residual[:, 17] += round(2.0 * line) / 2.0
    pixels = leaning.leaning(residual, random.random(residual.shape) < held, leaning.SLANTS)
    most = round(2.0 * share) / 2.0
    farthest = np.nanmax(np.abs(leaning.levels_of(pixels)), initial=0.0)
    if leaning.none_beyond(pixels, most):
        assert farthest <= most
    else:
        assert farthest >= most


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("masked", [False, True])
def test_rows_taken_together_are_their_means(turned, masked):
    random = np.random.default_rng(8)
    residual = random.normal(0.0, 1.0, (101, 130)).astype(np.float32)
    inside = random.random(residual.shape) > 0.4 if masked else np.ones(residual.shape, bool)
    residual[~inside] = 0.0
    means, mostly, together = leaning.rows_together(residual, inside, turned)
    if turned:
        residual, inside = residual.T, inside.T
    for group in range(len(means)):
        rows = slice(group * together, (group + 1) * together)
        known = inside[rows].sum(axis=0)
        wanted = np.where(inside[rows], residual[rows], 0.0).sum(axis=0) / np.maximum(known, 1)
        assert means[group] == pytest.approx(wanted, abs=1e-5)
        assert np.array_equal(mostly[group], 2 * known > together)


def test_a_rim_about_an_area_ends_at_the_edge_of_the_picture():
    subject = SimpleNamespace(shape=(40, 50), pixel=None)
    random = np.random.default_rng(9)
    for x0, y0 in ((0, 0), (2, 35), (20, 15), (44, 1)):
        bits = random.random((min(9, 40 - y0), min(6, 50 - x0))) > 0.4
        whole = np.zeros(subject.shape, bool)
        whole[y0 : y0 + bits.shape[0], x0 : x0 + bits.shape[1]] = bits
        box = (x0, y0, x0 + bits.shape[1], y0 + bits.shape[0])
        area = SimpleNamespace(elongation=1.0, fill=0.8, bits=bits, box=box)
        wanted = binary_dilation(whole, np.ones((3, 3), bool), iterations=3)
        assert np.array_equal(search._compact(subject, (area,)), wanted)
