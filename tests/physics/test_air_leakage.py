"""Air leakage: signs, conservation between leakage area and flow, and the basic infiltration model with its tables."""

from __future__ import annotations

import pytest
from heatbrief.physics import air_leakage as al
from hypothesis import given
from hypothesis import strategies as st


@given(c=st.floats(0.001, 0.5), n=st.floats(0.5, 1.0), reference=st.floats(1.0, 50.0), cd=st.floats(0.5, 1.0))
def test_leakage_area_passes_the_same_flow(c: float, n: float, reference: float, cd: float) -> None:
    area = al.leakage_area(c, n, reference, cd)
    assert al.orifice_flow(area, reference, cd) == pytest.approx(c * reference**n)
    assert al.orifice_flow(area, -reference, cd) == -al.orifice_flow(area, reference, cd)
    assert al.power_law_coefficient(c * reference**n, reference, n) == pytest.approx(c)


def test_what_is_left_open_is_the_usual() -> None:
    """Exponent 0.65; effective leakage area at 4 Pa with discharge 1; a sharp opening has 0.61 (common practice)."""
    c = float(al.power_law_coefficient(0.5, 50.0))
    assert c == pytest.approx(0.5 / 50.0**0.65)
    assert float(al.leakage_area(c)) == pytest.approx(c * 4.0**0.65 / (2.0 * 4.0 / 1.2041) ** 0.5)
    assert float(al.orifice_flow(0.01, 4.0)) == pytest.approx(0.01 * 0.61 * (8.0 / 1.2041) ** 0.5)
    assert float(al.wind_pressure(10.0)) == pytest.approx(60.205) and float(al.wind_pressure(10.0, 0.5, 1.0)) == 25.0


@given(ti=st.floats(285.0, 300.0), to=st.floats(250.0, 315.0), h=st.floats(0.5, 12.0))
def test_stack_pressure_has_the_sign_of_the_difference(ti: float, to: float, h: float) -> None:
    pressure = al.stack_pressure(ti, to, h)
    assert pressure * (ti - to) >= 0.0
    assert abs(pressure) == pytest.approx(0.0432 * h * abs(ti - to), rel=0.25)


def test_stack_pressure_by_hand() -> None:
    """Ideal gas, 287.05 J/kgK: 101325 / 287.05 x (1/263.15 - 1/293.15) x 9.80665 x 5 m = 6.73 Pa; half of it at half."""
    by_hand = 101325.0 / 287.05 * (1 / 263.15 - 1 / 293.15) * 9.80665 * 5.0
    assert float(al.stack_pressure(293.15, 263.15, 5.0)) == pytest.approx(by_hand, rel=1e-4)
    assert float(al.stack_pressure(293.15, 263.15, 5.0, 50662.5)) == pytest.approx(by_hand / 2, rel=1e-4)


STACK = {1: 0.000145, 2: 0.000290, 3: 0.000435}
WIND = {
    1: (0.000319, 0.000420, 0.000494),
    2: (0.000246, 0.000325, 0.000382),
    3: (0.000174, 0.000231, 0.000271),
    4: (0.000104, 0.000137, 0.000161),
    5: (0.000032, 0.000042, 0.000049),
}
"""ASHRAE Handbook of Fundamentals, basic model, as printed in the EnergyPlus Engineering Reference (seen)."""


@pytest.mark.parametrize("storeys", [1, 2, 3])
@pytest.mark.parametrize("shelter", [1, 2, 3, 4, 5])
def test_the_basic_model_has_the_coefficients_of_its_tables(storeys: int, shelter: int) -> None:
    """1000 cm2: Q [m3/s] = sqrt(Cs dT + Cw v2)."""
    assert al.basic_infiltration(0.1, 9.0, 0.0, storeys, shelter) == pytest.approx(3.0 * STACK[storeys] ** 0.5)
    wind = WIND[shelter][storeys - 1]
    assert al.basic_infiltration(0.1, 0.0, 3.0, storeys, shelter) == pytest.approx(3.0 * wind**0.5)
    both = (STACK[storeys] * 20.0 + wind * 16.0) ** 0.5
    assert al.basic_infiltration(0.1, -20.0, 4.0, storeys, shelter) == pytest.approx(both)
    assert al.basic_infiltration(0.05, -20.0, 4.0, storeys, shelter) == pytest.approx(both / 2)


def test_one_storey_of_average_shelter_unless_said() -> None:
    assert al.basic_infiltration(0.1, 20.0, 4.0) == al.basic_infiltration(0.1, 20.0, 4.0, 1, 3)


@pytest.mark.parametrize(("storeys", "shelter"), [(0, 3), (4, 3), (1, 0), (1, 6), (-1, 3)])
def test_outside_the_tables_is_refused(storeys: int, shelter: int) -> None:
    with pytest.raises(ValueError, match="storeys"):
        al.basic_infiltration(0.05, 20.0, 4.0, storeys, shelter)


def test_air_heat_is_a_third_of_a_watt_hour() -> None:
    assert al.sensible_air_heat(1.0 / 3600.0, 1.0) == pytest.approx(0.3365, rel=2e-3)
    assert al.sensible_air_heat(0.1, -5.0) == -al.sensible_air_heat(0.1, 5.0)
    assert al.sensible_air_heat(0.1, 5.0, 1.0, 1000.0) == pytest.approx(500.0)
