"""Usual ranges and ratings of equipment: the whole table, row by row."""

from __future__ import annotations

import pytest
from heatbrief.estimate.systems import USUAL, USUAL_COOLING, cooling_efficiency, heating_efficiency
from heatbrief.model import Quantity

NONE = {"seer": None, "seer2": None, "hspf": None, "hspf2": None}
exact = Quantity.exact

HEATING = [
    ("furnace", "gas", 0.70, 0.92),
    ("boiler", "gas", 0.70, 0.92),
    ("furnace", "oil", 0.60, 0.88),
    ("boiler", "oil", 0.60, 0.88),
    ("furnace", "propane", 0.60, 0.88),
    ("boiler", "propane", 0.60, 0.88),
    ("furnace", "electricity", 0.95, 1.0),
    ("boiler", "electricity", 0.98, 1.0),
    ("resistance", "electricity", 1.0, 1.0),
    ("heat pump", "electricity", 2.0, 3.5),
]
"""Yearly efficiency of fuels: a trade page (seen). Electric boilers and furnaces and heat pumps: common practice, no
source. Resistance: Joule's law."""


@pytest.mark.parametrize(("system", "fuel", "low", "high"), HEATING)
def test_usual_ranges_of_heating(system, fuel, low, high):
    found = heating_efficiency(system, fuel, None, NONE)
    assert (found.value.low, found.value.value, found.value.high) == (low, pytest.approx((low + high) / 2), high)
    assert found.fuel == fuel and found.origin == f"usual range of a {system}"


@pytest.mark.parametrize("system", ["air conditioner", "heat pump"])
def test_usual_range_of_cooling(system):
    """Common practice, no source: SEER 8.5 of the nineties to 16 of today over 3.412."""
    found = cooling_efficiency(system, None, NONE)
    assert (found.value.low, found.value.high, found.fuel) == (2.5, 4.7, "electricity")
    assert found.value.low == pytest.approx(8.5 / 3.412, abs=0.05) and found.value.high == pytest.approx(
        16 / 3.412, abs=0.05
    )


def test_the_table_has_no_other_rows():
    assert {row[:2] for row in HEATING} == set(USUAL) and set(USUAL_COOLING) == {"air conditioner", "heat pump"}


@pytest.mark.parametrize(
    ("system", "fuel", "runs_on"),
    [
        ("heat pump", "gas", "electricity"),
        ("resistance", "oil", "electricity"),
        ("furnace", "oil", "oil"),
        ("", "gas", "gas"),
    ],
)
def test_what_it_runs_on(system, fuel, runs_on):
    for given in (None, exact(0.9, "1")):
        assert heating_efficiency(system, fuel, given, NONE).fuel == runs_on


@pytest.mark.parametrize(("system", "fuel"), [("", "gas"), ("heat pump", "electricity")])
def test_a_stated_efficiency_wins_over_a_rating_and_a_rating_over_the_usual(system, fuel):
    rated = {**NONE, "hspf": 3.412142, "seer": 10.23642}
    given = exact(0.9, "1")
    assert heating_efficiency(system, fuel, given, rated).value is given
    assert cooling_efficiency("heat pump", given, rated).value is given
    found = heating_efficiency(system, fuel, None, rated)
    assert (found.value.low, found.value.value, found.value.high) == pytest.approx((0.85, 1.0, 1.15), rel=1e-5)
    cold = cooling_efficiency("heat pump", None, rated)
    assert (cold.value.low, cold.value.value, cold.value.high) == pytest.approx((2.55, 3.0, 3.45), rel=1e-5)
    assert "within 15 %" in found.origin and "within 15 %" in cold.origin


@pytest.mark.parametrize(("newer", "older", "share"), [("seer2", "seer", 0.95), ("hspf2", "hspf", 0.85)])
def test_the_older_rating_wins_and_the_newer_is_lower_for_the_same_machine(newer, older, share):
    """0.95 and 0.85: from memory."""

    def of(**given):
        rated = {**NONE, **given}
        return (
            cooling_efficiency("", None, rated) if older == "seer" else heating_efficiency("", "gas", None, rated)
        ).value

    assert of(**{newer: 10.0 * share}).value == pytest.approx(of(**{older: 10.0}).value, rel=1e-9)
    assert of(**{newer: 5.0, older: 10.0}) == of(**{older: 10.0})
    assert of() is None
