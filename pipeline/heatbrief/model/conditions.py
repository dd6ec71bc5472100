"""What the weather, the rooms and the load were when the pictures were taken."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Literal

from heatbrief.model.quantity import Quantity
from heatbrief.model.settings import setting

Sky = Literal["clear", "partly cloudy", "overcast"]
Sun = Literal["none", "low", "direct"]


@dataclass(frozen=True)
class Conditions:
    """Facts about the moment. Every one may be missing; a check names the ones it would have needed."""

    inside_air: Quantity | None = setting(
        None, unit="degC", low=-60, high=80, help="air temperature inside", example="21 degC"
    )
    outside_air: Quantity | None = setting(
        None, unit="degC", low=-70, high=70, help="air temperature outside", example="-2 degC"
    )
    humidity: Quantity | None = setting(None, unit="1", low=0, high=1, help="relative humidity inside", example="45 %")
    outside_humidity: Quantity | None = setting(
        None, unit="1", low=0, high=1, help="relative humidity outside", example="70 %"
    )
    wind: Quantity | None = setting(
        None, unit="m/s", low=0, high=80, help="wind speed at the surface", example="1.5 m/s"
    )
    sky: Sky | None = setting(None, help="the sky as seen from the property")
    sun: Sun | None = setting(None, help="sun on the surfaces in the pictures")
    hours_without_sun: Quantity | None = setting(
        None, unit="h", low=0, help="time since the sun last stood on the surface", example="5 h"
    )
    hours_without_rain: Quantity | None = setting(
        None, unit="h", low=0, help="time since the last rain", example="48 h"
    )
    hours_steady: Quantity | None = setting(
        None, unit="h", low=0, help="time the inside-outside difference has held about this value", example="6 h"
    )
    reflected: Quantity | None = setting(
        None,
        unit="degC",
        low=-120,
        high=400,
        help="reflected apparent temperature, measured with crumpled foil",
        example="22 degC",
    )
    ground: Quantity | None = setting(
        None, unit="degC", low=-40, high=80, help="ground temperature away from the spot", example="18 degC"
    )
    pressure_difference: Quantity | None = setting(
        None, unit="Pa", help="pressure inside minus outside, if a fan made one", example="-25 Pa"
    )

    def over(self, base: Conditions) -> Conditions:
        """These conditions where given, else those of `base` (a picture's own facts over the survey's)."""
        own = {one.name: getattr(self, one.name) for one in fields(self) if getattr(self, one.name) is not None}
        return replace(base, **own)

    @property
    def difference(self) -> Quantity | None:
        """Inside minus outside air [K], or None when either is missing."""
        if self.inside_air is None or self.outside_air is None:
            return None
        value = self.inside_air.value - self.outside_air.value
        half = (self.inside_air.half_width**2 + self.outside_air.half_width**2) ** 0.5
        coverage = min(self.inside_air.coverage, self.outside_air.coverage)
        return Quantity(value, "K", value - half, value + half, coverage, "inside minus outside air")
