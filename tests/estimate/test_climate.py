"""Degree days, hours and notes of the season at their edges: counted in the head from years of two halves."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from heatbrief.api import Context
from heatbrief.estimate.climate import climate_of
from heatbrief.estimate.season_settings import Settings
from heatbrief.estimate.weather import cooling_deficit, cooling_degrees, heating_degrees
from heatbrief.model import Bill, Quantity
from heatbrief.model.costs import MONTH_DAYS

from .test_climate_and_systems import FUELS, table

exact = Quantity.exact
C = "degC"


def of(settings, celsius=None, **bill):
    files = {} if celsius is None else {"w.csv": table(celsius)}
    return climate_of(settings, FUELS, Context(files=files, bill=bill))


def weather(**more):
    return Settings(**{"weather": Path("w.csv"), "year_spread": 0.0, **more})


def halves(cold, hot):
    return np.repeat([float(cold), float(hot)], 4380)


@pytest.mark.parametrize(
    ("function", "balance", "inside", "degree_days"),
    [
        (heating_degrees, 5.0, None, 0.0),
        (heating_degrees, 5.1, None, 0.1),
        (heating_degrees, 5.1, 20.0, 15.0),
        (heating_degrees, 30.1, 4.0, 0.0),
        (cooling_degrees, 30.0, None, 0.0),
        (cooling_degrees, 29.9, None, 0.1),
        (cooling_degrees, 29.9, 26.0, 4.0),
        (cooling_degrees, 4.0, 26.0, 0.0),
        (cooling_deficit, 4.0, 26.0, 17.0),
        (cooling_deficit, 4.0, 10.0, 0.0),
        (cooling_deficit, 31.0, 10.0, 0.0),
    ],
)
def test_half_a_year_at_5_and_half_at_30_degrees(function, balance, inside, degree_days):
    """An hour at the balance temperature neither heats nor cools; 182.5 days each."""
    found = function(halves(5, 30), balance, inside)
    assert found == pytest.approx(degree_days * 182.5, abs=1e-6) and found >= 0.0


def test_hours_of_cooling_are_those_above_the_balance():
    base = Quantity.between(20.0, 30.0, C, 24.0)
    found = of(weather(cooling_base=base), np.repeat([20.0, 24.0, 30.0, 31.0], 2190)).cooling_hours.value
    assert (found.low, found.value, found.high, found.unit) == (2190.0, 4380.0, 6570.0, "h")
    stated = of(weather(cooling_hours=exact(77.0, "h")), halves(5, 30)).cooling_hours.value
    assert stated == exact(77.0, "h") and of(Settings()).cooling_hours is None


@pytest.mark.parametrize(
    ("inside", "deficit"),
    [(26.0, 4380 * 0.1 / 24), (25.902, 4380 * 0.002 / 24), (24.1, None), (25.9, None), (None, None)],
)
def test_cool_hours_that_outweigh_hot_ones_are_kept_as_a_deficit(inside, deficit):
    """While cooling runs above 20 degC half of the hours are 24.1 and half are 27.7: the mean is 25.9."""
    given = weather(cooling_base=exact(20.0, C), cooling_inside=None if inside is None else exact(inside, C))
    found = of(given, np.tile([24.1, 27.7], 4380)).cooling_deficit
    wanted = None if deficit is None else deficit * 2
    assert (None if found is None else pytest.approx(found.value.value, rel=1e-6)) == wanted


def test_given_degree_days_have_no_deficit():
    given = weather(cooling_base=exact(20.0, C), cooling_inside=exact(40.0, C), cooling_degree_days=exact(100.0, "K*d"))
    assert of(given, halves(5, 30)).cooling_deficit is None


def test_the_balance_temperature_and_the_years_widen_in_quadrature():
    """10 K x 182.5 d = 1825; 3 K less or 4 K more of balance is 547.5 and 730; a tenth of 1825 is 182.5."""
    base = Quantity.between(12.0, 19.0, C, 15.0)
    found = of(weather(heating_base=base, year_spread=0.1), halves(5, 30)).degree_days["heating"].value
    assert found.value == pytest.approx(1825.0)
    assert found.low == pytest.approx(1825.0 - np.hypot(547.5, 182.5))
    assert found.high == pytest.approx(1825.0 + np.hypot(730.0, 182.5))
    sure = of(weather(heating_base=exact(15.0, C)), halves(5, 30)).degree_days["heating"].value
    assert sure.low == sure.value == sure.high and sure.coverage == 1.0


def bill(daily, temperatures, days=MONTH_DAYS):
    return Bill(
        months=tuple(exact(one * many, "kWh") for one, many in zip(daily, days, strict=True)),
        temperatures=tuple(exact(one, C) for one in temperatures),
        days=tuple(days),
    )


def test_a_bill_is_brought_to_a_year():
    """Cooling from 20 degC: 5 and 10 K over 40 of 200 days each are 600 K d, 1095 in 365 days."""
    t, days = (10.0, 15.0, 20.0, 25.0, 30.0, 12.0, 17.0), (30, 30, 30, 40, 40, 15, 15)
    use = [6.0 + 2.0 * max(one - 20.0, 0.0) for one in t]
    found = of(Settings(cooling_base=exact(20.0, C), year_spread=0.0), electricity=bill(use, t, days))
    assert found.degree_days["cooling"].value.value == pytest.approx(1095.0)
    use = [6.0 + 2.0 * max(20.0 - one, 0.0) for one in t]
    found = of(Settings(heating_base=exact(20.0, C), year_spread=0.0), gas=bill(use, t, days))
    assert found.degree_days["heating"].value.value == pytest.approx((300 + 150 + 120 + 45) * 365 / 200)
    assert "heating" not in of(Settings(), electricity=bill(use, t, days)).degree_days, "not the bill of its fuel"


def test_every_season_that_is_missing_is_named():
    found = of(Settings(heating_degree_days=exact(100.0, "K*d")))
    assert (
        len(found.missing) == 1
        and "`cooling_degree_days`" in found.missing[0]
        and list(found.degree_days) == ["heating"]
    )
    assert len(of(Settings()).missing) == 2 and not of(weather(), halves(5, 30)).missing


def test_what_was_used_is_stated():
    rows = of(Settings(heating_degree_days=exact(123456.0, "K*d"), heating_base=exact(12.3456, C))).assumptions
    assert [(row.name, row.value) for row in rows] == [
        ("heating degree days", "1.2346e+05 K*d"),
        ("heating base", "12.35 degC"),
    ]
    assert len(of(Settings(heating_degree_days=exact(1.0, "K*d"))).assumptions) == 1, "no base was given"
    origins = {row.name: row.origin for row in of(weather(heating_base=exact(9.0, C)), halves(5, 30)).assumptions}
    assert origins["heating degree days"] == "counted from w.csv" and origins["heating base"] == "given in the survey"
    assert origins["cooling base"].startswith("65 degF")
