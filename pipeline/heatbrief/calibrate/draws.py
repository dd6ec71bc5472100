"""Errors drawn through the measurement equation (JCGM 101): bounds where the first-order budget is not good enough."""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping, Sequence
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from heatbrief.arrays import Values
from heatbrief.model.quantity import NORMAL_95
from heatbrief.model.thermogram import Equation, ErrorSource
from heatbrief.physics.robust import quantiles_of
from heatbrief.physics.sakuma_hattori import BandModel
from heatbrief.physics.uncertainty import numerical_tolerance

COUNT = 20_000
SEED = 1
GRID_K = 5.0
FIRST_ORDER = "first-order budget (GUM)"
MONTE_CARLO = "worked out many times with every input varied within its bounds (JCGM 101)"
_INPUTS = {
    "emissivity": "emissivity",
    "reflected temperature": "reflected_k",
    "atmospheric transmittance": "transmittance",
    "air temperature": "air_k",
    "window transmittance": "window_transmittance",
    "window reflectance": "window_reflectance",
    "window temperature": "window_k",
    "reflected by the window": "window_reflected_k",
}
_LIMITS = {
    "emissivity": (0.02, 1.0),
    "transmittance": (0.05, 1.0),
    "window_transmittance": (0.02, 1.0),
    "window_reflectance": (0.0, 0.98),
}
_COLDEST_K = 1.0
Share = tuple[tuple[ErrorSource, ...], Equation | None, float, float]
"""Error sources and equation of a zone, its share of the pixels and its mean temperature [K]."""


def common_spread(shares: tuple[Share, ...]) -> tuple[float, float]:
    """95 % half-widths [K], downwards and upwards, of what all pixels of some zones have in common."""
    if len(shares) != 1:
        return _spread(shares)
    errors, equation, _, t = shares[0]
    place = t / GRID_K
    below = math.floor(place)
    ends = _around(errors, equation, below)
    low, high = (ends[0][side] + (place - below) * (ends[1][side] - ends[0][side]) for side in (0, 1))
    return low, high


def reported_bounds(first_order: float, low: float, high: float) -> tuple[float, float, str]:
    """Half-widths to report and how they came about: first order when it agrees with the draws to two digits of u.

    first_order  standard uncertainty [K]; low, high  95 % half-widths of the draws [K]. JCGM 101 clause 8.
    """
    half = NORMAL_95 * first_order
    if first_order <= 0.0 or max(abs(low - half), abs(high - half)) <= numerical_tolerance(first_order, 2):
        return half, half, FIRST_ORDER
    return low, high, MONTE_CARLO


@lru_cache(maxsize=4096)
def _around(errors: tuple[ErrorSource, ...], equation: Equation | None, below: int) -> tuple[tuple[float, float], ...]:
    """Half-widths at both ends of a step of the grid: asked for at once, as all sources have to be told from others."""
    return tuple(_at_grid(errors, equation, max(node * GRID_K, _COLDEST_K)) for node in (below, below + 1))


@lru_cache(maxsize=4096)
def _at_grid(errors: tuple[ErrorSource, ...], equation: Equation | None, kelvin: float) -> tuple[float, float]:
    """Half-widths at one of the temperatures between which they are interpolated; they hardly bend."""
    return _spread(((errors, equation, 1.0, kelvin),))


def _spread(shares: tuple[Share, ...]) -> tuple[float, float]:
    """Half-widths of draws.

    The same draws along the tangent, of which the right answer is known, take most of the chance out (control variate).
    """
    values = np.sum([weight * _drawn(errors, equation, t) for errors, equation, weight, t in shares], axis=0)
    plain = np.sum([weight * _straight(errors, t, "normal") for errors, _, weight, t in shares], axis=0)
    good = np.isfinite(values)
    if not np.any(good):
        return 0.0, 0.0
    # A draw without a solution has a reflected part brighter than the reading: colder than all others.
    values = np.where(good, values, np.min(values, where=good, initial=np.inf))
    (low, high), (least, most) = (quantiles_of(one, (0.025, 0.975)) for one in (values, plain))
    half = NORMAL_95 * _first_order(shares)
    return max(0.0, float(half + least - low)), max(0.0, float(half + high - most))


