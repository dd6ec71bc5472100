"""The error sources of one zone, with their sensitivities at a few temperatures (GUM 5.1)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from heatbrief.api import Camera
from heatbrief.calibrate.surroundings import Surroundings
from heatbrief.calibrate.zones import Zone
from heatbrief.model.thermogram import ErrorSource, Picture
from heatbrief.physics.measurement import Sensitivities, Settings, apparent_temperature, sensitivities
from heatbrief.physics.sakuma_hattori import BandModel
from heatbrief.physics.uncertainty import RECTANGLE_DIVISOR, instrument_accuracy

LEAST_KNOTS, MOST_KNOTS, KNOT_GRID_K, KNOT_STEP_K = 9, 41, 5.0, 15.0
NOISE_ASSUMED_K = 0.1
ACCURACY_ASSUMED_K, ACCURACY_ASSUMED_SHARE = 2.0, 0.02
"""Usual statement for uncooled cameras, "2 K or 2 %, whichever is larger": common practice, no source."""


@dataclass(frozen=True)
class Reading:
    """Errors of recovering temperatures from colours.

    pixel  standard uncertainty of one pixel [K]; end that of each end of the colour bar [K]
    ends   apparent temperatures at the ends [K]
    owner  the picture: another picture's bar errs on its own
    """

    pixel: float
    end: float
    ends: tuple[float, float]
    owner: str

    def sources(self, apparent: np.ndarray, slope: np.ndarray, knots: np.ndarray) -> list[ErrorSource | None]:
        """Budget lines; `apparent` [K] and `slope` (object per apparent temperature) at the knots."""
        low, high = self.ends
        warm = np.clip((apparent - low) / (high - low), 0.0, 1.0) if high > low else np.full_like(knots, 0.5)
        return [
            _source("colour bar, single pixel", "", self.pixel, "K", knots, slope),
            _source(
                "colour bar, cold end", f"colour bar, cold end:{self.owner}", self.end, "K", knots, (1.0 - warm) * slope
            ),
            _source("colour bar, warm end", f"colour bar, warm end:{self.owner}", self.end, "K", knots, warm * slope),
        ]


def reading_of(picture: Picture, owner: str) -> Reading | None:
    """The errors of a picture whose temperatures were recovered, or None for temperatures read as they are."""
    if picture.read_error <= 0.0 and picture.read_shared <= 0.0:
        return None
    return Reading(picture.read_error, picture.read_shared, (picture.floor or 0.0, picture.ceiling or 0.0), owner)


@dataclass(frozen=True)
class Instrument:
    """Noise of a pixel [K], accuracy [K] and as a share of the reading in degC, rounding [K], assumptions, reading."""

    noise: float
    accuracy: float
    accuracy_share: float
    step: float
    notes: tuple[str, ...]
    reading: Reading | None = None

    @property
    def pixel_noise(self) -> float:
        """Standard deviation of one pixel: the camera's noise, at least that of rounding."""
        return max(self.noise, self.step / math.sqrt(12.0))


def instrument_of(camera: Camera, step: float) -> Instrument:
    """The camera as stated, else as is usual."""
    notes = []
    noise = camera.noise
    if noise is None:
        noise = NOISE_ASSUMED_K
        notes.append(f"camera noise not given: {NOISE_ASSUMED_K:g} K assumed")
    accuracy, fraction = camera.accuracy, camera.accuracy_percent
    if accuracy is None and fraction is None:
        accuracy, fraction = ACCURACY_ASSUMED_K, ACCURACY_ASSUMED_SHARE
        notes.append(f"camera accuracy not given: {accuracy:g} K or {100 * fraction:g} % assumed")
    return Instrument(noise, accuracy or 0.0, fraction or 0.0, step, tuple(notes))


@lru_cache(maxsize=1024)
def knots_of(ends: tuple[float, float]) -> tuple[float, ...]:
    """Temperatures [K] from the coldest to the warmest of a zone, on a grid so that pictures share them."""
    low, high = ends if math.isfinite(sum(ends)) else (293.15, 293.15)
    low = max(math.floor(low / KNOT_GRID_K) * KNOT_GRID_K, 1.0)
    high = max(math.ceil(high / KNOT_GRID_K) * KNOT_GRID_K, low + KNOT_GRID_K)
    count = min(max(math.ceil((high - low) / KNOT_STEP_K) + 1, LEAST_KNOTS), MOST_KNOTS)
    return tuple(float(one) for one in np.linspace(low, high, count))


