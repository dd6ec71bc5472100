"""The calibrate step: a picture's counts or reported temperatures to object temperatures with their error sources."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from heatbrief.api import Context, Step, StepError
from heatbrief.calibrate.bad_pixels import find_bad_pixels, replaced
from heatbrief.calibrate.correction import Corrected, band_for, correct, reported_kelvin, stated_settings
from heatbrief.calibrate.errors import Instrument, errors_as_given, errors_of, instrument_of, knots_of
from heatbrief.calibrate.known import ZERO_CELSIUS_K, Known
from heatbrief.calibrate.pixel_scale import pixel_scale
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.calibrate.surroundings import Surroundings, surroundings_of
from heatbrief.calibrate.zones import Zone, zones_of
from heatbrief.model.quantity import Quantity
from heatbrief.model.thermogram import ErrorSource, Picture, Thermogram
from heatbrief.physics.sakuma_hattori import BandModel, fit_band

DEFAULT_BAND_UM = (8.0, 14.0)
_REPAIRABLE = frozenset({"uint16", "int16"})
"""8-bit pictures have been stretched and sharpened for show, and temperatures have been cleaned by the camera."""


def calibrate(picture: Picture, settings: RadianceSettings, context: Context) -> Thermogram:
    """A Thermogram in kelvin, or unscaled counts when nothing says what the numbers mean.

    StepError "no-solution", "no-values", "unknown-material", "unknown-region" and others name what stands in the way.
    """
    low, high = _saturated(picture)
    picture, bad = _repaired(picture, settings)
    try:
        thermogram = (
            _unscaled(picture)
            if not picture.kelvin and picture.scale is None
            else _calibrated(picture, settings, context)
        )
    except ValueError as error:
        raise StepError(
            "calibration-input",
            f"the facts given cannot be calculated with: {error}",
            "Check emissivity, temperatures, humidity and distance of this picture.",
        ) from None
    height, width = thermogram.shape
    notes = [*thermogram.facts.get("notes", ())]  # type: ignore[misc]
    if len(bad):
        notes.append(f"{len(bad)} bad pixels, each standing alone, replaced by the median of their neighbours")
    if low or high:
        notes.append(
            f"{low} pixels at the lower and {high} at the upper end of the recording range; they are beyond it"
        )
    facts = {
        **thermogram.facts,
        "notes": tuple(notes),
        "bad_pixels": len(bad),
        "bad_pixel_places": tuple((int(column), int(row)) for row, column in bad),
    }
    return replace(
        thermogram,
        id=context.view.thermogram,
        pixel=pixel_scale(context, width, height),
        taken=context.view.taken or picture.taken,
        saturated_low=low,
        saturated_high=high,
        facts=facts,
    )


def _saturated(picture: Picture) -> tuple[int, int]:
    low = 0 if picture.floor is None else int(np.count_nonzero(picture.values <= picture.floor))
    high = 0 if picture.ceiling is None else int(np.count_nonzero(picture.values >= picture.ceiling))
    return low, high


def _repaired(picture: Picture, settings: RadianceSettings) -> tuple[Picture, np.ndarray]:
    none = np.empty((0, 2), np.intp)
    if not settings.bad_pixels or picture.kelvin or picture.values.dtype.name not in _REPAIRABLE:
        return picture, none
    bad = find_bad_pixels(picture.values, settings.bad_pixel_limit)
    return (replace(picture, values=replaced(picture.values, bad)), bad) if len(bad) else (picture, none)


def _unscaled(picture: Picture) -> Thermogram:
    with np.errstate(over="ignore"):
        counts = picture.values.astype(np.float32)
    counts[~np.isfinite(counts)] = np.nan
    if np.isnan(counts).all():
        raise StepError("no-values", "no pixel of the picture holds a usable number", "Check the export.")
    return Thermogram(
        "", counts, "unscaled", facts={"notes": ("nothing says what the counts mean: no temperatures are given",)}
    )


def _calibrated(picture: Picture, settings: RadianceSettings, context: Context) -> Thermogram:
    kelvin = reported_kelvin(picture)
    if np.isnan(kelvin).all():
        raise StepError(
            "no-values", "no pixel has a possible temperature", "Check the scale: kelvin_per_count and zero_at."
        )
    zones, painted = zones_of(picture, context, settings)
    step = abs(picture.scale[0]) if picture.scale is not None and picture.values.dtype.kind in "ui" else 0.0
    instrument = instrument_of(context.camera, step)
    if all(zone.as_given for zone in zones):
        knots = knots_of(kelvin)
        return Thermogram(
            "",
            kelvin,
            "temperature",
            None,
            (errors_as_given(instrument, knots),),
            (1.0,),
            (True,),
            facts=_facts_as_given(zones[0], instrument),
        )
    limits = _limits(settings, context)
    around, band = _prepare(picture, kelvin, zones, settings, context, limits)
    corrected = correct(picture, kelvin, zones, painted, band, stated_settings(context, around), around)
    if np.isnan(corrected.values).all():
        raise StepError(
            "no-solution",
            "no surface temperature explains the picture: the reflected part alone is brighter",
            "Check emissivity and reflected temperature.",
        )
    errors = _errors(corrected, zones, painted, around, instrument, band, settings)
    facts = _facts(zones, around, instrument, limits, corrected)
    return Thermogram(
        "",
        corrected.values,
        "temperature",
        painted,
        errors,
        tuple(zone.emissivity for zone in zones),
        tuple(zone.as_given or zone.emissivity >= settings.least_emissivity for zone in zones),
        facts=facts,
    )


def _limits(settings: RadianceSettings, context: Context) -> tuple[float, float]:
    limits = DEFAULT_BAND_UM
    if settings.band is not None:
        limits = (settings.band[0].value, settings.band[1].value)
    elif context.camera.band is not None:
        limits = context.camera.band
    if not 0.0 < limits[0] < limits[1]:
        raise StepError(
            "band", f"a band from {limits[0]:g} to {limits[1]:g} um is not possible", "Give the lower limit first."
        )
    return float(limits[0]), float(limits[1])


def _prepare(
    picture: Picture,
    kelvin: np.ndarray,
    zones: tuple[Zone, ...],
    settings: RadianceSettings,
    context: Context,
    limits: tuple[float, float],
) -> tuple[Surroundings, BandModel]:
    around = surroundings_of(context, settings, fit_band(*limits), limits, kelvin)
    ends = (float(np.nanmin(kelvin)), float(np.nanmax(kelvin)))
    others = [around.reflected.value, around.air.value]
    if "reflected" in context.view.applied:
        others.append(context.view.applied["reflected"] + ZERO_CELSIUS_K)
    if around.window is not None:
        others.append(float(around.window.window_k))  # type: ignore[arg-type]
    return around, band_for(limits, ends, zones, tuple(others))


def _errors(
    corrected: Corrected,
    zones: tuple[Zone, ...],
    painted: np.ndarray | None,
    around: Surroundings,
    instrument: Instrument,
    band: BandModel,
    settings: RadianceSettings,
) -> tuple[tuple[ErrorSource, ...], ...]:
    share = 0.0 if settings.size_of_source is None else settings.size_of_source.value
    background = float(np.nanmedian(corrected.values))
    found = []
    for number, (zone, true) in enumerate(zip(zones, corrected.settings, strict=True)):
        knots = knots_of(corrected.values if painted is None else corrected.values[painted == number])
        found.append(
            errors_as_given(instrument, knots)
            if zone.as_given
            else errors_of(zone, around, instrument, band, true, knots, share, background)
        )
    return tuple(found)


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
    limits: tuple[float, float],
    corrected: Corrected,
) -> dict[str, object]:
    notes = [*(zone.assumed for zone in zones if zone.assumed), *around.assumptions, *instrument.notes]
    if corrected.unsolved:
        notes.append(
            f"{corrected.unsolved} pixels masked that have no solution: the reflected part is brighter than the reading"
        )
    emissivity = Known(zones[0].emissivity, zones[0].standard, zones[0].assumed)
    used: dict[str, Quantity | str] = {
        "band": f"{limits[0]:g} to {limits[1]:g} um",
        "emissivity": emissivity.quantity("1", most=1.0),
        "reflected": around.reflected.quantity("degC", ZERO_CELSIUS_K),
        "air": around.air.quantity("degC", ZERO_CELSIUS_K),
        "transmittance": around.transmittance.quantity("1", most=1.0),
    }
    return {"notes": tuple(dict.fromkeys(notes)), "settings": used, "no_solution": corrected.unsolved}


STEP = Step(
    name="heatbrief.radiance",
    stage="calibrate",
    version=1,
    run=calibrate,
    settings=RadianceSettings,
    reads=("conditions", "camera", "regions", "view"),
    summary="Corrects for emissivity, reflected temperature, air and window, and states every source of error.",
    sources=("iso-18434-1", "sakuma-hattori", "gum"),
    status="stable",
)
