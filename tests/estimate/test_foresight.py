"""What can be said before there is a picture."""

from __future__ import annotations

import pytest
from heatbrief.detect.areas import SEED
from heatbrief.estimate.foresight import missing_insulation_contrast, smallest_difference


def test_the_mean_of_nine_pixels_is_three_times_as_steady():
    """Standard error of a mean of n independent values: s / sqrt(n), common practice."""
    assert smallest_difference(0.06) == pytest.approx(SEED * 0.02) and smallest_difference(0.0) == 0.0


def test_an_empty_bay_of_the_worked_wall():
    """Wall of Scottish Government 6.B without its bridge of timber, by ISO 6946 worked here by hand [computed]."""
    layers, films = 0.132 + 0.180 + 0.069 + 0.060, 0.13 + 0.04
    upper = 1 / (0.85 / (films + layers + 3.5) + 0.15 / (films + layers + 3.5 / 3))
    lower = films + layers + 1 / (0.85 / 3.5 + 0.15 / (3.5 / 3))
    sound, empty = (upper + lower) / 2, films + layers + 0.18
    expected = -20.0 * 0.13 / empty + 20.0 * 0.13 / sound
    assert missing_insulation_contrast(20.0, 0.0) == pytest.approx(expected, rel=1e-3)
    assert missing_insulation_contrast(293.15, 303.15) == pytest.approx(-expected / 2, rel=1e-3)
