"""The season by degree days, weather file or bill, and equipment by rating or usual range."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from heatbrief.api import Context
from heatbrief.errors import StepError
from heatbrief.estimate.climate import climate_of
from heatbrief.estimate.season import conducting, house_of
from heatbrief.estimate.season_air import yearly_air
from heatbrief.estimate.season_settings import Settings
from heatbrief.estimate.systems import cooling_efficiency, heating_efficiency
from heatbrief.estimate.terms import total
from heatbrief.model import Bill, Conditions, Estimate, Factor, Finding, Quantity
from heatbrief.model.costs import MONTH_DAYS

exact = Quantity.exact
FUELS = {"heating": "gas", "cooling": "electricity"}
MONTHS = (0.3, 5.0, 11.4, 14.7, 19.0, 23.6, 25.4, 24.8, 20.1, 13.1, 10.8, 4.2)
NONE = {"seer": None, "seer2": None, "hspf": None, "hspf2": None}


def table(celsius) -> str:
    start = np.datetime64("2025-01-01T00:00")
    return "time,temperature (C)\n" + "".join(
        f"{start + np.timedelta64(n, 'h')},{value:.3f}\n" for n, value in enumerate(celsius)
    )


def steady() -> np.ndarray:
    """Half a year at 5 degC, half at 30 degC: 182.5 days each."""
    return np.repeat([5.0, 30.0], 4380)


def context(celsius=None, **bill) -> Context:
    return Context(files={} if celsius is None else {"w.csv": table(celsius)}, bill=bill)


WEATHER = Settings(weather=Path("w.csv"), heating_base=exact(15.0, "degC"), cooling_base=exact(20.0, "degC"))


def days(climate, season):
    return climate.degree_days[season].value


def test_degree_days_are_counted_from_the_file():
    found = climate_of(WEATHER, FUELS, context(steady()))
    heating, cooling = days(found, "heating"), days(found, "cooling")
    assert heating.value == pytest.approx(10.0 * 182.5) and cooling.value == pytest.approx(10.0 * 182.5)
    assert heating.half_width == pytest.approx(0.1 * heating.value), "years differ"
    assert found.cooling_hours.value.value == 4380.0 and not found.missing
    assert any("Sun" in note for note in found.notes), "what is left out is said"


def test_given_degree_days_win_over_the_file():
    given = Settings(weather=Path("w.csv"), heating_degree_days=exact(2500.0, "K*d"))
    assert days(climate_of(given, FUELS, context(steady())), "heating") == exact(2500.0, "K*d")


def test_counting_from_the_rooms():
    inside = Settings(
        weather=Path("w.csv"),
        heating_base=exact(15.0, "degC"),
        cooling_base=exact(20.0, "degC"),
        heating_inside=exact(20.0, "degC"),
        cooling_inside=exact(26.0, "degC"),
    )
    found = climate_of(inside, FUELS, context(steady()))
    assert days(found, "heating").value == pytest.approx(15.0 * 182.5) and days(
        found, "cooling"
    ).value == pytest.approx(4.0 * 182.5)


def test_a_doubtful_balance_temperature_widens_the_season():
    doubtful = Settings(weather=Path("w.csv"), year_spread=0.0, heating_base=Quantity.between(13.0, 17.0, "degC"))
    heating = days(climate_of(doubtful, FUELS, context(steady())), "heating")
    assert (heating.low, heating.high) == pytest.approx((8.0 * 182.5, 12.0 * 182.5))


def bill_of(base, slope, balance, temperatures=MONTHS):
    daily = base + slope * np.maximum(balance - np.array(temperatures), 0.0)
    return Bill(
        months=tuple(exact(one, "kWh") for one in daily * np.array(MONTH_DAYS)),
        temperatures=tuple(exact(one, "degC") for one in temperatures),
    )


def test_the_balance_temperature_comes_from_the_bill_of_the_fuel():
    settings = Settings(weather=Path("w.csv"))
    found = climate_of(settings, FUELS, context(steady(), gas=bill_of(10.0, 3.0, 14.0)))
    assert days(found, "heating").value == pytest.approx(9.0 * 182.5, rel=1e-3)
    assert any("fitted to the bill" in row.origin for row in found.assumptions)
    plain = climate_of(settings, FUELS, context(steady()))
    assert any("65 degF" in row.origin for row in plain.assumptions), "a default is said to be one"


def test_a_bill_alone_gives_the_season_of_its_fuel():
    found = climate_of(Settings(), FUELS, context(gas=bill_of(10.0, 3.0, 14.0)))
    wanted = float(np.sum(np.maximum(14.0 - np.array(MONTHS), 0.0) * np.array(MONTH_DAYS)))
    assert days(found, "heating").value == pytest.approx(wanted, rel=2e-3)
    assert "cooling" not in found.degree_days and any("cooling" in one for one in found.missing)


def test_one_bill_that_heats_and_cools_takes_four_parameters():
    t = np.array(MONTHS)
    daily = 10.0 + 2.0 * np.maximum(15.0 - t, 0.0) + 1.5 * np.maximum(t - 15.0, 0.0)
    both = Bill(
        months=tuple(exact(one, "kWh") for one in daily * np.array(MONTH_DAYS)),
        temperatures=tuple(exact(one, "degC") for one in t),
    )
    found = climate_of(Settings(), {"heating": "electricity", "cooling": "electricity"}, context(electricity=both))
    bases = {row.name: row.value for row in found.assumptions}
    assert bases["heating base"] == bases["cooling base"] == "15 degC"


def test_a_bill_that_cannot_be_fitted_is_named():
    found = climate_of(Settings(), FUELS, context(gas=bill_of(10.0, 0.0, 14.0)))
    assert any("not fitted" in note for note in found.notes) and "heating" not in found.degree_days


def test_a_file_that_was_not_given_is_an_error():
    with pytest.raises(StepError) as caught:
        climate_of(WEATHER, FUELS, context())
    assert caught.value.code == "weather-file"


# --- equipment -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "rating", "factor"), [("seer", 13.0, 3.810), ("hspf", 8.2, 2.403), ("seer2", 12.35, 3.810)]
)
def test_ratings_become_seasonal_factors(kind, rating, factor):
    """EX-6.8: SEER 13 is 3.810 and HSPF 8.2 is 2.403; SEER2 is 0.95 SEER (from memory)."""
    ratings = {**NONE, kind: rating}
    found = (
        heating_efficiency("heat pump", "gas", None, ratings)
        if kind == "hspf"
        else cooling_efficiency("", None, ratings)
    )
    assert found.value.value == pytest.approx(factor, abs=1e-3) and found.fuel == "electricity"
    assert found.value.low < found.value.value < found.value.high


@pytest.mark.parametrize(
    ("system", "fuel", "low", "high"),
    [
        ("furnace", "gas", 0.70, 0.92),
        ("boiler", "oil", 0.60, 0.88),
        ("furnace", "propane", 0.60, 0.88),
        ("resistance", "gas", 1.0, 1.0),
    ],
)
def test_usual_ranges(system, fuel, low, high):
    """Ranges of yearly efficiency in use from a trade page (seen); resistance heat is all of its electricity."""
    found = heating_efficiency(system, fuel, None, NONE)
    assert (found.value.low, found.value.high) == (low, high) and "usual range" in found.origin
    assert found.fuel == ("electricity" if system == "resistance" else fuel)


def test_nothing_is_invented_without_a_system():
    assert heating_efficiency("", "gas", None, NONE).value is None and cooling_efficiency("", None, NONE).value is None
    assert heating_efficiency("furnace", "gas", exact(0.95, "1"), NONE).value == exact(0.95, "1")


# --- air leaks -----------------------------------------------------------------------------


def test_a_leak_of_known_flow_gets_its_year():
    """45 m3/h at 20 K carries 300 W (1.2 kJ/m3K), 15 W/K: 2000 K d make 720 kWh of heat, 288 kWh at a factor of 2.5."""
    leak = Finding("leak", "envelope", "envelope.air_leakage_pair", "p", "r", "t", "s", "defect", "plan", 0.9)
    flow = Estimate("leak-air-flow", "leak", "air-flow", "t", {"heat_flow": Quantity.between(200.0, 400.0, "W", 300.0)})
    given = Settings(
        heating_degree_days=exact(2000.0, "K*d"), heating_efficiency=exact(2.5, "1"), heating_system="heat pump"
    )
    airs = Conditions(inside_air=exact(20.0, "degC"), outside_air=exact(0.0, "degC"))
    around = Context(conditions=airs, prices={"electricity": exact(0.2, "USD/kWh")})
    (found,) = yearly_air([leak], [flow], given, around)
    assert found.quantities["yearly_heat_heating"].value == pytest.approx(720.0)
    assert found.quantities["yearly_energy"].value == pytest.approx(288.0)
    cost = found.quantities["yearly_cost"]
    assert cost.value == pytest.approx(57.6) and cost.half_width / cost.value == pytest.approx(1 / 3, rel=0.01)
    assert yearly_air([leak], [], given, around) == () and yearly_air([], [flow], given, around) == ()
    assert yearly_air([leak], [flow], given, Context()) == ()


def test_a_hot_attic_works_against_cool_hours_of_the_cooling_season():
    """Outside 24 degC all summer, rooms 26 degC, attic 7 K above outside: 5 K x 4380 h through 1 W/K, 21.9 kWh."""
    mild = Settings(
        weather=Path("w.csv"),
        heating_base=exact(15.0, "degC"),
        cooling_base=exact(20.0, "degC"),
        cooling_inside=exact(26.0, "degC"),
        attic_rise=exact(7.0, "K"),
        cooling_efficiency=exact(3.0, "1"),
    )
    around = context(np.repeat([5.0, 24.0], 4380))
    through = (Factor("1 W/K", exact(1.0, "W/K")),)
    house = house_of(mild, around)
    found = {
        hot: {one.name: total(one.heat).best for one in conducting(through, mild, house, hot, [])} for hot in (0, 1)
    }
    assert "cooling" not in found[0] and found[1]["cooling"] == pytest.approx(21.9)
