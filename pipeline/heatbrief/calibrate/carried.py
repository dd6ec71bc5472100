"""Errors found before the measurement equation, carried through it to the surface's temperature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from heatbrief.model.thermogram import Equation, ErrorSource, Thermogram
from heatbrief.physics.measurement import Settings, Window, apparent_temperature, sensitivities
from heatbrief.physics.sakuma_hattori import BandModel


def with_errors(thermogram: Thermogram, errors: Sequence[ErrorSource]) -> Thermogram:
    """The thermogram with sources in apparent kelvin added to every zone as sources of the surface temperature."""
    if not errors or not thermogram.errors:
        return thermogram
    equations = thermogram.equations or (None,) * len(thermogram.errors)
    zones = (zone + _carried(zone, errors, one) for zone, one in zip(thermogram.errors, equations, strict=True))
    return replace(thermogram, errors=tuple(zones))


def seen(surface_k: np.ndarray, equation: Equation | None) -> tuple[np.ndarray, np.ndarray]:
    """(apparent temperature [K], change of the surface's temperature per change of it), shaped as the argument."""
    if equation is None:
        return surface_k, np.ones_like(surface_k)
    band, settings = BandModel(*equation.band), _settings(equation)
    slope = np.broadcast_to(sensitivities(band, surface_k, settings).apparent_k, surface_k.shape)
    return np.asarray(apparent_temperature(band, surface_k, settings)), slope


def _carried(
    zone: Sequence[ErrorSource], errors: Sequence[ErrorSource], equation: Equation | None
) -> tuple[ErrorSource, ...]:
    knots = np.asarray(max((one.knots for one in zone), key=len, default=(293.15,)), np.float64)
    apparent, slope = seen(knots, equation)
    at = tuple(float(one) for one in knots)
    moved = (
        replace(one, knots=at, sensitivity=tuple(map(float, np.interp(apparent, one.knots, one.sensitivity) * slope)))
        for one in errors
    )
    return tuple(one for one in moved if np.all(np.isfinite(one.sensitivity)) and np.any(one.sensitivity))


def _settings(equation: Equation) -> Settings:
    inputs = equation.inputs
    window = None
    if "window_transmittance" in inputs:
        names = ("window_transmittance", "window_reflectance", "window_k", "window_reflected_k")
        window = Window(*(inputs[name] for name in names))
    return Settings(inputs["emissivity"], inputs["reflected_k"], inputs["transmittance"], inputs["air_k"], window)
