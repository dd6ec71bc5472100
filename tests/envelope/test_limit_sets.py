"""Limits for mould by name: which sets apply, the strictest first, and from which difference of the airs."""

from __future__ import annotations

import psychrolib
import pytest
from heatbrief.model import Conditions, Quantity
from heatbrief_envelope.limit_sets import Design, design_factor, limits_of, surface_limit
from heatbrief_envelope.surfaces import Airs

exact = Quantity.exact
NOTHING = Design(None, None, None)
MONTH = Design(exact(-5.0, "degC"), exact(20.0, "degC"), exact(0.5, "1"))


def airs(near=20.0, beyond=0.0):
    return Airs(*(None if one is None else exact(one, "degC") for one in (near, beyond)), "the outside air")


def room(air=20.0, humidity=0.5):
    return Conditions(
        inside_air=None if air is None else exact(air, "degC"),
        humidity=None if humidity is None else exact(humidity, "1"),
    )


def dew(air, humidity, surface):
    """Temperature at which the air's vapour reaches a humidity at the surface, ASHRAE 2017 [computed by psychrolib]."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = psychrolib.GetVapPresFromRelHum(air, humidity)
    return psychrolib.GetTDewPointFromVapPres(air + 20.0, pressure / surface)  # its dew point stays below the air given


def chosen(name, shows="corner", now=None, design=NOTHING, surface=0.8, **air):
    found = limits_of(name, shows, now or Conditions(), airs(**air), surface, design)
    return {one.name: pytest.approx(one.temperature.value, abs=0.06) for one in found}


@pytest.mark.parametrize(
    ("name", "temperature"),
    [
        ("dwelling-junction", 15.0),
        ("ground-floor-corner", 14.0),
        ("din-4108-2", 14.0),
        ("office-retail", 10.0),
        ("sports", 16.0),
        ("pool", 18.0),
    ],
)
def test_a_temperature_factor_between_the_airs(name, temperature):
    """Part L and DIN 4108-2 [seen], BRE IP 1/06 [memory]: factors 0.75, 0.70, 0.70, 0.50, 0.80 and 0.90 of 20 K."""
    assert chosen(name) == {name: temperature}
    assert chosen(name, near=10.0, beyond=-10.0) == {name: temperature - 10.0}


def test_the_strictest_of_those_for_dwellings_comes_first():
    found = limits_of("strictest", "corner", room(20.0, 0.5), airs(), 0.8, MONTH)
    assert [one.name for one in found] == ["dwelling-junction", "design-climate", "din-4108-2", "surface-humidity"]
    assert [round(one.temperature.value, 1) for one in found] == [15.0, 14.1, 14.0, 12.6]
    humid = limits_of("strictest", "corner", room(20.0, 0.7), airs(), 0.8, MONTH)
    assert humid[0].name == "surface-humidity" and [one.source for one in humid[:2]] == ["iso-13788", "irish-part-l"]
    assert all(one.because for one in humid)


@pytest.mark.parametrize(("humidity", "surface"), [(0.5, 0.8), (0.5, 1.0), (0.65, 0.7)])
def test_the_rooms_air_reaches_its_humidity_at_the_surface(humidity, surface):
    """ISO 13788 [memory]: 80 % for mould, 100 % for dew."""
    found = surface_limit(room(20.0, humidity), surface)
    assert found.value == pytest.approx(dew(20.0, humidity, surface), abs=0.06) and found.unit == "degC"
    assert chosen("surface-humidity", now=room(20.0, humidity), surface=surface) == {
        "surface-humidity": dew(20.0, humidity, surface)
    }


def test_the_factor_of_a_cold_month():
    """ISO 13788 [memory]: (surface - outside) / (inside - outside) for 80 % at the surface."""
    expected = (dew(20.0, 0.5, 0.8) + 5.0) / 25.0
    assert design_factor(MONTH, 0.8).value == pytest.approx(expected, abs=0.003)
    assert chosen("design-climate", design=MONTH) == {"design-climate": 20.0 * expected}
    (found,) = limits_of("design-climate", "corner", room(), airs(), 0.8, MONTH)
    assert f"temperature factor of {expected:.2f} keeps the surface below 80%" in found.because


@pytest.mark.parametrize("missing", ["outside", "inside", "humidity"])
def test_a_month_needs_all_of_its_climate(missing):
    known = {name: getattr(MONTH, name) for name in ("outside", "inside", "humidity")}
    assert design_factor(Design(**{**known, missing: None}), 0.8) is None
    assert chosen("design-climate", design=Design(**{**known, missing: None})) == {}


@pytest.mark.parametrize("now", [room(air=None), room(humidity=None)])
def test_a_surface_needs_air_and_humidity(now):
    assert surface_limit(now, 0.8) is None and chosen("surface-humidity", now=now) == {}


@pytest.mark.parametrize(
    ("near", "beyond", "known"),
    [
        (20.0, 15.0, True),
        (20.0, 15.1, False),
        (20.0, 25.0, False),  # the warmer side is beyond
        (None, 0.0, False),
        (20.0, None, False),
    ],
)
def test_factors_need_five_kelvin(near, beyond, known):
    """EN 13187 as quoted: never below 5 K [memory]."""
    for name in ("din-4108-2", "design-climate"):
        assert bool(chosen(name, design=MONTH, near=near, beyond=beyond)) is known


def test_the_lower_bound_of_the_difference_counts():
    wide = Airs(Quantity.between(19.0, 21.0, "degC"), exact(14.5, "degC"), "the outside air")
    assert limits_of("din-4108-2", "corner", room(), wide, 0.8, NOTHING) == ()


@pytest.mark.parametrize("shows", ["window frame", "sash", "cold pipes", "supply register"])
def test_light_parts_follow_the_day_and_no_factor(shows):
    assert set(chosen("strictest", shows, room(), MONTH)) == {"surface-humidity"}
    assert chosen("din-4108-2", shows, room(), MONTH) == {}


@pytest.mark.parametrize(("stated", "counts"), [(0.0, 0.01), (1.3, 1.0), (0.02, 0.02)])
def test_impossible_humidities_count_as_the_nearest_possible(stated, counts):
    said, meant = (
        [
            surface_limit(room(20.0, one), 0.8).value,
            design_factor(Design(MONTH.outside, MONTH.inside, exact(one, "1")), 0.8).value,
        ]
        for one in (stated, counts)
    )
    assert said == meant
    assert said[0] == pytest.approx(dew(20.0, counts, 0.8), abs=0.5)
