"""Electrical: class tables as data, probabilities, load rules and phase arithmetic."""

from __future__ import annotations

import ht
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from heatbrief.physics import electrical as el
from heatbrief.physics.sources import MARKS, load_sources
from heatbrief.physics.tables import load_table
from hypothesis import given
from hypothesis import strategies as st

keys = st.sampled_from(el.class_table_keys())


@pytest.mark.parametrize("key", el.class_table_keys())
def test_every_table_is_ordered_named_and_marked(key: str) -> None:
    table = el.class_table(key)
    starts, codes = [b.start for b in table.bands], [b.code for b in table.bands]
    assert starts == sorted(set(starts)) and codes == sorted(set(codes)) and min(codes) >= 1
    assert table.mark in MARKS and table.source in load_sources() and table.name and table.origin
    assert table.compares in {"similar", "ambient", "reference", "phases"}
    assert all(b.label and b.meaning for b in table.bands)


@given(key=keys, a=st.floats(-20, 200), b=st.floats(-20, 200))
def test_a_larger_rise_is_never_a_lower_class(key: str, a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert el.classify(low, key).code <= el.classify(high, key).code
    assert el.class_codes([a, b], key).tolist() == [el.classify(a, key).code, el.classify(b, key).code]


def test_the_top_class_starts_anywhere_from_15_to_75_kelvin() -> None:
    """Dossier T10: a factor of five between published tables."""
    tops = [el.class_table(key).bands[-1].start for key in el.class_table_keys()]
    assert min(tops) == 15 and max(tops) == 75


def test_similar_table_has_no_third_class() -> None:
    assert set(el.class_codes(np.linspace(-5, 200, 4001), "neta-similar").tolist()) == {0, 1, 2, 4}


@given(key=keys, value=st.floats(-10, 100), sigma=st.floats(0.01, 20))
def test_probabilities_sum_to_one_and_match_samples(key: str, value: float, sigma: float) -> None:
    exact = el.class_probabilities(value, sigma, key)
    assert sum(exact.values()) == pytest.approx(1.0) and min(exact.values()) >= -1e-12
    samples = value + sigma * np.random.default_rng(1).standard_normal(20_000)
    sampled = el.class_probabilities_sampled(samples, key)
    assert sampled.keys() == exact.keys()
    assert all(abs(sampled[c] - exact[c]) < 0.02 for c in exact)


def test_probability_on_an_edge_is_shared_and_certain_without_uncertainty() -> None:
    shared = el.class_probabilities(4.0, 0.5, "neta-similar")
    assert shared[1] == pytest.approx(0.5, abs=1e-6) and shared[2] == pytest.approx(0.5, abs=1e-6)
    assert el.class_probabilities(4.0, 0.0, "neta-similar") == {0: 0.0, 1: 0.0, 2: 1.0, 4: 0.0}


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_no_class_without_a_number(bad: float) -> None:
    with pytest.raises(ValueError):
        el.classify(bad, "neta-similar")
    with pytest.raises(ValueError):
        el.class_probabilities(bad, 1.0, "neta-similar")
    with pytest.raises(ValueError):
        el.class_probabilities_sampled([1.0, bad], "neta-similar")


def test_unknown_tables_are_named() -> None:
    with pytest.raises(KeyError, match="neta-similar"):
        el.class_table("neta")
    with pytest.raises(KeyError, match="breaker_us"):
        el.limits("breakers")
    assert el.class_codes([np.nan, 5.0], "neta-similar").tolist() == [-1, 2]


@pytest.mark.parametrize("group", sorted(load_table("limits")))
def test_every_limit_has_a_mark_and_source_and_adds_up(group: str) -> None:
    """UL 489 and IEC 60694 print maximum = ambient + rise; so 50 K is never 122 degF of difference."""
    for row in el.limits(group):
        assert row["mark"] in MARKS and row["source"] in load_sources(), row
        if {"rise", "max", "ambient"} <= set(row):
            assert row["max"] == row["rise"] + row["ambient"], row


def test_motor_class_f_adds_up_with_its_hot_spot() -> None:
    """NEMA classes (seen): 40 + 105 + 10 = 155 degC."""
    row = next(r for r in el.limits("motor_winding") if r["part"] == "class F")
    assert 40 + row["rise"] + 10 == row["max"]


@given(rise=st.floats(0.1, 80), load=st.floats(0.2, 1.0))
def test_full_load_range_brackets_and_inverts(rise: float, load: float) -> None:
    span = el.rise_at_full_load(rise, load)
    assert rise <= span.low * (1 + 1e-12) <= span.best * (1 + 1e-9) <= span.high * (1 + 1e-9)
    back = el.allowed_temperature(0.0, span.best, load, 1.8)
    assert back == pytest.approx(rise)
    allowed = el.allowed_temperature_range(300.0, 50.0, load)
    assert allowed.low <= allowed.best <= allowed.high


def test_extrapolation_can_lift_a_class() -> None:
    """E9 (exponents seen): 8 K at half load is 24 to 32 K at full load, class 2 to 4."""
    span = el.rise_at_full_load(8.0, 0.5)
    assert el.classify(8.0, "neta-similar").code == 2 and el.classify(span.low, "neta-similar").code == 4


@pytest.mark.parametrize("bad", [None, float("nan"), -0.1])
def test_unknown_load_gives_no_class(bad: float | None) -> None:
    assert el.load_gate(bad) == "unknown"


def test_wind_factor_against_forced_convection() -> None:
    """12 mm cylinder by ht (Churchill and Bernstein) with air at 320 K: the remembered table within 6 %."""
    rho, mu, k, pr = (PropsSI(x, "T", 320, "P", 101325, "Air") for x in ("D", "V", "L", "PRANDTL"))
    h = [ht.Nu_cylinder_Churchill_Bernstein(rho * v * 0.012 / mu, pr) * k / 0.012 + 5.5 for v in range(1, 9)]
    assert el.wind_factor(np.arange(1.0, 9.0)) == pytest.approx(np.array(h) / h[0], rel=0.06)
    assert np.isnan(el.wind_factor([0.5, 8.5])).all()


def test_bright_lug_hides_a_class() -> None:
    """E13: true difference 40 K at emissivity 0.1 shows as 5.6 K."""
    hot, cool = (el.shown_temperature(t + 273.15, 298.15, 0.10) for t in (80.0, 40.0))
    assert hot - cool == pytest.approx(5.6, abs=0.06)
    assert el.classify(40.0, "neta-similar").code == 4 and el.classify(hot - cool, "neta-similar").code == 2


@given(values=st.lists(st.floats(100, 500), min_size=3, max_size=3), scale=st.floats(0.1, 10))
def test_unbalance_ignores_scale_and_order(values: list[float], scale: float) -> None:
    u = el.unbalance(values)
    assert el.unbalance([scale * v for v in values[::-1]]) == pytest.approx(u, abs=1e-12)
    assert 0.0 <= u <= 2.0


@given(i=st.floats(0.1, 500), h=st.floats(0.0, 0.5))
def test_neutral_of_balanced_phases_is_only_harmonics(i: float, h: float) -> None:
    assert el.neutral_current(i, i, i) == pytest.approx(0.0, abs=1e-4)
    assert el.neutral_current(i, i, i, h) == pytest.approx(3 * h * i, abs=1e-4)
    phasors = i * np.exp(2j * np.pi * np.arange(3) / 3) * np.array([1.0, 0.7, 0.2])
    assert el.neutral_current(*np.abs(phasors)) == pytest.approx(abs(phasors.sum()), rel=1e-6)


def test_small_circuits_rank_too_high_by_normalised_rise() -> None:
    """E17, computed: the worst three ratios are the 2 to 4 A circuits, so the load gate comes first."""
    rise, amps = np.array([3, 9.5, 2.1, 14, 6, 11, 1.0]), np.array([4, 12, 3, 12, 9, 16, 2.0])
    k = el.normalised_rise(rise, amps)
    assert k / np.median(k) == pytest.approx([1.55, 0.68, 1.82, 1.00, 0.72, 0.47, 1.80], abs=0.006)
