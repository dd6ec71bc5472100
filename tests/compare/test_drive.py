"""What each survey is divided by, against published relations and a reference library."""

from __future__ import annotations

import psychrolib
import pytest
from heatbrief.compare import drive
from heatbrief.compare.rise import USUAL_EXPONENT
from heatbrief.model import Quantity
from heatbrief.model.results import RegionRecord
from heatbrief.physics.electrical import LOAD_EXPONENTS, rise_at_load

AIRS = {
    "inside_air": Quantity.exact(21.0, "degC"),
    "outside_air": Quantity.exact(-2.0, "degC"),
    "humidity": Quantity.exact(0.45, "1"),
}


def test_the_air_difference_is_signed_and_has_bounds():
    found = drive.air_difference(AIRS)
    assert (found.value, found.unit) == (23.0, "K") and found.low < 23.0 < found.high


def test_a_region_states_the_air_beyond_it():
    region = RegionRecord("ceiling", "whole", (), facts={"air_beyond": Quantity.exact(50.0, "degC")})
    assert drive.air_difference(AIRS, region).value == -29.0


def test_missing_facts_are_named():
    assert drive.air_difference({"inside_air": AIRS["inside_air"]}).words == ("air temperature outside",)
    assert drive.drying({"inside_air": AIRS["inside_air"]}, "plumbing.damp_surface", 20.0).words == ("humidity",)


@pytest.mark.parametrize(("air", "humidity"), [(21.0, 0.45), (24.0, 0.35), (35.0, 0.2)])
def test_how_far_a_wet_place_can_cool_agrees_with_a_reference_library(air, humidity):
    """psychrolib, after the ASHRAE Handbook of Fundamentals 2017, chapter 1 [computed by the library]."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    given = {"inside_air": Quantity.exact(air, "degC"), "humidity": Quantity.exact(humidity, "1")}
    found = drive.drying(given, "plumbing.damp_surface", air)
    assert found.value == pytest.approx(air - psychrolib.GetTWetBulbFromRelHum(air, humidity, 101325.0), abs=0.1)
    assert found.low < found.value < found.high


def test_exponents_of_the_load_are_the_published_ones():
    """Rise against current, 1.6 to 2.0: rated-rise, load-exponent in the source list [seen]."""
    assert dict(drive.LOADS)["load"] == LOAD_EXPONENTS and LOAD_EXPONENTS[1] == USUAL_EXPONENT
    assert float(rise_at_load(10.0, 20.0, 40.0, 2.0)) == 40.0


def test_a_load_is_needed_in_both_surveys():
    known = RegionRecord(
        "pole", "box", (), facts={"load": Quantity.exact(12.0, "A"), "rated": Quantity.exact(20.0, "A")}
    )
    bare = RegionRecord("pole", "box", ())
    assert drive.common_load((known, None), (known, None))[:2] == (12.0, 12.0)
    assert "later" in drive.common_load((known, None), (bare, None)).words[0]
    assert drive.load_share(known, None) == 0.6


@pytest.mark.parametrize(
    ("one", "two", "differ"), [(None, None, False), (-25.0, None, True), (-25.0, -24.0, False), (-25.0, -50.0, True)]
)
def test_pressures_of_a_fan(one, two, differ):
    facts = [{} if value is None else {"pressure_difference": Quantity.exact(value, "Pa")} for value in (one, two)]
    assert drive.pressures_differ(*facts) is differ
