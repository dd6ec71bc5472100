"""Where the sun stood when a picture was taken: which way a shadow would lie, and how long it would be."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from heatbrief.api import FactSpec
from heatbrief.detect import Case
from heatbrief.model import Quantity

LATITUDE = FactSpec("latitude", "latitude of the place, north positive", unit="deg", example="39.74 deg")
LONGITUDE = FactSpec("longitude", "longitude of the place, east positive", unit="deg", example="-105.18 deg")
PLACE = (LATITUDE, LONGITUDE)
HORIZON = -0.83
"""Elevation [deg] of the sun's centre when its upper limb sets, refraction included (almanac practice, memory)."""
ACCURACY = 0.05
"""Bound of the short formulas [deg]; they are good to about 0.01 deg from 1950 to 2050 (from memory)."""
SEARCHED_H = 24
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True)
class Sun:
    """Elevation over the horizon without refraction, and azimuth from north by east [deg]; hours since it last stood
    above the horizon, 0 when it does, None when it has not for a day."""

    elevation: float
    azimuth: float
    hours_down: float | None

    @property
    def up(self) -> bool:
        """Whether any of it is above the horizon."""
        return self.elevation > HORIZON

    @property
    def shadow_bearing(self) -> float:
        """Direction in which shadows point, from north by east [deg]."""
        return (self.azimuth + 180.0) % 360.0

    @property
    def shadow_length(self) -> float | None:
        """Length of a shadow on level ground for each metre of height; None below 1 deg."""
        return 1.0 / math.tan(math.radians(self.elevation)) if self.elevation >= 1.0 else None


def place_of_sun(moment: datetime, latitude: float, longitude: float) -> tuple[float, float]:
    """(elevation, azimuth from north by east) [deg] without refraction. Source: plumbing-sun.

    moment must carry its offset; latitude north and longitude east positive [deg].
    """
    days = (moment.astimezone(UTC) - datetime(2000, 1, 1, 12, tzinfo=UTC)) / timedelta(days=1)
    mean = math.radians((357.528 + 0.9856003 * days) % 360.0)
    along = math.radians(280.460 + 0.9856474 * days + 1.915 * math.sin(mean) + 0.020 * math.sin(2.0 * mean))
    tilt = math.radians(23.439 - 4.0e-7 * days)
    ascension = math.atan2(math.cos(tilt) * math.sin(along), math.cos(along))
    declination = math.asin(math.sin(tilt) * math.sin(along))
    sidereal = math.radians((280.46062 + 360.98564737 * days + longitude) % 360.0)
    hour, north = sidereal - ascension, math.radians(latitude)
    height = math.sin(north) * math.sin(declination) + math.cos(north) * math.cos(declination) * math.cos(hour)
    east = -math.cos(declination) * math.sin(hour)
    toward = math.sin(declination) * math.cos(north) - math.cos(declination) * math.cos(hour) * math.sin(north)
    return math.degrees(math.asin(max(-1.0, min(1.0, height)))), math.degrees(math.atan2(east, toward)) % 360.0


def sun_at(taken: str, latitude: float, longitude: float) -> Sun | None:
    """The sun at a moment written with its offset; None when the moment or the place cannot be read."""
    try:
        moment = datetime.fromisoformat(taken)
    except ValueError:
        return None
    if moment.tzinfo is None or not (-90.0 <= latitude <= 90.0 and -360.0 <= longitude <= 360.0):
        return None
    elevation, azimuth = place_of_sun(moment, latitude, longitude)
    quarters = range(1, 4 * SEARCHED_H + 1)
    if elevation > HORIZON:
        return Sun(elevation, azimuth, 0.0)
    for step in quarters:
        if place_of_sun(moment - timedelta(minutes=15 * step), latitude, longitude)[0] > HORIZON:
            return Sun(elevation, azimuth, 0.25 * step)
    return Sun(elevation, azimuth, None)


def sun_of(case: Case) -> Sun | None:
    """The sun over the place of a case, when its moment and place are known."""
    north, east = case.number("latitude"), case.number("longitude")
    if north is None or east is None:
        return None
    return sun_at(case.subject.taken or case.view.taken, north, east)


def sun_words(sun: Sun | None) -> str:
    """Which way a shadow would lie, in a sentence; "" when the sun's place is not known."""
    if sun is None:
        return ""
    if not sun.up:
        return " The sun was below the horizon."
    point = POINTS[round(sun.shadow_bearing / 45.0) % 8]
    length = sun.shadow_length
    if length is None or length > 20.0:
        return f" The sun stood on the horizon; shadows pointed {point} and were very long."
    return f" Shadows pointed {point} and were {length:.1f} m long for each metre of height."


def sun_measured(sun: Sun | None) -> dict[str, Quantity]:
    """Elevation and the bearing of shadows, for a finding."""
    if sun is None:
        return {}
    method = "place of the sun from moment and place"
    found = {"sun elevation": (sun.elevation, ACCURACY)}
    if sun.up:
        found["shadow bearing"] = (sun.shadow_bearing, ACCURACY / max(math.cos(math.radians(sun.elevation)), 0.05))
    return {
        name: Quantity(value, "deg", value - half, value + half, 0.95, method) for name, (value, half) in found.items()
    }
