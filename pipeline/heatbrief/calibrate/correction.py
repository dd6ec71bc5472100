"""From counts or reported temperatures to object temperatures, zone by zone."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from heatbrief.api import Context, StepError
from heatbrief.calibrate.known import ZERO_CELSIUS_K
from heatbrief.calibrate.surroundings import Surroundings
from heatbrief.calibrate.zones import Zone
from heatbrief.model.thermogram import Picture
from heatbrief.physics.measurement import Settings, object_temperature_lut, recorrected_temperature, unsolved
from heatbrief.physics.sakuma_hattori import DEFAULT_HIGH_K, DEFAULT_LOW_K, BandModel, fit_band

HOTTEST_K = 10_000.0
_LOWEST_FIT_K, _HIGHEST_FIT_K, _GRID_K, _MARGIN_K = 150.0, 3000.0, 20.0, 10.0


@dataclass(frozen=True)
class Corrected:
    """values (height, width) in kelvin, NaN where masked; settings by zone; number of pixels without a solution."""

    values: np.ndarray
    settings: tuple[Settings, ...]
    unsolved: int


def reported_kelvin(picture: Picture) -> np.ndarray:
    """The file's own temperatures in kelvin (float64): values as they are, or counts on their straight scale.

    NaN where masked or not a possible temperature. StepError "scale" for a scale without a slope.
    """
    kelvin = np.asarray(picture.values, np.float64)
    if picture.scale is not None:
        step, zero = picture.scale
        if not math.isfinite(step) or not math.isfinite(zero) or step == 0.0:
            raise StepError("scale", f"a scale of {step:g} K per count is not possible", "Correct kelvin_per_count.")
        kelvin = kelvin * step + zero
    possible = (kelvin > 0.0) & (kelvin <= HOTTEST_K)
    return kelvin if possible.all() else np.where(possible, kelvin, np.nan)


def stated_settings(context: Context, around: Surroundings) -> Settings:
    """What the camera already applied; a blackbody without air in between when it applied nothing."""
    applied = context.view.applied
    reflected = applied["reflected"] + ZERO_CELSIUS_K if "reflected" in applied else around.reflected.value
    return Settings(applied.get("emissivity", 1.0), reflected, applied.get("transmittance", 1.0), around.air.value)


def true_settings(zone: Zone, around: Surroundings) -> Settings:
    """What really stands between a zone and the camera."""
    return Settings(
        zone.emissivity, around.reflected.value, around.transmittance.value, around.air.value, around.window
    )


def band_for(
    limits_um: tuple[float, float], ends: tuple[float, float], zones: tuple[Zone, ...], others: tuple[float, ...]
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
    return fit_band(limits_um[0], limits_um[1], low, high)


def correct(
    picture: Picture,
    kelvin: np.ndarray,
    zones: tuple[Zone, ...],
    painted: np.ndarray | None,
    band: BandModel,
    stated: Settings,
    around: Surroundings,
) -> Corrected:
    """Object temperatures of all zones. Whole counts go through one table per zone, all else through the equation."""
    settings = tuple(true_settings(zone, around) for zone in zones)
    lookup = picture.scale is not None and picture.values.dtype.kind in "ui"
    values = np.empty(kelvin.shape, np.float32 if lookup else np.float64)
    for number, (zone, true) in enumerate(zip(zones, settings, strict=True)):
        where = slice(None) if painted is None else painted == number
        if zone.as_given:
            values[where] = kelvin[where]
        elif lookup:
            values[where] = _through_table(picture, where, band, stated, true)
        else:
            values[where] = recorrected_temperature(band, kelvin[where], stated, true)
    lost = unsolved(kelvin, values)
    if not any(zone.as_given for zone in zones):
        values = values.astype(np.float32, copy=False)
    return Corrected(values, settings, int(np.count_nonzero(lost)))


def _through_table(
    picture: Picture, where: slice | np.ndarray, band: BandModel, stated: Settings, true: Settings
) -> np.ndarray:
    assert picture.scale is not None
    counts = picture.values[where]
    if not counts.size:
        return counts.astype(np.float32)
    step, zero = picture.scale
    low, high = int(counts.min()), int(counts.max())
    table = object_temperature_lut(band, step, zero + step * low, true, stated=stated, levels=high - low + 1)
    return np.take(table, counts.astype(np.int32) - low)