def _first_order(shares: tuple[Share, ...]) -> float:
    effects: dict[str, float] = {}
    for errors, _, weight, t in shares:
        for one in errors:
            if one.shared:
                effects[one.shared] = effects.get(one.shared, 0.0) + weight * float(one.effect(t))
    return math.sqrt(math.fsum(effect**2 for effect in effects.values()))


def _drawn(errors: tuple[ErrorSource, ...], equation: Equation | None, kelvin: float) -> np.ndarray:
    """Departures from a temperature [K], shape (COUNT,), for random errors of everything that pixels share."""
    if equation is None:
        return _straight(errors, kelvin)
    shared = [source for source in errors if source.shared]
    band = BandModel(*equation.band)
    inputs: dict[str, Values] = dict(equation.inputs)
    direct = [source for source in shared if _INPUTS.get(source.name) not in inputs]
    signal = _forward(band, band.signal(kelvin), inputs)
    # What acts on the reading itself moves the signal by its first-order effect over the slope.
    reach = inputs["emissivity"] * inputs["transmittance"] * inputs.get("window_transmittance", 1.0)
    signal = signal + _straight(direct, kelvin) * reach * band.slope(kelvin)
    for source in shared:
        name = _INPUTS.get(source.name)
        if name in inputs and source not in direct:
            moved = inputs[name] + source.standard * _scores(source.shared, source.shape)
            inputs[name] = np.clip(moved, *_LIMITS.get(name, (_COLDEST_K, math.inf)))
    return band.temperature(_backward(band, signal, inputs)) - kelvin


def _straight(sources: Sequence[ErrorSource], kelvin: float, shape: str = "") -> np.ndarray:
    """Departures along the tangent, shape (COUNT,), each error of its own shape or all of one."""
    total = np.zeros(COUNT)
    for one in sources:
        if one.shared:
            total += float(one.effect(kelvin)) * _scores(one.shared, shape or one.shape)
    return total


@lru_cache(maxsize=64)
def _scores(identity: str, shape: str) -> np.ndarray:
    """Random numbers of mean 0 and standard deviation 1, the same for the same error wherever it acts.

    One in each of COUNT layers of equal probability (Latin hypercube), so that few draws give steady bounds.
    """
    random = np.random.default_rng([SEED, zlib.crc32(identity.encode())])
    layer = random.permutation(COUNT)
    scores = math.sqrt(3.0) * (2.0 * (layer + 0.5) / COUNT - 1.0) if shape == "rectangle" else _normal_layers()[layer]
    scores.flags.writeable = False
    return scores


@lru_cache(maxsize=1)
def _normal_layers() -> np.ndarray:
    """Normal scores in the middles of COUNT layers of equal probability."""
    score = NormalDist().inv_cdf  # as exact as scipy's, which takes a tenth of a second to load
    return np.array([score((layer + 0.5) / COUNT) for layer in range(COUNT)])


def _forward(band: BandModel, level: np.ndarray, inputs: Mapping[str, Values]) -> np.ndarray:
    """Signal of the reading for a surface's own signal."""
    eps, tau = inputs["emissivity"], inputs["transmittance"]
    level = tau * (eps * level + (1.0 - eps) * band.signal(inputs["reflected_k"]))
    level = level + (1.0 - tau) * band.signal(inputs["air_k"])
    through = inputs.get("window_transmittance")
    return level if through is None else through * level + _added_by_window(band, inputs)


def _backward(band: BandModel, level: np.ndarray, inputs: Mapping[str, Values]) -> np.ndarray:
    """The surface's own signal behind that of a reading; without the range checks that draws would not pass."""
    eps, tau = inputs["emissivity"], inputs["transmittance"]
    if "window_transmittance" in inputs:
        level = (level - _added_by_window(band, inputs)) / inputs["window_transmittance"]
    level = (level - (1.0 - tau) * band.signal(inputs["air_k"])) / tau
    result: np.ndarray = (level - (1.0 - eps) * band.signal(inputs["reflected_k"])) / eps
    return result


def _added_by_window(band: BandModel, inputs: Mapping[str, Values]) -> np.ndarray:
    mirrored = inputs["window_reflectance"]
    own = 1.0 - inputs["window_transmittance"] - mirrored
    result: np.ndarray = mirrored * band.signal(inputs["window_reflected_k"]) + own * band.signal(inputs["window_k"])
    return result
