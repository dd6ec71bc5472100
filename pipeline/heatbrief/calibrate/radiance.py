"""The calibrate step: a picture's counts or reported temperatures to object temperatures with their error sources."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from heatbrief.api import Context, FactSpec, Step, StepError
from heatbrief.calibrate.correction import Corrected, band_for, correct, stated_settings
from heatbrief.calibrate.errors import Instrument, errors_as_given, errors_of, instrument_of, knots_of, reading_of
from heatbrief.calibrate.known import ZERO_CELSIUS_K, Known
from heatbrief.calibrate.known_points import FACT, LEAST_POINTS
from heatbrief.calibrate.pixel_scale import pixel_scale
from heatbrief.calibrate.prepare import Prepared, finished, from_known_points, prepared
from heatbrief.calibrate.readings import Readings, readings_of
from heatbrief.calibrate.sensor import Sensor, sensor_of
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.calibrate.surroundings import Surroundings, surroundings_of
from heatbrief.calibrate.zones import Zone, zones_of
from heatbrief.model.quantity import Quantity
from heatbrief.model.thermogram import Equation, ErrorSource, Picture, Thermogram
from heatbrief.physics.measurement import Settings
from heatbrief.physics.sakuma_hattori import BandModel

STEEP_DEG = 60.0
"""Seen more slantingly than this, non-metals emit clearly less than their tables say (Fresnel: 5 % at 60 degrees)."""

AS_SEEN = (
    "the file's temperatures are taken as seen with an emissivity of 1; if the camera was set to another, give it "
    "under `applied:`"
)


def calibrate(picture: Picture, settings: RadianceSettings, context: Context) -> Thermogram:
    """A Thermogram in kelvin, or unscaled counts when nothing says what the numbers mean.

    StepError "no-solution", "no-values", "unknown-material", "unknown-region" and others name what stands in the way.
    """
    ready = prepared(picture, settings, context)
    try:
        thermogram, ready = _thermogram(ready, settings, context)
    except ValueError as error:
        raise StepError(
            "calibration-input",
            f"the facts given cannot be calculated with: {error}",
            "Check emissivity, temperatures, humidity and distance of this picture.",
        ) from None
    height, width = thermogram.shape
    return replace(
        finished(thermogram, ready),
        id=context.view.thermogram,
        pixel=pixel_scale(context, width, height),
        taken=context.view.taken or picture.taken,
    )


def _thermogram(ready: Prepared, settings: RadianceSettings, context: Context) -> tuple[Thermogram, Prepared]:
    if ready.picture.kelvin or ready.picture.scale is not None:
        return _calibrated(ready.picture, settings, context), ready
    if not context.view.known_points:
        return _unscaled(ready.picture, _forgotten(context)), ready
    found = from_known_points(ready, settings, context, _calibrated)
    if isinstance(found, str):
        notes = (f"no scale from known points: {found}", *ready.notes)
        return _unscaled(ready.picture), replace(ready, notes=notes)
    return found


def _forgotten(context: Context) -> tuple[str, ...]:
    """A hint when known temperatures are there and nothing says that they are to give the scale."""
    if sum(FACT in region.facts for region in context.regions) < LEAST_POINTS:
        return ()
    return (f"regions state a `{FACT}`: `scale: {{known_points: true}}` makes a provisional scale of them",)


def _unscaled(picture: Picture, hints: tuple[str, ...] = ()) -> Thermogram:
    with np.errstate(over="ignore"):
        counts = picture.values.astype(np.float32)
    counts[~np.isfinite(counts)] = np.nan
    if np.isnan(counts).all():
        raise StepError("no-values", "no pixel of the picture holds a usable number", "Check the export.")
    return Thermogram(
        "",
        counts,
        "unscaled",
        facts={"notes": ("nothing says what the counts mean: no temperatures are given", *hints)},
    )


def _calibrated(picture: Picture, settings: RadianceSettings, context: Context) -> Thermogram:
    readings = readings_of(picture)
    if not math.isfinite(sum(readings.ends)):
        raise StepError(
            "no-values", "no pixel has a possible temperature", "Check the scale: kelvin_per_count and zero_at."
        )
    zones, painted = zones_of(picture, context, settings)
    step = abs(picture.scale[0]) if picture.scale is not None and _is_whole(picture) else 0.0
    instrument = instrument_of(context.camera, step)
    instrument = replace(instrument, reading=reading_of(picture, context.view.thermogram))
    if all(zone.as_given for zone in zones):
        return Thermogram(
            "",
            readings.kelvin,
            "temperature",
            None,
            (errors_as_given(instrument, knots_of(readings.ends)),),
            (1.0,),
            (True,),
            facts=_facts_as_given(zones[0], instrument),
        )
    sensor = sensor_of(settings, context)
    around, band = _prepare(readings, zones, settings, context, sensor)
    corrected = correct(readings, zones, painted, band, stated_settings(context, around), around)
    if corrected.unsolved and np.isnan(corrected.values).all():
        raise StepError(
            "no-solution",
            "no surface temperature explains the picture: the reflected part alone is brighter",
            "Check `scale:` first (does count 0 stand for another temperature, `zero_at:`?), then emissivity and reflected temperature.",
        )
    return Thermogram(
        "",
        corrected.values,
        "temperature",
        painted,
        _errors(corrected, zones, around, instrument, band, settings),
        tuple(zone.emissivity for zone in zones),
        tuple(zone.as_given or zone.emissivity >= settings.least_emissivity for zone in zones),
        facts=_facts(zones, around, instrument, sensor, corrected, settings, context, readings),
        equations=tuple(
            None if zone.as_given else _equation(band, true)
            for zone, true in zip(zones, corrected.settings, strict=True)
        ),
    )


def _is_whole(picture: Picture) -> bool:
    """True for whole counts, also when a pattern has been subtracted from them since: they were rounded once."""
    return picture.values.dtype.kind in "ui" or picture.ceiling is not None


def _prepare(
    readings: Readings, zones: tuple[Zone, ...], settings: RadianceSettings, context: Context, sensor: Sensor
) -> tuple[Surroundings, BandModel]:
    around = surroundings_of(context, settings, sensor.fit(), sensor.limits, readings)
    others = [around.reflected.value, around.air.value]
    if "reflected" in context.view.applied:
        others.append(context.view.applied["reflected"] + ZERO_CELSIUS_K)
    if around.window is not None:
        others.append(float(around.window.window_k))
    return around, band_for(sensor, readings.ends, zones, tuple(others))


def _errors(
    corrected: Corrected,
    zones: tuple[Zone, ...],
    around: Surroundings,
    instrument: Instrument,
    band: BandModel,
    settings: RadianceSettings,
) -> tuple[tuple[ErrorSource, ...], ...]:
    share = 0.0 if settings.size_of_source is None else settings.size_of_source.value
    background = float(np.nanmedian(corrected.values)) if share else 0.0
    return tuple(
        errors_as_given(instrument, knots_of(ends))
        if zone.as_given
        else errors_of(zone, around, instrument, band, true, knots_of(ends), share, background)
        for zone, true, ends in zip(zones, corrected.settings, corrected.ends, strict=True)
    )


@lru_cache(maxsize=256)
def _equation(band: BandModel, true: Settings) -> Equation:
    """The measurement equation in plain numbers, for errors that are drawn through it."""
    inputs = {
        "emissivity": true.emissivity,
        "reflected_k": true.reflected_k,
        "transmittance": true.transmittance,
        "air_k": true.air_k,
    }
    if true.window is not None:
        inputs |= {
            "window_transmittance": true.window.transmittance,
            "window_reflectance": true.window.reflectance,
            "window_k": true.window.window_k,
            "window_reflected_k": true.window.reflected_k,
        }
    return Equation((band.a, band.b, band.c), {name: float(value) for name, value in inputs.items()})


def _facts_as_given(zone: Zone, instrument: Instrument) -> dict[str, object]:
    return {
        "notes": (zone.assumed, *instrument.notes),
        "settings": {"temperatures": "as the file gives them"},
        "no_solution": 0,
    }


def _facts(
    zones: tuple[Zone, ...],
    around: Surroundings,
    instrument: Instrument,
    sensor: Sensor,
    corrected: Corrected,
    settings: RadianceSettings,
    context: Context,
    readings: Readings,
) -> dict[str, object]:
    notes = [*(zone.assumed for zone in zones if zone.assumed), *around.assumptions, *instrument.notes]
    notes += _reservations(zones, settings, context)
    if readings.picture.kelvin and "emissivity" not in context.view.applied:
        notes.append(AS_SEEN)
    if corrected.unsolved:
        notes.append(
            f"{corrected.unsolved} pixels masked that have no solution: the reflected part is brighter than the reading"
        )
    emissivity = Known(zones[0].emissivity, zones[0].standard, zones[0].assumed)
    used: dict[str, Quantity | str] = {
        "band": str(sensor),
        "emissivity": emissivity.quantity("1", most=1.0),
        "reflected": around.reflected.quantity("degC", ZERO_CELSIUS_K),
        "air": around.air.quantity("degC", ZERO_CELSIUS_K),
        "atmospheric transmittance": around.transmittance.quantity("1", most=1.0),
    }
    return {"notes": tuple(dict.fromkeys(notes)), "settings": used, "no_solution": corrected.unsolved}


def _reservations(zones: tuple[Zone, ...], settings: RadianceSettings, context: Context) -> list[str]:
    """What a reader of the temperatures has to know about emissivities."""
    notes = [
        f"{zone.shared.removeprefix('emissivity:')}: an emissivity of {zone.emissivity:g} is below "
        f"{settings.least_emissivity:g}; no temperature is given there, it is grey in the picture and fit to be "
        "compared with its like only"
        for zone in zones
        if not zone.as_given and zone.emissivity < settings.least_emissivity
    ]
    tilt = context.view.tilt
    if tilt is not None and tilt.value > STEEP_DEG:
        notes.append(
            f"seen {tilt.value:g} degrees off square, more than {STEEP_DEG:g}: non-metals emit clearly less than "
            "stated and mirror more, so temperatures may be wrong by more than their bounds"
        )
    return notes


STEP = Step(
    name="heatbrief.radiance",
    stage="calibrate",
    version=5,
    run=calibrate,
    settings=RadianceSettings,
    facts=(
        FactSpec(
            FACT,
            "temperature of the region's surface as measured otherwise; two or more give an unscaled picture a scale",
            "degC",
            example="0 degC +- 0.3 K",
        ),
    ),
    reads=("conditions", "camera", "regions", "view"),
    summary="Corrects for emissivity, reflected temperature, air and window, and states every source of error.",
    sources=("iso-18434-1", "sakuma-hattori", "gum"),
    status="stable",
    title="correction to surface temperatures",
)
