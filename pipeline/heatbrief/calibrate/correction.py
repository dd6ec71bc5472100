"""From counts or reported temperatures to object temperatures, zone by zone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from heatbrief.api import Context
from heatbrief.calibrate.known import ZERO_CELSIUS_K
from heatbrief.calibrate.readings import Readings
from heatbrief.calibrate.sensor import Sensor
from heatbrief.calibrate.surroundings import Surroundings
from heatbrief.calibrate.tables import BLOCK, looked_up, table_of
from heatbrief.calibrate.zones import Zone
from heatbrief.physics.measurement import Settings, recorrected_temperature, unsolved
from heatbrief.physics.sakuma_hattori import DEFAULT_HIGH_K, DEFAULT_LOW_K, BandModel

_LOWEST_FIT_K, _HIGHEST_FIT_K, _GRID_K, _MARGIN_K = 150.0, 3000.0, 20.0, 10.0


@dataclass(frozen=True)
class Corrected:
    """values (height, width) in kelvin, NaN where masked; settings and (coldest, warmest) temperature [K] by zone, NaN
    where a zone has none; number of pixels without a solution."""

    values: np.ndarray
    settings: tuple[Settings, ...]
    ends: tuple[tuple[float, float], ...]
    unsolved: int


def stated_settings(context: Context, around: Surroundings) -> Settings:
    """What the camera already applied; a blackbody without air in between when it applied nothing."""
    applied = context.view.applied
    reflected = applied["reflected"] + ZERO_CELSIUS_K if "reflected" in applied else around.reflected.value
    return _settings(applied.get("emissivity", 1.0), reflected, applied.get("transmittance", 1.0), around.air.value)


_settings = lru_cache(maxsize=256)(Settings)
"""Settings are checked when they are made; equal ones are made once."""


@lru_cache(maxsize=512)
def true_settings(zone: Zone, around: Surroundings) -> Settings:
    """What really stands between a zone and the camera."""
    return Settings(
        zone.emissivity, around.reflected.value, around.transmittance.value, around.air.value, around.window
    )


def band_for(
    sensor: Sensor, ends: tuple[float, float], zones: tuple[Zone, ...], others: tuple[float, ...]
) -> BandModel:
    """Interpolation fitted over every temperature that can occur: readings, surroundings, and the objects behind.

    The limits lie on a grid, so that pictures of one survey share fits.
    """
    spans = [*ends, *others]
    for zone in zones:
        spans += [others[0] + (end - others[0]) / zone.emissivity for end in ends]
    low = max(_LOWEST_FIT_K, math.floor((min(spans) - _MARGIN_K) / _GRID_K) * _GRID_K)
    high = min(_HIGHEST_FIT_K, math.ceil((max(spans) + _MARGIN_K) / _GRID_K) * _GRID_K)
    if not low < high:
        low, high = DEFAULT_LOW_K, DEFAULT_HIGH_K
    return sensor.fit(low, high)


def correct(
    readings: Readings,
    zones: tuple[Zone, ...],
    painted: np.ndarray | None,
    band: BandModel,
    stated: Settings,
    around: Surroundings,
) -> Corrected:
    """Object temperatures of all zones. Whole counts go through one table, all else through the equation."""
    settings = tuple(true_settings(zone, around) for zone in zones)
    if readings.counts is not None:
        return _by_table(readings, zones, painted, band, stated, settings)
    kelvin = readings.kelvin
    values = np.empty(kelvin.shape, np.float64)
    for number, (zone, true) in enumerate(zip(zones, settings, strict=True)):
        where = slice(None) if painted is None else painted == number
        values[where] = kelvin[where] if zone.as_given else recorrected_temperature(band, kelvin[where], stated, true)
    lost = int(np.count_nonzero(unsolved(kelvin, values)))
    if not any(zone.as_given for zone in zones):
        values = values.astype(np.float32, copy=False)
    ends = tuple(_ends(values if painted is None else values[painted == number]) for number in range(len(zones)))
    return Corrected(values, settings, ends, lost)


def _by_table(
    readings: Readings,
    zones: tuple[Zone, ...],
    painted: np.ndarray | None,
    band: BandModel,
    stated: Settings,
    settings: tuple[Settings, ...],
) -> Corrected:
    assert readings.counts is not None and readings.picture.scale is not None
    low, high = readings.counts
    rows = tuple(None if zone.as_given else true for zone, true in zip(zones, settings, strict=True))
    table, base = table_of(band, readings.picture.scale, stated, rows, (low // BLOCK, high // BLOCK))
    used = table[:, low - base : high - base + 1]
    values = looked_up(table, base, readings.picture.values, painted)
    lost = int(np.count_nonzero(unsolved(readings.kelvin, values))) if np.isnan(used).any() else 0
    return Corrected(values, settings, tuple(_ends(row) for row in used), lost)


def _ends(values: np.ndarray) -> tuple[float, float]:
    """Lowest and highest value that is finite."""
    if not values.size:
        return math.nan, math.nan
    low, high = float(values.min()), float(values.max())
    if math.isfinite(low) and math.isfinite(high):
        return low, high
    good = values[np.isfinite(values)]
    return (float(good.min()), float(good.max())) if good.size else (math.nan, math.nan)
