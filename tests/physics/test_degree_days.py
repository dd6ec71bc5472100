"""Degree days against a plain loop, the vesma monthly table, and energy round trips."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import degree_days as dd
from hypothesis import given
from hypothesis import strategies as st

series = st.lists(st.floats(250.0, 315.0), min_size=24, max_size=24 * 5).map(lambda v: v[: len(v) // 24 * 24])


@given(t=series, base=st.floats(280.0, 295.0))
def test_hourly_is_never_below_the_daily_mean(t: list[float], base: float) -> None:
    for function in (dd.heating_degree_days, dd.cooling_degree_days):
        assert function(t, base, "hourly") >= function(t, base, "daily_mean") - 1e-6


@given(t=series, base=st.floats(280.0, 295.0), method=st.sampled_from(dd.METHODS))
def test_heating_less_cooling_is_the_mean_difference(t: list[float], base: float, method: str) -> None:
    difference = dd.heating_degree_days(t, base, method) - dd.cooling_degree_days(t, base, method)
    days = np.reshape(t, (-1, 24))
    centre = 0.5 * (days.max(1) + days.min(1)) if method == "max_min" else days.mean(1)
    assert difference == pytest.approx(float(np.sum(base - centre)), abs=1e-6)


def test_constant_days_agree_by_every_method() -> None:
    assert [dd.heating_degree_days([278.15] * 48, 288.65, m) for m in dd.METHODS] == pytest.approx([21.0] * 3)


def test_uk_standard_year_sums_to_the_published_total() -> None:
    """EX-6.3, vesma.com standard degree days (seen): 2463 K d at 15.5 degC; a copy misprints 2462."""
    months = [395, 342, 297, 233, 151, 77, 42, 45, 83, 177, 275, 346]
    lengths = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    hours = np.concatenate([np.full(24 * n, 288.65 - m / n) for m, n in zip(months, lengths, strict=True)])
    total = dd.heating_degree_days(hours, 288.65)
    assert total == pytest.approx(2463.0) and round(total) != 2462


@pytest.mark.parametrize("count", [0, 23, 25])
def test_part_days_are_refused(count: int) -> None:
    with pytest.raises(ValueError, match="days"):
        dd.heating_degree_days([280.0] * count, 288.65)


def test_unknown_method_is_refused() -> None:
    with pytest.raises(ValueError, match="daily_mean"):
        dd.heating_degree_days([280.0] * 24, 288.65, "weekly")


def test_a_missing_hour_is_not_counted_as_mild() -> None:
    assert np.isnan(dd.heating_degree_days([280.0] * 23 + [np.nan], 288.65))


@pytest.mark.parametrize(
    ("name", "kwh"), [("natural gas", 29.307), ("heating oil", 40.65), ("propane", 26.77), ("cord wood", 5861)]
)
def test_fuel_heat_content_in_kwh(name: str, kwh: float) -> None:
    """US EIA heat contents (seen), converted."""
    assert dd.fuel(name).heat_content / 3.6e6 == pytest.approx(kwh, rel=3e-4)


@pytest.mark.parametrize(("name", "kg"), [("natural gas", 0.1810), ("heating oil", 0.2496), ("propane", 0.2152)])
def test_fuel_carbon_per_kwh(name: str, kg: float) -> None:
    """US EIA coefficients (seen), converted."""
    assert dd.carbon_dioxide(3.6e6, name) == pytest.approx(kg, abs=6e-5)


def test_unknown_carbon_stays_unknown_and_unknown_fuel_is_named() -> None:
    assert np.isnan(dd.carbon_dioxide(1.0, "cord wood"))
    with pytest.raises(KeyError, match="propane"):
        dd.fuel("coal")


@given(area=st.floats(1.0, 300.0), r=st.floats(0.2, 5.0), more=st.floats(0.1, 5.0), eta=st.floats(0.5, 4.0))
def test_insulation_saves_and_less_than_was_lost(area: float, r: float, more: float, eta: float) -> None:
    saved = dd.insulation_saving(area, r, r + more, 2500.0, eta)
    assert 0.0 < saved < dd.delivered_energy(dd.season_heat(area / r, 2500.0), eta)


def test_newer_ratings_are_lower_for_the_same_unit() -> None:
    assert dd.seer_from_seer2(14.3) == pytest.approx(15.05, abs=0.01)  # from memory: 0.95 and 0.85
    assert dd.hspf_from_hspf2(7.5) == pytest.approx(8.82, abs=0.01)
