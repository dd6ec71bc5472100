"""Small groups: the decision rule, its refusals, and the simulated limits."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import small_groups as sg
from hypothesis import given
from hypothesis import strategies as st

parts = st.lists(st.floats(200, 500), min_size=4, max_size=8)


@pytest.mark.parametrize("n", range(3, 9))
def test_limits_are_the_95_percent_points(n: int) -> None:
    """Simulated again with another seed and numpy alone; 3 % of the tabulated point."""
    x = np.random.default_rng(7).standard_normal((100_000, n))
    off = x - np.median(x, axis=1, keepdims=True)
    z = 0.6745 * np.abs(off).max(axis=1) / np.median(np.abs(off), axis=1)
    assert np.quantile(z, 0.95) == pytest.approx(sg.modified_z_limit(n), rel=0.03)


@pytest.mark.parametrize(("n", "alpha"), [(n, a) for n in (3, 5, 8, 10) for a in (0.10, 0.05, 0.01)])
def test_dixon_limits_are_two_sided(n: int, alpha: float) -> None:
    """Rorabacher 1991 (seen), simulated: a table that calls .941/.765/.642 5 % is one-sided."""
    x = np.sort(np.random.default_rng(3).standard_normal((100_000, n)), axis=1)
    q = np.maximum(x[:, 1] - x[:, 0], x[:, -1] - x[:, -2]) / (x[:, -1] - x[:, 0])
    assert np.mean(q > sg.DIXON_Q10[alpha][n]) == pytest.approx(alpha, rel=0.25)


@given(values=parts, shift=st.floats(-100, 100))
def test_result_moves_with_the_values(values: list[float], shift: float) -> None:
    one, two = sg.compare_group(values, 25.0), sg.compare_group([v + shift for v in values], 25.0)
    assert two.deviation == pytest.approx(one.deviation, abs=1e-6)
    mirrored = sg.compare_group([-v for v in values], 25.0)
    assert mirrored.deviation == pytest.approx(-one.deviation)
    assert mirrored.flagged.tolist() == one.flagged.tolist() and mirrored.status == one.status


@given(values=parts, floor=st.floats(1.0, 100.0))
def test_flags_obey_both_conditions(values: list[float], floor: float) -> None:
    result = sg.compare_group(values, floor)
    assert np.all(np.abs(result.deviation[result.flagged]) >= floor)
    assert np.all(np.abs(result.modified_z[result.flagged]) > sg.modified_z_limit(len(values)))
    assert result.flagged.sum() * 2 < len(values)


@given(st.lists(st.floats(300, 310), min_size=3, max_size=8))
def test_parts_within_the_floor_are_never_flagged(values: list[float]) -> None:
    assert not sg.compare_group(values, 25.0).flagged.any()


def test_three_parts_name_only_the_odd_one_with_low_confidence() -> None:
    result = sg.compare_group([280, 276, 205], 25.0)
    assert result.flagged.tolist() == [False, False, True] and result.status == "low confidence"
    assert not sg.dixon_rejects([280, 276, 205])


def test_three_parts_that_all_differ_have_no_majority() -> None:
    result = sg.compare_group([300, 250, 200], 25.0)
    assert result.status == "no majority" and not result.flagged.any()


def test_half_deviating_stops_the_comparison() -> None:
    assert sg.compare_group([400, 402, 300, 301], 25.0).status == "no majority"
    exactly_half = sg.compare_group([300, 310, 330, 340], 25.0)
    assert np.sum(np.abs(exactly_half.deviation) >= 25.0) == 2 and exactly_half.status == "no majority"


@pytest.mark.parametrize(("values", "status"), [([], "too few"), ([300.0], "too few"), ([300.0, 200.0], "too few")])
def test_too_few(values: list[float], status: str) -> None:
    assert sg.compare_group(values, 25.0).status == status


def test_values_that_are_no_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="finite"):
        sg.compare_group([300.0, float("nan"), 310.0], 25.0)
    with pytest.raises(ValueError, match="3 values"):
        sg.dixon_q([1.0, 2.0])


def test_equal_parts_score_nothing() -> None:
    result = sg.compare_group([300.0] * 5, 25.0)
    assert not result.modified_z.any() and sg.dixon_q([300.0] * 5) == 0.0
    assert sg.compare_group([300.0] * 5 + [400.0], 25.0).flagged.tolist() == [False] * 5 + [True]
