"""Classes exactly at, just above and just below where their tables begin, and ranges over the load exponents by hand."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import electrical as el

STARTS = {
    "neta-similar": [(1, 1, True), (4, 2, True), (15, 4, False)],
    "neta-ambient": [(1, 1, True), (11, 2, True), (21, 3, True), (40, 4, False)],
    "mil-std-2194": [(10, 1, True), (25, 2, True), (40, 3, True), (70, 4, True)],
}
"""(K, class, whether the value itself belongs to it): NETA 100.18 of 2003 (seen; 3 to 4, 10 to 11 and 20 to 21 are gaps
whose upper edge is taken), MIL-STD-2194 (seen second hand)."""


@pytest.mark.parametrize("table", STARTS)
def test_a_class_begins_at_its_printed_value(table: str) -> None:
    below = 0
    for start, code, included in STARTS[table]:
        at = code if included else below
        values = [start - 1e-9, float(start), start + 1e-9]
        assert el.class_codes(values, table).tolist() == [below, at, code]
        assert [el.classify(one, table).code for one in values] == [below, at, code]
        below = code
    assert el.class_codes([np.nan, -50.0, 1e6], table).tolist() == [-1, 0, below]


def test_a_sure_value_on_an_edge_has_all_of_the_probability() -> None:
    assert el.class_probabilities(15.0, 0.0, "neta-similar") == {0: 0.0, 1: 0.0, 2: 1.0, 4: 0.0}
    spread = el.class_probabilities(4.0, 1.0, "neta-similar")
    assert spread[2] + spread[4] == pytest.approx(0.5) and spread[0] == pytest.approx(0.00135, abs=1e-5)
    sampled = el.class_probabilities_sampled([0.5, 1.0, 4.0, 15.0, 15.1], "neta-similar")
    assert sampled == {0: 0.2, 1: 0.2, 2: 0.4, 4: 0.2}
    for bad in ([], [np.nan], [np.inf]):
        with pytest.raises(ValueError, match="samples"):
            el.class_probabilities_sampled(bad, "neta-similar")


@pytest.mark.parametrize(
    ("load", "told"),
    [
        (0.0, "pattern only"),
        (0.399, "pattern only"),
        (0.4, "low load"),
        (0.499, "low load"),
        (0.5, "classed"),
        (1.2, "classed"),
        (-0.01, "unknown"),
        (None, "unknown"),
        (np.inf, "unknown"),
    ],
)
def test_load_decides_whether_there_is_a_class(load, told: str) -> None:
    """40 % and 50 % of the rating: common practice, no source."""
    assert el.load_gate(load) == told


def test_rise_at_another_load() -> None:
    """Twice the current: 2^1.6 = 3.031, 2^1.8 = 3.482, 2^2 = 4 times the rise."""
    assert float(el.rise_at_load(10.0, 5.0, 10.0)) == pytest.approx(34.822, abs=1e-3)
    full = el.rise_at_full_load(10.0, 0.5)
    assert (full.low, full.best, full.high) == pytest.approx((30.314, 34.822, 40.0), abs=1e-3)
    several = el.rise_at_full_load(np.array([10.0, 20.0, 0.0]), 0.5)
    assert several.high.tolist() == pytest.approx([40.0, 80.0, 0.0]) and several.low.shape == (3,)
    falls = el.rise_at_full_load(10.0, 2.0)
    assert (falls.low, falls.high) == pytest.approx((2.5, 3.299), abs=1e-3)
    assert float(el.normalised_rise(10.0, 2.0)) == pytest.approx(10.0 / 3.4822, rel=1e-4)


def test_what_is_allowed_at_part_load() -> None:
    """25 degC and 40 K at full load; at half load 40/4 = 10 K with n = 2, 40/3.031 = 13.2 K with 1.6."""
    assert float(el.allowed_temperature(298.15, 40.0, 0.5)) == pytest.approx(308.15)
    found = el.allowed_temperature_range(298.15, 40.0, np.array([0.5, 1.0]))
    assert found.low.tolist() == pytest.approx([308.15, 338.15]) and found.high[0] == pytest.approx(311.345, abs=1e-3)
    assert found.best[0] == pytest.approx(298.15 + 40.0 / 3.4822, abs=1e-3)


@pytest.mark.parametrize(
    ("ambient", "factor"), [(30.0, 1.0), (60.0, 0.5**0.5), (90.0, 0.0), (95.0, 0.0), (10.0, (80 / 60) ** 0.5)]
)
def test_ampacity_in_other_air(ambient: float, factor: float) -> None:
    """sqrt((90 - Ta) / (90 - 30)) of a 90 degC conductor; nothing at or above its limit."""
    assert float(el.ambient_factor(90.0, ambient, 30.0)) == pytest.approx(factor)


@pytest.mark.parametrize(("wind", "known"), [(0.99, False), (1.0, True), (8.0, True), (8.01, False)])
def test_wind_is_known_from_1_to_8_metres_a_second(wind: float, known: bool) -> None:
    assert bool(np.isfinite(el.wind_factor(wind))) is known
    assert float(el.wind_factor(1.0)) == 1.0
    assert float(el.wind_factor(2.5)) == pytest.approx(0.5 * float(el.wind_factor(2.0) + el.wind_factor(3.0)))


@pytest.mark.parametrize(("film", "exponent"), [(0.0, 2.0), (0.25, 1.6), (1 / 3, 1.5)])
def test_exponent_of_the_film(film: float, exponent: float) -> None:
    assert float(el.exponent_from_film(film)) == pytest.approx(exponent)
