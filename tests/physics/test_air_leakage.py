"""Air leakage: signs, conservation between leakage area and flow, and the infiltration models."""

from __future__ import annotations

import pytest
from heatbrief.physics import air_leakage as al
from hypothesis import given
from hypothesis import strategies as st


@given(c=st.floats(0.001, 0.5), n=st.floats(0.5, 1.0), dp=st.floats(0.1, 100.0))
def test_power_law_is_odd_and_inverts(c: float, n: float, dp: float) -> None:
    flow = al.power_law_flow(c, dp, n)
    assert al.power_law_flow(c, -dp, n) == -flow
    assert al.power_law_coefficient(flow, dp, n) == pytest.approx(c)


@given(c=st.floats(0.001, 0.5), n=st.floats(0.5, 1.0), reference=st.floats(1.0, 50.0), cd=st.floats(0.5, 1.0))
def test_leakage_area_passes_the_same_flow(c: float, n: float, reference: float, cd: float) -> None:
    area = al.leakage_area(c, n, reference, cd)
    assert al.orifice_flow(area, reference, cd) == pytest.approx(al.power_law_flow(c, reference, n))


@given(ti=st.floats(285.0, 300.0), to=st.floats(250.0, 315.0), h=st.floats(0.5, 12.0))
def test_stack_pressure_has_the_sign_of_the_difference(ti: float, to: float, h: float) -> None:
    pressure = al.stack_pressure(ti, to, h)
    assert pressure * (ti - to) >= 0.0
    assert abs(pressure) == pytest.approx(0.0432 * h * abs(ti - to), rel=0.25)


@given(dt=st.floats(0.0, 40.0), wind=st.floats(0.0, 12.0), storeys=st.integers(1, 3), shelter=st.integers(1, 4))
def test_basic_model_grows_with_exposure(dt: float, wind: float, storeys: int, shelter: int) -> None:
    here = al.basic_infiltration(0.05, dt, wind, storeys, shelter)
    assert al.basic_infiltration(0.05, dt, wind, storeys, shelter + 1) <= here
    assert al.basic_infiltration(0.05, -dt, wind, storeys, shelter) == here
    assert al.basic_infiltration(0.10, dt, wind, storeys, shelter) == pytest.approx(2 * here)


@given(dt=st.floats(0.0, 40.0), wind=st.floats(0.0, 12.0), flue=st.booleans(), storeys=st.integers(1, 3))
def test_enhanced_model_is_the_quadrature_of_its_parts(dt: float, wind: float, flue: bool, storeys: int) -> None:
    c_stack, c_wind, shelter = al.enhanced_coefficients(storeys, 3, flue, "crawl")
    flow = al.enhanced_infiltration(0.05, dt, wind, c_stack, c_wind, shelter)
    assert flow.total**2 == pytest.approx(flow.stack**2 + flow.wind**2, abs=1e-15)
    assert flow.total >= max(flow.stack, flow.wind)


@pytest.mark.parametrize(("storeys", "table"), [(2, 0.078), (3, 0.098)])
def test_closed_form_does_not_match_the_table_beyond_one_storey(storeys: int, table: float) -> None:
    """The published table uses other leak shares there, so the form must not be taken for it."""
    closed = al.enhanced_stack_coefficient(2.5 * storeys)
    assert abs(closed / table - 1.0) > 0.05


@pytest.mark.parametrize(("storeys", "shelter"), [(0, 3), (4, 3), (1, 0), (1, 6)])
def test_outside_the_tables_is_refused(storeys: int, shelter: int) -> None:
    with pytest.raises(ValueError, match="storeys"):
        al.enhanced_coefficients(storeys, shelter)
    with pytest.raises(ValueError, match="storeys"):
        al.basic_infiltration(0.05, 20.0, 4.0, storeys, shelter)


def test_air_heat_is_a_third_of_a_watt_hour() -> None:
    assert al.sensible_air_heat(1.0 / 3600.0, 1.0) == pytest.approx(0.3365, rel=2e-3)
    assert al.sensible_air_heat(0.1, -5.0) == -al.sensible_air_heat(0.1, 5.0)
