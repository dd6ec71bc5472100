"""Propagation of uncertainty, Monte Carlo reference cases, rounding."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
from heatbrief.physics import budget
from heatbrief.physics import uncertainty as u
from heatbrief.physics.measurement import Settings, sensitivities
from heatbrief.physics.sakuma_hattori import fit_band
from hypothesis import given
from hypothesis import strategies as st

BAND = fit_band(7.5, 14.0)


def four(shape: str, last: float = 1.0) -> dict[str, u.Input]:
    return {name: u.Input(0.0, last if name == "d" else 1.0, shape) for name in "abcd"}


def total(**parts: np.ndarray) -> np.ndarray:
    return sum(parts.values())


@pytest.mark.parametrize(
    ("shape", "last", "spread", "half", "tolerance"),
    [("normal", 1.0, 2.0, 3.92, 0.03), ("rectangle", 1.0, 2.0, 3.88, 0.03), ("rectangle", 10.0, 10.1, 17.0, 0.06)],
)
def test_monte_carlo_reference_cases(shape: str, last: float, spread: float, half: float, tolerance: float) -> None:
    """JCGM 101 clause 9.2, additive model of four inputs (from memory; reproduced with ten million draws)."""
    found = u.monte_carlo(total, four(shape, last), draws=400_000, seed=7)
    assert found.u == pytest.approx(spread, abs=0.05)
    assert -found.low == pytest.approx(half, abs=tolerance) and found.high == pytest.approx(half, abs=tolerance)


def test_first_order_fails_where_the_guide_says_so() -> None:
    """JCGM 101 clause 9.2.4: one dominant rectangle, 17.0 against 19.9 from the first-order framework (from memory)."""
    inputs = four("rectangle", 10.0)
    first = u.combine(dict.fromkeys(inputs, 1.0), inputs)
    assert first.expanded() == pytest.approx(19.9, abs=0.05)
    assert not u.validate_first_order(0.0, first.u, u.monte_carlo(total, inputs), digits=2).valid
    plain = four("normal")
    assert u.validate_first_order(0.0, 2.0, u.monte_carlo(total, plain)).valid


def test_end_gauge_expanded() -> None:
    """GUM annex H.1: U99 = 2.92 x 32 nm = 93 nm, 92.5 before rounding (from memory)."""
    parts = {"s": (25, 18), "d": (9.7, 25.6), "r": (2.9, 50), "t": (16.6, 2)}
    inputs = {name: u.Input(0.0, size, dof=dof) for name, (size, dof) in parts.items()}
    assert u.combine(dict.fromkeys(inputs, 1.0), inputs).expanded(0.99) == pytest.approx(92.5, abs=0.05)


@pytest.mark.parametrize("shape", ["normal", "rectangle", "triangle", "u-shape"])
def test_draws_have_the_stated_moments(shape: str) -> None:
    values = u.Input(5.0, 2.0, shape).draw(np.random.default_rng(3), 200_000)
    assert values.mean() == pytest.approx(5.0, abs=0.03) and values.std() == pytest.approx(2.0, abs=0.02)


def test_student_draws() -> None:
    values = u.Input(1.0, 0.5, "t", dof=12.0).draw(np.random.default_rng(3), 200_000)
    assert values.std() == pytest.approx(0.5, abs=0.01)
    with pytest.raises(ValueError, match="degrees of freedom"):
        u.Input(1.0, 0.5, "t", dof=2.0)


def test_shared_inputs_do_not_average_out() -> None:
    inputs = {"offset": u.Input(0.0, 1.0), "noise": u.Input(0.0, 1.0, shared=False)}
    slopes = {"offset": 1.0, "noise": 1.0}
    assert u.combine(slopes, inputs).u == pytest.approx(math.sqrt(2.0))
    assert u.combine(slopes, inputs, pixels=10_000).u == pytest.approx(math.sqrt(1.0001))


def test_shared_inputs_cancel_in_differences() -> None:
    inputs = {"offset": u.Input(0.0, 2.0), "noise": u.Input(0.0, 0.05, shared=False)}
    same = {"offset": 1.0, "noise": 1.0}
    assert u.difference_uncertainty(same, same, inputs).u == pytest.approx(0.05 * math.sqrt(2.0))
    other = u.difference_uncertainty(same, {"offset": 0.9, "noise": 1.0}, inputs, pixels=(100, 100))
    assert other.contributions["offset"] == pytest.approx(0.2)


def test_correlation() -> None:
    inputs = {"a": u.Input(0.0, 1.0), "b": u.Input(0.0, 1.0)}
    slopes = {"a": 1.0, "b": -1.0}
    assert u.combine(slopes, inputs, correlations={("a", "b"): 1.0}).u == pytest.approx(0.0, abs=1e-12)
    assert u.combine(slopes, inputs, correlations={("a", "b"): -1.0}).u == pytest.approx(2.0)
    with pytest.raises(ValueError, match="correlation"):
        u.combine(slopes, inputs, correlations={("a", "b"): 1.5})
    with pytest.raises(KeyError):
        u.combine({"a": 1.0}, inputs)


def test_shares_add_up_and_are_sorted() -> None:
    found = u.combine({"a": 1.0, "b": 3.0, "c": 2.0}, {name: u.Input(0.0, 1.0) for name in "abc"}).shares()
    assert list(found) == ["b", "c", "a"] and sum(found.values()) == pytest.approx(1.0)


def test_picture_agrees_with_one_pixel() -> None:
    picture = np.array([[300.0, 330.0], [290.0, 350.0]])
    settings = Settings(0.9, 293.0, 0.98, 293.0)
    spread = {"emissivity": 0.02, "reflected_k": 2.0, "apparent_k": 1.0}
    field = u.picture_uncertainty(sensitivities(BAND, picture, settings).as_dict(), spread)
    one = {name: float(value) for name, value in sensitivities(BAND, 330.0, settings).as_dict().items()}
    wanted = u.combine(one, {name: u.Input(0.0, size) for name, size in spread.items()}).u
    assert field.shape == (2, 2) and float(field[0, 1]) == pytest.approx(wanted)


def budget_of(**changes: object) -> budget.TemperatureBudget:
    inputs = {
        "apparent_k": u.Input(331.15, 1.0),
        "emissivity": u.Input(0.95, 0.02),
        "reflected_k": u.Input(293.15, 2.5),
        "transmittance": u.Input(0.98, 0.005),
        "air_k": u.Input(293.15, 1.0),
        "draws": 20_000,
    }
    return budget.temperature_budget(BAND, **{**inputs, **changes})


def test_budget_is_repeatable_and_brackets_its_value() -> None:
    found = budget_of()
    assert found == budget_of()
    assert found.low_k < found.value_k < found.high_k and found.coverage == 0.95
    assert budget_of(seed=2).simulation != found.simulation


def test_budget_noise_falls_with_pixels() -> None:
    one = budget_of(noise=u.Input(0.0, 0.5))
    many = budget_of(noise=u.Input(0.0, 0.5), pixels=100)
    assert one.contributions["noise"] == pytest.approx(10.0 * many.contributions["noise"])
    assert one.first_order.u > many.first_order.u


def test_budget_without_solution_or_uncertainty() -> None:
    none = budget_of(apparent_k=u.Input(250.0, 1.0), emissivity=u.Input(0.1, 0.02))
    assert none.method == budget.NO_SOLUTION and math.isnan(none.value_k) and math.isnan(none.high_k)
    best = {"apparent_k": 331.15, "emissivity": 0.95, "reflected_k": 293.15, "transmittance": 1.0, "air_k": 293.15}
    sure = {name: u.Input(value, 0.0) for name, value in best.items()}
    exact = budget_of(**sure)
    assert exact.method == budget.EXACT and exact.low_k == exact.value_k == exact.high_k


def test_low_emissivity_is_reported_by_monte_carlo() -> None:
    found = budget_of(apparent_k=u.Input(303.15, 1.0), emissivity=u.Input(0.3, 0.05))
    assert found.method == budget.MONTE_CARLO
    assert found.high_k - found.value_k > found.value_k - found.low_k


def test_draws_without_a_solution_are_counted() -> None:
    half = u.monte_carlo(lambda a: np.where(a > 1.0, np.nan, a), {"a": u.Input(0.0, 1.0)}, draws=50_000)
    assert 0.14 < half.unsolved / half.draws < 0.18 and math.isfinite(half.high)
    most = u.monte_carlo(lambda a: np.where(a > -1.0, np.nan, a), {"a": u.Input(0.0, 1.0)}, draws=50_000)
    assert math.isnan(most.mean) and most.unsolved > 40_000
    with pytest.raises(ValueError, match="draws"):
        u.monte_carlo(total, four("normal"), draws=100)


@given(st.floats(1e-9, 1e9), st.integers(1, 2))
def test_rounding_keeps_its_digits(size: float, digits: int) -> None:
    rounded = u.round_uncertainty(size, digits)
    assert abs(float(rounded) - size) <= u.numerical_tolerance(size, digits) * (1 + 1e-9)
    assert len(rounded.normalize().as_tuple().digits) <= digits


@given(st.floats(-1e4, 1e4), st.floats(1e-4, 1e3))
def test_value_and_uncertainty_share_their_decimal_place(value: float, size: float) -> None:
    rounded, spread = u.round_pair(value, size)
    assert rounded.as_tuple().exponent == spread.as_tuple().exponent
    assert abs(float(rounded) - value) <= 0.06 * size
    assert not str(rounded).startswith("-0.0") or rounded != 0


def test_binary_halves_are_rounded_as_written() -> None:
    """round(2.55, 1) is 2.5 in binary; the decimal the reader sees is 2.55 and goes up."""
    assert u.round_uncertainty(2.55) == Decimal("2.6") and u.round_uncertainty(1.25) == Decimal("1.3")


@pytest.mark.parametrize("wrong", [-1.0, math.nan, math.inf])
def test_impossible_uncertainties_are_refused(wrong: float) -> None:
    with pytest.raises(ValueError):
        u.round_uncertainty(wrong)
    with pytest.raises(ValueError):
        u.Input(0.0, wrong)


@given(st.floats(1.0, 200.0), st.floats(0.5, 0.999))
def test_student_factor_exceeds_normal(dof: float, coverage: float) -> None:
    assert u.student_factor(dof, coverage) > u.student_factor(math.inf, coverage)


def test_fixed_pattern_does_not_average() -> None:
    assert float(u.averaged_noise(0.05, 10_000, floor=0.03)) == pytest.approx(0.03, abs=1e-4)
    with pytest.raises(ValueError):
        u.averaged_noise(0.05, 0)
