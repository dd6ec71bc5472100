"""Reflected temperature, air, path and window of one picture: given facts, else assumptions with wide bounds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from heatbrief.api import Context, StepError
from heatbrief.calibrate.foil import Before, foil
from heatbrief.calibrate.known import ZERO_CELSIUS_K, Known, kelvin, share
from heatbrief.calibrate.readings import Readings
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.physics.atmosphere import Transmittance, path_transmittance
from heatbrief.physics.measurement import Window
from heatbrief.physics.planck import Band
from heatbrief.physics.psychrometrics import vapour_pressure
from heatbrief.physics.sky import band_sky_emissivity, cloudy_emissivity
from heatbrief.physics.temperature_units import stated_temperature

# Standard uncertainties of values stated without bounds, and of values assumed: our choices, wide on purpose.
TEMPERATURE_UNSTATED_K = 1.0
HUMIDITY_UNSTATED = 0.05
DISTANCE_UNSTATED = 0.05
TRANSMITTANCE_UNSTATED = 0.01
WINDOW_UNSTATED = 0.02
INDOOR_ASSUMED_K = 2.0
OUTDOOR_OVERCAST_K = 4.0
OUTDOOR_ASSUMED_K = 10.0
SKY_K = 8.0
HUMIDITY_ASSUMED = Known(0.5, 0.15, "humidity not given: 50 % assumed")
AIR_ASSUMED = Known(ZERO_CELSIUS_K + 20.0, 8.0, "air temperature not given: 20 degC assumed")
_CLOUD = {"clear": 0.0, "partly cloudy": 0.5, "overcast": 1.0}
_INSIDE = ("from inside", "inside", "indoor")
_OUTSIDE = ("from outside", "outside", "outdoor", "facade", "façade", "exterior", "roof")


@dataclass(frozen=True)
class Surroundings:
    """What stands around and before the surface; in kelvin. `window_standard` is parallel to Window's fields."""

    reflected: Known
    air: Known
    transmittance: Known
    window: Window | None = None
    window_standard: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    notes: tuple[str, ...] = ()

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What was supposed, in words."""
        parts = [self.reflected, self.transmittance]
        if self.transmittance.value < 1.0 or self.window is not None:
            parts.append(self.air)
        return tuple(one.assumed for one in parts if one.assumed) + self.notes


def is_indoors(context: Context) -> bool | None:
    """Whether the picture was taken inside, by what it shows and where; None when nothing says so."""
    shows = context.view.shows.casefold()
    if "from inside" in shows:
        return True
    if any(word in shows for word in _OUTSIDE):
        return False
    if any(word in shows for word in _INSIDE) or context.view.room:
        return True
    return None


def surroundings_of(
    context: Context, settings: RadianceSettings, band: Band, limits_um: tuple[float, float], readings: Readings
) -> Surroundings:
    """Everything but the emissivity. The readings serve foil regions and as a last resort.

    StepError "unknown-region", "empty-region", "reflected-setting" or "conditions-missing".
    """
    air = _air(context)
    transmittance, notes = _path(context, settings, air, limits_um)
    before = Before(band, air.value, transmittance.value, _window(settings, air, air)[0], context.view.applied)
    reflected = _reflected(context, settings, before, readings)
    window, standards = _window(settings, air, reflected)
    return Surroundings(reflected, air, transmittance, window, standards, notes)


def _air(context: Context) -> Known:
    inside, outside = context.conditions.inside_air, context.conditions.outside_air
    first, second = (outside, inside) if is_indoors(context) is False else (inside, outside)
    given = first if first is not None else second
    return AIR_ASSUMED if given is None else kelvin(given, TEMPERATURE_UNSTATED_K)


def _humidity(context: Context) -> Known:
    inside, outside = context.conditions.humidity, context.conditions.outside_humidity
    given = outside if is_indoors(context) is False or inside is None else inside
    return HUMIDITY_ASSUMED if given is None else share(given, HUMIDITY_UNSTATED)


def _reflected(context: Context, settings: RadianceSettings, before: Before, readings: Readings) -> Known:
    if context.view.reflected is not None:
        return kelvin(context.view.reflected, TEMPERATURE_UNSTATED_K)
    wanted = settings.reflected.strip()
    if wanted == "sky" and is_indoors(context) is not True:
        return _sky(context, before.band)
    if wanted.startswith("region "):
        return foil(context, wanted.removeprefix("region ").strip(), readings.kelvin, before)
    if wanted and wanted != "sky":
        stated = stated_temperature(wanted)
        if stated is None or stated.kelvin <= 0.0:
            raise StepError(
                "reflected-setting",
                f"reflected: {wanted[:60]!r} is not a temperature, a region or the sky",
                "Write a temperature with its unit such as 22 degC, `region NAME` or `sky`.",
            )
        return Known(stated.kelvin, stated.half_width / NORMAL_95 or TEMPERATURE_UNSTATED_K)
    if context.conditions.reflected is not None:
        return kelvin(context.conditions.reflected, TEMPERATURE_UNSTATED_K)
    return _assumed_reflected(context, readings)


def _assumed_reflected(context: Context, readings: Readings) -> Known:
    conditions, indoors = context.conditions, is_indoors(context)
    if indoors is not False and conditions.inside_air is not None:
        return Known(
            conditions.inside_air.value + ZERO_CELSIUS_K,
            INDOOR_ASSUMED_K,
            "reflected temperature not given: the air inside is assumed",
        )
    if indoors is not True and conditions.outside_air is not None:
        wide = OUTDOOR_OVERCAST_K if conditions.sky == "overcast" else OUTDOOR_ASSUMED_K
        return Known(
            conditions.outside_air.value + ZERO_CELSIUS_K,
            wide,
            "reflected temperature not given: the air outside is assumed; a clear sky is much colder",
        )
    middle = float(np.nanmedian(readings.kelvin))
    return Known(middle, OUTDOOR_ASSUMED_K, "reflected temperature not given: the middle of the picture is assumed")


def _sky(context: Context, band: Band) -> Known:
    """Apparent temperature of the sky in the long-wave window; clouds fill the window towards the air's own signal."""
    conditions = context.conditions
    if conditions.outside_air is None:
        raise StepError(
            "conditions-missing",
            "reflected: the sky cannot be modelled without the air temperature outside",
            "Give conditions: outside_air.",
        )
    air = conditions.outside_air.value + ZERO_CELSIUS_K
    humidity = (
        HUMIDITY_ASSUMED
        if conditions.outside_humidity is None
        else share(conditions.outside_humidity, HUMIDITY_UNSTATED)
    )
    cover = _CLOUD.get(conditions.sky or "clear", 0.0)
    clear = band_sky_emissivity(air, vapour_pressure(air, humidity.value))
    value = float(band.temperature(cloudy_emissivity(clear, cover, cloud=0.9) * band.signal(air)))
    notes = [humidity.assumed] if humidity.assumed else []
    if conditions.sky is None:
        notes.append("sky not given: a clear sky is assumed")
    wide = OUTDOOR_OVERCAST_K if cover == 1.0 else OUTDOOR_ASSUMED_K if conditions.sky != "clear" else SKY_K
    return Known(value, wide, "; ".join(["reflected sky modelled from the weather", *notes]))


