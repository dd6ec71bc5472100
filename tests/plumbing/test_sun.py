"""The place of the sun against a published worked example and against geometry."""

from __future__ import annotations

from datetime import datetime

import pytest
from heatbrief_plumbing.sun import place_of_sun, sun_at, sun_measured, sun_words


def test_worked_example_of_the_solar_position_report():
    """US NREL solar position algorithm report (2003 to 2008), worked example, from memory: 17 October 2003 12:30:30 at
    UTC-7, 39.742476 N 105.1786 W: zenith 50.11162 deg (refraction of 0.01 to 0.02 deg in it), azimuth 194.34024 deg."""
    elevation, azimuth = place_of_sun(datetime.fromisoformat("2003-10-17T12:30:30-07:00"), 39.742476, -105.1786)
    assert 90.0 - elevation == pytest.approx(50.11, abs=0.04)
    assert azimuth == pytest.approx(194.34, abs=0.03)


@pytest.mark.parametrize(
    ("moment", "latitude", "elevation"),
    [
        ("2026-06-21T12:00+00:00", 51.48, 61.95),
        ("2026-12-21T12:00+00:00", 51.48, 15.08),
        ("2026-03-20T12:07+00:00", 0.0, 90.0),
    ],
)
def test_noon_is_ninety_less_latitude_plus_declination(moment, latitude, elevation):
    """Geometry with the obliquity of 23.44 deg (astronomical constant, from memory)."""
    found = sun_at(moment, latitude, 0.0)
    assert found.elevation == pytest.approx(elevation, abs=0.5) and found.up


def test_shadows_point_away_from_the_sun():
    morning = sun_at("2026-06-21T08:00+00:00", 51.48, 0.0)
    assert morning.azimuth < 180.0 < morning.shadow_bearing
    assert morning.shadow_length == pytest.approx(1.3, abs=0.25)
    assert "west" in sun_words(morning)
    measured = sun_measured(morning)
    assert measured["sun elevation"].unit == "deg" and measured["shadow bearing"].low < morning.shadow_bearing


def test_night_counts_the_hours_since_sunset():
    """Sunset at 51.5 N on 21 June is at about 20:21 UT (almanac, from memory)."""
    night = sun_at("2026-06-21T23:21+00:00", 51.48, 0.0)
    assert not night.up and night.hours_down == pytest.approx(3.0, abs=0.3)
    assert "below the horizon" in sun_words(night) and "shadow bearing" not in sun_measured(night)


def test_polar_night_has_no_last_sun():
    assert sun_at("2026-12-21T12:00+00:00", 80.0, 0.0).hours_down is None


@pytest.mark.parametrize(
    ("moment", "latitude"), [("", 51.0), ("2026-06-21T12:00", 51.0), ("2026-06-21T12:00+00:00", 120.0)]
)
def test_what_cannot_be_read_gives_nothing(moment, latitude):
    assert sun_at(moment, latitude, 0.0) is None and sun_words(None) == "" and sun_measured(None) == {}
