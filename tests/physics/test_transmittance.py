"""U-values: limits, reversals between inside methods, voids, and the sign flip of a stud wall."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import condensation
from heatbrief.physics import transmittance as tr
from hypothesis import assume, given
from hypothesis import strategies as st

resistance = st.floats(0.05, 8.0)


@given(f=st.floats(0.0, 1.0), r1=resistance, r2=resistance, rest=resistance)
def test_combined_method_lies_between_its_limits(f: float, r1: float, r2: float, rest: float) -> None:
    result = tr.combined_method([rest, [[1 - f, r1], [f, r2]]])
    assert result.r_lower <= result.r_upper * (1 + 1e-12)
    assert result.r_lower * (1 - 1e-12) <= result.r_total <= result.r_upper * (1 + 1e-12)
    assert result.u == pytest.approx(1 / result.r_total)


@given(layers=st.lists(resistance, min_size=1, max_size=6))
def test_combined_method_of_plain_layers_is_the_plain_sum(layers: list[float]) -> None:
    result = tr.combined_method(layers)
    assert result.u == pytest.approx(tr.u_value(layers)) and result.max_relative_error == pytest.approx(0.0, abs=1e-12)


def test_two_bridged_layers_make_every_path() -> None:
    layer = [[0.9, 3.0], [0.1, 1.0]]
    upper = tr.combined_method([layer, layer], rsi=0.13, rse=0.04).r_upper
    by_hand = 1 / (0.81 / 6.17 + 2 * 0.09 / 4.17 + 0.01 / 2.17)
    assert upper == pytest.approx(by_hand)


def test_paths_without_end_are_refused() -> None:
    with pytest.raises(ValueError, match="4096"):
        tr.combined_method([[[0.9, 3.0], [0.1, 1.0]]] * 40)


@pytest.mark.parametrize("fractions", [[0.5, 0.4], [1.1, -0.1]])
def test_fractions_that_are_no_shares_are_refused(fractions: list[float]) -> None:
    with pytest.raises(ValueError, match="sum to 1"):
        tr.parallel_path_resistance(fractions, [1.0, 2.0])


@given(r=st.floats(1.0, 10.0), void=st.floats(0.1, 0.9), f=st.floats(0.001, 0.999))
def test_a_void_costs_more_than_its_share(r: float, void: float, f: float) -> None:
    effective = tr.resistance_with_void(r, void, f)
    assert effective < (1 - f) * r + f * void
    assert tr.void_fraction_from_u(1 / effective, 1 / r, 1 / void) == pytest.approx(f, rel=1e-6)


@given(
    ti=st.floats(290.0, 300.0), drop=st.floats(0.1, 6.0), out=st.floats(260.0, 280.0),
    eps=st.floats(0.5, 1.0), h=st.floats(0.7, 5.0),
)  # fmt: skip
def test_inside_methods_agree_with_each_other(ti: float, drop: float, out: float, eps: float, h: float) -> None:
    ts = ti - drop
    exact = tr.u_inside_exact(ts, ti, out, ti, eps, h)
    assert tr.u_inside_madding(ts, ti, out, ti, eps, h) == pytest.approx(exact, rel=2e-3)
    assert tr.u_inside_fokaides(ts, ti, out, ti, eps, h) < exact
    assert exact > 0.0


@given(ti=st.floats(288.0, 300.0), to=st.floats(255.0, 320.0), u=st.floats(0.1, 3.0))
def test_expected_surface_and_convention_are_inverse(ti: float, to: float, u: float) -> None:
    assume(abs(ti - to) > 1.0)
    surface = tr.expected_inside_surface(ti, to, 0.13, 1 / u)
    assert tr.u_inside_convention(surface, ti, to) == pytest.approx(u, rel=1e-6)
    assert condensation.temperature_factor(surface, ti, to) == pytest.approx(condensation.plane_factor(u, 0.13))


def test_stud_is_colder_in_an_insulated_wall_and_warmer_in_an_empty_one() -> None:
    """EX-7.5 of the dossier, computed: the sign flip that separates the two."""
    stud, full, empty = (tr.expected_inside_surface(294.0, 255.0, 0.68, r) for r in (7.105, 15.73, 3.73))
    assert empty < stud < full


def test_bridge_factor_leaves_missing_pixels_out() -> None:
    assert tr.bridge_incidence_factor([18.0, np.nan, 16.0], 18.0, 20.0) == pytest.approx(1.5)


def test_outside_film_at_low_wind_spreads_four_times() -> None:
    """EX-3.10: the same picture gives 0.61 to 2.5 W/m2K outside."""
    wall = (275.15, 293.15, 273.15)
    values = [tr.u_outside_albatici(*wall, 0.9, 0.5), tr.u_outside_film(*wall, 7.7), tr.u_outside_film(*wall, 25.0)]
    assert max(values) / min(values) > 4.0


def test_factor_limits_carry_their_marks() -> None:
    limits = condensation.factor_limits()
    assert limits["din-4108-2"]["limit"] == 0.70 and limits["dwelling-junction"]["limit"] == 0.75
    assert {row["mark"] for row in limits.values()} <= {"seen", "memory", "computed", "common practice"}
    with pytest.raises(TypeError):
        limits["din-4108-2"]["limit"] = 0.1  # the tables are read-only


@given(u=st.floats(0.05, 3.0))
def test_required_difference_is_never_below_five_kelvin(u: float) -> None:
    needed = tr.required_temperature_difference(u)
    assert needed >= 5.0 and needed * u >= 3.0 - 1e-9