@lru_cache(maxsize=256)
def errors_as_given(instrument: Instrument, knots_k: tuple[float, ...]) -> tuple[ErrorSource, ...]:
    """Sources for temperatures taken as the file gives them: the camera's own. Remembered, as is `errors_of`."""
    knots = np.asarray(knots_k)
    accuracy = instrument_accuracy(knots, instrument.accuracy, instrument.accuracy_share) / RECTANGLE_DIVISOR
    one = np.ones_like(knots)
    return tuple(
        source
        for source in (
            _source("noise", "", instrument.pixel_noise, "K", knots, one),
            _accuracy(accuracy, one, knots),
            *(instrument.reading.sources(knots, one, knots) if instrument.reading else ()),
        )
        if source is not None
    )


@lru_cache(maxsize=512)
def errors_of(
    zone: Zone,
    around: Surroundings,
    instrument: Instrument,
    band: BandModel,
    true: Settings,
    knots_k: tuple[float, ...],
    size_of_source: float,
    background_k: float,
) -> tuple[ErrorSource, ...]:
    """Sources for corrected temperatures of one zone, at knots [K]."""
    knots = np.asarray(knots_k)
    slope = sensitivities(band, knots, true)
    apparent = apparent_temperature(band, knots, true)
    accuracy = instrument_accuracy(apparent, instrument.accuracy, instrument.accuracy_share) / RECTANGLE_DIVISOR
    fit = band.max_error_k / math.sqrt(3.0)
    found = [
        _source("noise", "", instrument.pixel_noise, "K", knots, slope.apparent_k),
        _accuracy(accuracy, slope.apparent_k, knots),
        _source("emissivity", zone.shared, zone.standard, "1", knots, slope.emissivity, zone.shape),
        _source("reflected temperature", "reflected", around.reflected.standard, "K", knots, slope.reflected_k),
        _source(
            "atmospheric transmittance", "atmosphere", around.transmittance.standard, "1", knots, slope.transmittance
        ),
        _source("air temperature", "air", around.air.standard, "K", knots, slope.air_k),
        _source("interpolation", "interpolation", fit, "K", knots, slope.apparent_k, "rectangle"),
        _source(
            "size of source",
            "size of source",
            size_of_source,
            "1",
            knots,
            -(band.signal(knots) - band.signal(background_k)) / band.slope(knots),
        ),
        *_window(around, slope, knots),
        *(instrument.reading.sources(apparent, slope.apparent_k, knots) if instrument.reading else ()),
    ]
    return tuple(source for source in found if source is not None)


def _accuracy(standard: np.ndarray, slope: np.ndarray, knots: np.ndarray) -> ErrorSource | None:
    """The accuracy may grow with the reading: its least value is the standard, the rest goes into the sensitivity."""
    least = float(np.min(standard))
    if least <= 0.0:
        return _source("camera accuracy", "camera", 1.0, "K", knots, standard * slope, "rectangle")
    return _source("camera accuracy", "camera", least, "K", knots, standard / least * slope, "rectangle")


def _window(around: Surroundings, slope: Sensitivities, knots: np.ndarray) -> list[ErrorSource | None]:
    if around.window is None:
        return []
    names = (
        ("window transmittance", "1", slope.window_transmittance),
        ("window reflectance", "1", slope.window_reflectance),
        ("window temperature", "K", slope.window_k),
        ("reflected by the window", "K", slope.window_reflected_k),
    )
    return [
        _source(name, name, standard, unit, knots, np.broadcast_to(value, knots.shape))
        for (name, unit, value), standard in zip(names, around.window_standard, strict=True)
    ]


def _source(
    name: str,
    shared: str,
    standard: float,
    unit: str,
    knots: np.ndarray,
    sensitivity: np.ndarray,
    shape: str = "normal",
) -> ErrorSource | None:
    values = np.broadcast_to(np.asarray(sensitivity, np.float64), knots.shape)
    if standard <= 0.0 or not np.all(np.isfinite(values)) or not np.any(values):
        return None
    return ErrorSource(name, shared, float(standard), unit, tuple(map(float, knots)), tuple(map(float, values)), shape)
