"""Uncertainty budget of one surface temperature: first order and Monte Carlo, and the interval that may be reported."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from .measurement import Settings, Window, invert_signal, object_temperature, sensitivities
from .planck import Band
from .uncertainty import (
    COVERAGE,
    Combined,
    Input,
    MonteCarlo,
    Validation,
    combine,
    monte_carlo,
    student_factor,
    validate_first_order,
)

FIRST_ORDER = "first order (GUM)"
MONTE_CARLO = "Monte Carlo (JCGM 101)"
NO_SOLUTION = "no solution"
EXACT = "exact inputs"


@dataclass(frozen=True)
class TemperatureBudget:
    """Surface temperature in kelvin with standard uncertainty and coverage interval, and how they were found.

    `method` is the one that may be reported: first order when its interval agrees with Monte Carlo's, else Monte Carlo.
    All numbers are NaN when the equation has no solution. `contributions` are in K, by input.
    """

    value_k: float
    u_k: float
    low_k: float
    high_k: float
    coverage: float
    method: str
    contributions: Mapping[str, float]
    first_order: Combined
    simulation: MonteCarlo | None
    validation: Validation | None


def temperature_budget(
    band: Band,
    apparent_k: Input,
    emissivity: Input,
    reflected_k: Input,
    transmittance: Input,
    air_k: Input,
    *,
    window: Window | None = None,
    noise: Input | None = None,
    pixels: int = 1,
    digits: int = 1,
    draws: int = 200_000,
    seed: int = 1,
    coverage: float = COVERAGE,
) -> TemperatureBudget:
    """Budget of the mean apparent temperature of a region of `pixels` pixels.

    `apparent_k` carries what the whole picture shares (calibration), `noise` (value 0) what each pixel has of its own.
    The window, if any, is taken as exact. Raises ValueError for best estimates outside their physical range.
    """
    settings = Settings(emissivity.value, reflected_k.value, transmittance.value, air_k.value, window)
    value = float(object_temperature(band, apparent_k.value, settings))
    if not math.isfinite(value):
        nan = math.nan
        return TemperatureBudget(nan, nan, nan, nan, coverage, NO_SOLUTION, {}, Combined(nan, {}, math.inf), None, None)
    inputs = {
        "apparent_k": apparent_k,
        "emissivity": emissivity,
        "reflected_k": reflected_k,
        "transmittance": transmittance,
        "air_k": air_k,
    }
    slopes = {name: float(one) for name, one in sensitivities(band, value, settings).as_dict().items()}
    if noise is not None:
        inputs["noise"] = Input(0.0, noise.u / math.sqrt(pixels), noise.shape, noise.dof)
        slopes["noise"] = slopes["apparent_k"]
    first = combine(slopes, inputs)
    if first.u == 0.0:
        return TemperatureBudget(value, 0.0, value, value, coverage, EXACT, first.contributions, first, None, None)
    simulated = _simulate(band, inputs, window, draws, seed, coverage)
    factor = student_factor(first.dof, coverage)
    check = validate_first_order(value, first.u, simulated, digits=digits, factor=factor)
    if check.valid:
        return TemperatureBudget(
            value,
            first.u,
            value - factor * first.u,
            value + factor * first.u,
            coverage,
            FIRST_ORDER,
            first.contributions,
            first,
            simulated,
            check,
        )
    return TemperatureBudget(
        value,
        simulated.u,
        simulated.low,
        simulated.high,
        coverage,
        MONTE_CARLO,
        first.contributions,
        first,
        simulated,
        check,
    )


def _simulate(
    band: Band, inputs: Mapping[str, Input], window: Window | None, draws: int, seed: int, coverage: float
) -> MonteCarlo:
    def model(apparent_k: np.ndarray, noise: np.ndarray | float = 0.0, **rest: np.ndarray) -> np.ndarray:
        return invert_signal(band, band.signal(apparent_k + noise), window=window, **rest)

    return monte_carlo(model, inputs, draws=draws, seed=seed, coverage=coverage)