def _path(
    context: Context, settings: RadianceSettings, air: Known, limits_um: tuple[float, float]
) -> tuple[Known, tuple[str, ...]]:
    """Transmittance with the uncertainty of formula, humidity, air and distance, by differences."""
    distance = context.view.distance
    if not settings.atmosphere:
        return Known(1.0, 0.0, "no correction for the air in between, as set"), ()
    if settings.transmittance is not None:
        return share(settings.transmittance, TRANSMITTANCE_UNSTATED), ()
    if distance is None:
        return Known(1.0, 0.0, "distance not given: no correction for the air in between"), ()
    humidity = _humidity(context)
    far = Known(distance.value, distance.standard or DISTANCE_UNSTATED * distance.value)
    return _through_air(far, air, humidity, limits_um)


@lru_cache(maxsize=256)
def _through_air(
    far: Known, air: Known, humidity: Known, limits_um: tuple[float, float]
) -> tuple[Known, tuple[str, ...]]:
    """Transmittance of a path, from its length [m], the air [K] and the relative humidity; remembered."""

    def at(metres: float, kelvins: float, relative: float) -> Transmittance:
        return path_transmittance(
            metres,
            min(max(kelvins, 213.2), 333.1),
            min(max(relative, 0.0), 1.0),
            low_um=limits_um[0],
            high_um=limits_um[1],
        )

    best = at(far.value, air.value, humidity.value)
    value = float(best.value)
    moved = (
        at(far.value + far.standard, air.value, humidity.value),
        at(far.value, air.value + air.standard, humidity.value),
        at(far.value, air.value, humidity.value + humidity.standard),
    )
    standard = math.hypot(float(best.bound) / math.sqrt(3.0), *(float(one.value) - value for one in moved))
    return Known(value, standard, humidity.assumed), best.notes


def _window(
    settings: RadianceSettings, air: Known, reflected: Known
) -> tuple[Window | None, tuple[float, float, float, float]]:
    if settings.window_transmittance is None:
        return None, (0.0, 0.0, 0.0, 0.0)
    through = share(settings.window_transmittance, WINDOW_UNSTATED)
    mirrored = share(settings.window_reflectance or Quantity.exact(0.0, "1"), WINDOW_UNSTATED)
    own = air if settings.window_temperature is None else kelvin(settings.window_temperature, TEMPERATURE_UNSTATED_K)
    if through.value + mirrored.value > 1.0:
        raise StepError(
            "window-setting", "window: transmittance and reflectance add up to more than 1", "Correct the settings."
        )
    # What the window mirrors stands behind the camera: the reflected temperature is the best guess.
    window = Window(through.value, mirrored.value, own.value, reflected.value)
    return window, (through.standard, mirrored.standard, own.standard, reflected.standard)
