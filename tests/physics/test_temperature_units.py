"""Temperatures as files and people write them."""

from __future__ import annotations

import math

import pytest
from heatbrief.physics.temperature_units import UNITS, stated_temperature, to_kelvin


@pytest.mark.parametrize(
    ("value", "unit", "kelvin"),
    [
        (0.0, "degC", 273.15),
        (-273.15, "degC", 0.0),
        (300.0, "kelvin", 300.0),
        (32.0, "degF", 273.15),
        (212.0, "degF", 373.15),
        (-459.67, "degF", 0.0),
        (-40.0, "degF", 233.15),
    ],
)
def test_fixed_points(value, unit, kelvin):
    """Definitions of NIST SP 811, appendix B.9 (from memory)."""
    assert unit in UNITS and float(to_kelvin(value, unit)) == pytest.approx(kelvin, abs=1e-9)


def test_other_units_are_refused():
    with pytest.raises(KeyError):
        to_kelvin(1.0, "rankine")


@pytest.mark.parametrize(
    ("text", "kelvin", "half"),
    [
        ("-100 degC", 173.15, 0.0),
        ("300 K", 300.0, 0.0),
        (" 75 degF +- 1.8 degF ", 297.0389, 1.0),
        ("75 °F ± 2 K", 297.0389, 2.0),
        ("20.5 °C +/- -0.5 degC", 293.65, 0.5),
        ("300 kelvin +- 9 degF", 300.0, 5.0),
    ],
)
def test_statements(text, kelvin, half):
    assert stated_temperature(text) == pytest.approx((kelvin, half), abs=1e-4)


@pytest.mark.parametrize("text", ["", "20", "20 W", "20 degC +- 2", "1e9 degC", "nan degC", "20 degC ± K"])
def test_anything_else_is_none(text):
    assert stated_temperature(text) is None
    assert math.isfinite(stated_temperature("999999999 degC").kelvin)
