"""Ducts: limits, energy balance, and the direction of every loss."""

from __future__ import annotations

import pytest
from heatbrief.physics import ducts
from hypothesis import given
from hypothesis import strategies as st

duct = {"ua": st.floats(0.0, 200.0), "c": st.floats(20.0, 1000.0)}


@given(t_in=st.floats(280.0, 330.0), around=st.floats(260.0, 340.0), **duct)
def test_outlet_lies_between_inlet_and_surroundings(t_in: float, around: float, ua: float, c: float) -> None:
    out = ducts.outlet_temperature(t_in, around, ua, c)
    assert min(t_in, around) - 1e-9 <= out <= max(t_in, around) + 1e-9
    gain = ducts.conduction_gain(t_in, around, ua, c)
    assert gain == pytest.approx(c * (out - t_in), abs=1e-9)
    assert abs(gain) <= abs(ua * (around - t_in)) + 1e-6


@given(leak=st.floats(0.0, 0.5), b=st.floats(0.7, 1.0), zone=st.floats(0.0, 30.0))
def test_leaks_only_lower_delivery_and_regain_only_raises_it(leak: float, b: float, zone: float) -> None:
    tight = ducts.delivery_effectiveness(b, b, 0.0, 0.0, 30.0, zone, zone)
    leaky = ducts.delivery_effectiveness(b, b, leak, leak, 30.0, zone, zone)
    assert leaky <= tight + 1e-12
    assert ducts.with_regain(leaky, 0.0, 0.0, b, leak, 30.0, zone) == pytest.approx(leaky)


def test_perfect_ducts_deliver_everything() -> None:
    assert ducts.delivery_effectiveness(1.0, 1.0, 0.0, 0.0, 30.0, 20.0, 20.0) == pytest.approx(1.0)


@given(r=st.floats(0.1, 3.0))
def test_effective_resistance_beats_a_bare_duct_and_grows(r: float) -> None:
    for side in ("supply", "return"):
        assert ducts.effective_resistance(r, side) > ducts.BARE_DUCT_R
        assert ducts.effective_resistance(r + 0.1, side) > ducts.effective_resistance(r, side)


def test_unknown_attic_rule_names_the_known_ones() -> None:
    with pytest.raises(ValueError, match="vented attic"):
        ducts.attic_temperature(300.0, "garage roof")


def test_radiant_barrier_attic_is_cooler() -> None:
    assert ducts.radiant_barrier_attic(310.93) < ducts.attic_temperature(310.93)
