"""Extra heat, its year and its drive at the edges: flows worked out in the head."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from heatbrief.api import Context, View
from heatbrief.estimate import season, season_air
from heatbrief.estimate.heat_flow import Settings, conditions_of, extra_heat, region_of, run, words_of
from heatbrief.estimate.season import conducting, drive_factor, hot_beyond, house_of
from heatbrief.estimate.season import run as run_season
from heatbrief.estimate.terms import total
from heatbrief.model import Conditions, Estimate, Factor, Finding, Quantity, Region

exact = Quantity.exact


def finding(name="one", check="envelope.insulation", region="wall", picture="room", verdict="defect", **measured):
    given = {"contrast": exact(-2.0, "K"), "area": exact(3.0, "m2"), "mean temperature": exact(18.0, "degC")}
    kept = {key: one for key, one in {**given, **measured}.items() if one is not None}
    return Finding(name, "envelope", check, picture, region, "t", "s", verdict, "plan", 0.9, measured=kept)


def airs(inside, outside=None):
    given = {"inside_air": inside, "outside_air": outside}
    return Conditions(**{key: exact(one, "degC") for key, one in given.items() if one is not None})


def context(inside=20.0, outside=0.0, regions=(), views=None, of=None, **more):
    return Context(
        conditions=airs(inside, outside), regions=tuple(regions), views=views or {}, conditions_of=of or {}, **more
    )


# --- where the facts come from -------------------------------------------------------------


def test_a_region_is_that_of_its_own_picture_and_name():
    regions = [Region("wall", "hall"), Region("door", "room"), Region("wall", "room", shows="brick")]
    assert region_of(finding(), context(regions=regions)) is regions[2]
    assert region_of(finding(), context(regions=regions[:2])) is None


def test_words_are_the_regions_else_the_pictures():
    views = {"room": View("room", shows="ceiling")}
    silent, telling = Region("wall", "room"), Region("wall", "room", shows="floor")
    assert words_of(finding(), context(regions=[telling], views=views)) == "floor"
    assert words_of(finding(), context(regions=[silent], views=views)) == "ceiling"
    assert words_of(finding(), context(views=views)) == "ceiling"


def test_conditions_are_the_pictures_else_the_surveys():
    own = airs(25.0)
    assert conditions_of(finding(), context(of={"room": own})) is own
    assert conditions_of(finding(), context(of={"hall": own})).inside_air.value == 20.0


# --- heat at the time ----------------------------------------------------------------------


def test_heat_is_coefficient_times_contrast_times_area_and_never_negative():
    found = extra_heat(finding(), context())
    assert found.flow.value == pytest.approx(found.film.value * 2.0 * 3.0) and found.flow.unit == "W"
    unsure = extra_heat(finding(contrast=Quantity(0.1, "K", -2.0, 2.2)), context())
    assert unsure.flow.low == 0.0 < unsure.flow.value < unsure.flow.high
    small = extra_heat(finding(area=exact(0.01, "m2")), context())
    assert small.flow.low < small.flow.value < 0.2


def test_without_its_own_temperature_a_surface_differs_from_the_air_by_the_contrast():
    """Colder by 2 K than air of 20 degC is 18 degC: the same coefficient as measured at 18, another at 22."""
    cold = extra_heat(finding(), context()).film
    assert extra_heat(finding(**{"mean temperature": None}), context()).film == cold
    warm = extra_heat(finding(**{"mean temperature": exact(22.0, "degC")}), context()).film
    assert extra_heat(finding(contrast=exact(2.0, "K"), **{"mean temperature": None}), context()).film == warm != cold


def test_one_that_cannot_be_worked_out_does_not_stop_the_next():
    found = [
        finding("a", check="x.y"),
        finding("b", area=None),
        finding("c", verdict="normal"),
        finding("d", verdict="suspect"),
    ]
    output = run(tuple(found), Settings(), context())
    assert [one.finding for one in output.estimates] == ["d"] and len(output.notes) == 1
    assert output.notes[0].startswith("b: no heat flow worked out: the area is not known")


# --- the drive at the time -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("inside", "outside", "drive"), [(20.0, 0.0, 20.0), (20.0, 30.0, 10.0), (20.0, 19.0, 1.0), (20.0, 19.1, None)]
)
def test_the_difference_of_the_airs_is_a_size_of_one_kelvin_or_more(inside, outside, drive):
    found = drive_factor(finding(), context(inside, outside))
    assert (None if found is None else pytest.approx(found.value.value)) == drive
    assert found is None or (found.name, found.power) == ("air difference at the time", 1)


def test_a_difference_below_nothing_is_turned_round_with_its_bounds():
    found = drive_factor(finding(**{"air difference": Quantity(-10.0, "K", -13.0, -8.0)}), context(), -1)
    assert (found.value.low, found.value.value, found.value.high) == (8.0, 10.0, 13.0)
    assert found.name == "air difference at one" and found.power == -1
    wide = drive_factor(finding(**{"air difference": Quantity(-2.0, "K", -5.0, 1.0)}), context()).value
    assert (wide.low, wide.value, wide.high) == (0.0, 2.0, 5.0)
    wide = drive_factor(finding(**{"air difference": Quantity(2.0, "K", -1.0, 5.0)}), context()).value
    assert (wide.low, wide.value, wide.high) == (0.0, 2.0, 5.0)


def test_a_picture_with_its_own_airs_has_its_own_difference():
    found = drive_factor(finding(), context(of={"room": airs(25.0, 0.0)}))
    assert found.name == "air difference at one" and found.value.value == 25.0


@pytest.mark.parametrize(("beyond", "hot"), [(37.1, True), (37.0, False), (20.0, False), (None, False)])
def test_a_space_is_hot_from_a_kelvin_above_outdoors(beyond, hot):
    facts = {} if beyond is None else {"air_beyond": exact(beyond, "degC")}
    around = context(24.0, 36.0, [Region("wall", "room", facts=facts)])
    assert hot_beyond(finding(), around) is hot
    assert not hot_beyond(finding(), context(24.0, 36.0)) and not hot_beyond(finding(), context(24.0, None))


# --- a year --------------------------------------------------------------------------------


def seasons(hot=False, **given):
    settings = season.Settings(**{name: exact(value, unit) for name, (value, unit) in given.items()})
    missing = []
    made = conducting((Factor("1 W/K", exact(1.0, "W/K")),), settings, house_of(settings, Context()), hot, missing)
    return {one.name: total(one.heat).best for one in made}, missing


def test_a_season_without_degree_days_is_left_out_and_a_missing_one_named():
    assert seasons(heating_degree_days=(1000.0, "K*d"), cooling_degree_days=(0.0, "K*d")) == ({"heating": 24.0}, [])
    found, missing = seasons(heating_degree_days=(0.5, "K*d"))
    assert found == {"heating": pytest.approx(0.012)} and len(missing) == 1


def test_the_rise_of_an_attic_counts_over_hours_of_cooling_only_where_it_is_hot():
    """1000 K d are 24 kWh; 7 K over 1000 h are 7 kWh."""
    given = {"heating_degree_days": (500.0, "K*d"), "cooling_degree_days": (1000.0, "K*d"), "attic_rise": (7.0, "K")}
    assert seasons(True, **given, cooling_hours=(1000.0, "h"))[0] == pytest.approx({"heating": 12.0, "cooling": 31.0})
    assert seasons(False, **given, cooling_hours=(1000.0, "h"))[0] == pytest.approx({"heating": 12.0, "cooling": 24.0})
    assert seasons(True, **given)[0]["cooling"] == pytest.approx(24.0), "no hours"
    none = {**given, "cooling_degree_days": (0.0, "K*d")}
    assert seasons(True, **none, cooling_hours=(1000.0, "h"))[0]["cooling"] == pytest.approx(7.0)


@pytest.mark.parametrize(("around", "name"), [(25.0, "heating"), (25.1, "cooling"), (10.0, "heating")])
def test_a_duct_in_air_above_25_degrees_carries_cold(around, name):
    settings = season.Settings(
        duct_hours=exact(100.0, "h"), cooling_efficiency=exact(4.0, "1"), heating_efficiency=exact(1.0, "1")
    )
    place = context(regions=[Region("wall", "room", shows="duct", facts={"air_around": exact(around, "degC")})])
    (one,) = run_season((finding(check="envelope.duct"),), settings, place).estimates
    told = {row.name: row.value for row in one.assumptions}
    assert told[f"{name} efficiency"] == {"heating": "1", "cooling": "4"}[name] and told["duct hours"] == "100 h"
    assert "heating degree days" not in told and next(iter(one.quantities)) == "yearly_heat_running"
    watts = extra_heat(finding(check="envelope.duct"), place).flow.value
    assert one.quantities["yearly_heat_running"].value == pytest.approx(watts * 100.0 / 1000.0)


def test_facts_of_the_season_are_stated_for_surfaces():
    settings = season.Settings(
        heating_degree_days=exact(1000.0, "K*d"), attic_rise=exact(7.0, "K"), heating_efficiency=exact(0.9, "1")
    )
    (one,) = run_season((finding(),), settings, context()).estimates
    assert {row.name for row in one.assumptions} == {
        "heating degree days", "attic rise", "heating efficiency", "heating fuel"
    }  # fmt: skip


def test_a_season_without_an_airs_difference_or_a_heat_says_so():
    settings = season.Settings(heating_degree_days=exact(1000.0, "K*d"))
    found = [finding("a", verdict="normal"), finding("b", area=None), finding("c", picture="far"), finding("d")]
    output = run_season(tuple(found), settings, context(of={"far": airs(20.0, 19.9)}))
    assert [one.finding for one in output.estimates] == ["d"]
    assert [note.partition(":")[0] for note in output.notes] == ["b", "c"]
    assert run_season((finding(verdict="normal"),), settings, context()) == type(output)()


# --- a year of a leak ----------------------------------------------------------------------


def leak(name="one", kind="air-flow", **quantities):
    return Estimate(f"{name}-e", name, kind, "t", quantities or {"heat_flow": exact(300.0, "W")})


def test_only_leaks_with_a_known_heat_at_a_known_difference_get_a_year():
    settings = season.Settings(heating_degree_days=exact(1000.0, "K*d"))
    place = context(of={"mild": airs(20.0, 19.9)})
    named = {"a": "mild", "b": "room", "c": "room", "d": "room", "e": "room"}
    found = [
        finding(name, picture=picture, verdict="normal" if name == "e" else "defect") for name, picture in named.items()
    ]
    given = [leak("a"), leak("b"), leak("c", "heat-flow"), leak("d", flow=exact(1.0, "m3/h")), leak("e"), leak("")]
    made = season_air.yearly_air(found, given, settings, place)
    assert [one.finding for one in made] == ["b"]
    assert made[0].quantities["yearly_heat_heating"].value == pytest.approx(300.0 / 20.0 * 1000.0 * 0.024)


def test_a_leak_has_no_rise_of_an_attic():
    settings = season.Settings(
        cooling_degree_days=exact(1000.0, "K*d"), attic_rise=exact(7.0, "K"), cooling_hours=exact(1000.0, "h")
    )
    hot = context(24.0, 44.0, [Region("wall", "room", facts={"air_beyond": exact(60.0, "degC")})])
    (one,) = season_air.yearly_air([finding()], [leak()], settings, hot)
    assert one.quantities["yearly_heat_cooling"].value == pytest.approx(15.0 * 24.0)


def test_a_leak_without_a_season_or_with_a_weather_file_that_is_missing_has_no_year():
    assert season_air.yearly_air([finding()], [leak()], season.Settings(), context()) == ()
    lost = replace(season.Settings(), weather=Path("w.csv"))
    assert season_air.yearly_air([finding()], [leak()], lost, context()) == ()
