"""The measurement equation: what an imager sees of a surface, and the surface temperature behind what it saw.

S = tau [eps f(T_o) + (1 - eps) f(T_r)] + (1 - tau) f(T_a), and through a window S' = tau_w S + rho_w f(T_rw) +
(1 - tau_w - rho_w) f(T_w), with f the band signal of a blackbody. Sources: `iso-18434-1`, `astm-e1862`, `astm-e1933`.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from heatbrief.arrays import FloatArray, Mask, Values

from .planck import Band, floating

LEVELS_16_BIT = 65536


@dataclass(frozen=True)
class Window:
    """An infrared window between imager and path: transmittance, reflectance, its own and its mirrored temperature. Source: astm-e1897."""

    transmittance: Values
    reflectance: Values
    window_k: Values
    reflected_k: Values

    def __post_init__(self) -> None:
        _share("window transmittance", self.transmittance, zero=False)
        _share("window reflectance", self.reflectance)
        if np.any(np.asarray(self.transmittance) + np.asarray(self.reflectance) > 1.0 + 1e-12):
            raise ValueError("window transmittance and reflectance add up to more than 1")
        _kelvin("window temperature", self.window_k)
        _kelvin("temperature reflected by the window", self.reflected_k)


@dataclass(frozen=True)
class Settings:
    """What stands between a surface and a reading. Scalars or arrays that broadcast with the picture.

    Raises ValueError for emissivity or transmittance outside (0, 1] and temperatures not above 0 K.
    """

    emissivity: Values = 1.0
    reflected_k: Values = 293.15
    transmittance: Values = 1.0
    air_k: Values = 293.15
    window: Window | None = None

    def __post_init__(self) -> None:
        _share("emissivity", self.emissivity, zero=False)
        _share("transmittance", self.transmittance, zero=False)
        _kelvin("reflected temperature", self.reflected_k)
        _kelvin("air temperature", self.air_k)


@dataclass(frozen=True)
class Sensitivities:
    """First-order derivatives of the surface temperature (K per unit of each input), shapes as broadcast."""

    signal: FloatArray
    apparent_k: FloatArray
    emissivity: FloatArray
    reflected_k: FloatArray
    transmittance: FloatArray
    air_k: FloatArray
    window_transmittance: FloatArray
    window_reflectance: FloatArray
    window_k: FloatArray
    window_reflected_k: FloatArray

    def as_dict(self) -> dict[str, FloatArray]:
        """The derivatives by the name of their input."""
        return {one.name: getattr(self, one.name) for one in fields(self)}


def _share(name: str, value: ArrayLike, zero: bool = True) -> None:
    array = np.asarray(value, dtype=float)
    bad = ~((array >= 0.0) & (array <= 1.0)) if zero else ~((array > 0.0) & (array <= 1.0))
    if np.any(bad):
        raise ValueError(f"{name} must be {'0' if zero else 'above 0'} to 1, got {array[bad].flat[0]:g}")


def _kelvin(name: str, value: ArrayLike) -> None:
    array = np.asarray(value, dtype=float)
    if not np.all(array > 0.0):
        raise ValueError(f"{name} must be above 0 K, got {array[~(array > 0.0)].flat[0]:g} K")


def measured_signal(band: Band, object_k: ArrayLike, settings: Settings) -> FloatArray:
    """Band signal that reaches the imager from a surface at `object_k` kelvin."""
    eps, tau = _like(settings.emissivity, object_k), _like(settings.transmittance, object_k)
    signal = tau * (eps * band.signal(object_k) + (1.0 - eps) * _level(band, settings.reflected_k, object_k))
    signal = signal + (1.0 - tau) * _level(band, settings.air_k, object_k)
    if settings.window is None:
        return signal
    window = settings.window
    t_w, r_w = _like(window.transmittance, object_k), _like(window.reflectance, object_k)
    return (
        t_w * signal
        + r_w * _level(band, window.reflected_k, object_k)
        + (1.0 - t_w - r_w) * _level(band, window.window_k, object_k)
    )


def apparent_temperature(band: Band, object_k: ArrayLike, settings: Settings) -> FloatArray:
    """Blackbody temperature that gives the same signal (what an imager set to eps = tau = 1 reports), K."""
    return band.temperature(measured_signal(band, object_k, settings))


def _like(value: ArrayLike, picture: ArrayLike) -> Values:
    """Scalars as Python floats and arrays in the picture's precision, so that float32 pictures stay float32."""
    array = np.asarray(value)
    if array.ndim == 0:
        return float(array)
    return array.astype(floating(picture).dtype, copy=False)


def _level(band: Band, kelvin: ArrayLike, picture: ArrayLike) -> Values:
    return _like(band.signal(np.asarray(kelvin, dtype=np.float64)), picture)


def invert_signal(
    band: Band,
    signal: ArrayLike,
    *,
    emissivity: ArrayLike = 1.0,
    reflected_k: ArrayLike = 293.15,
    transmittance: ArrayLike = 1.0,
    air_k: ArrayLike = 293.15,
    window: Window | None = None,
) -> FloatArray:
    """Surface temperature behind a signal, K, without range checks (Monte Carlo draws may leave 0..1).

    NaN where no temperature solves the equation: the reflected part alone exceeds the signal, or eps or tau <= 0.
    """
    eps, tau = _like(emissivity, signal), _like(transmittance, signal)
    with np.errstate(divide="ignore", invalid="ignore"):
        level = _without_path(band, floating(signal), tau, air_k, window)
        level = (level - (1.0 - eps) * _level(band, reflected_k, signal)) / eps
    usable = np.asarray((np.asarray(eps) > 0) & (np.asarray(tau) > 0))
    if not usable.all():
        level = np.where(usable, level, np.nan)
    return band.temperature(level)


def _without_path(band: Band, level: FloatArray, tau: Values, air_k: ArrayLike, window: Window | None) -> FloatArray:
    if window is not None:
        t_w, r_w = _like(window.transmittance, level), _like(window.reflectance, level)
        level = (
            level
            - r_w * _level(band, window.reflected_k, level)
            - (1.0 - t_w - r_w) * _level(band, window.window_k, level)
        ) / t_w
    if isinstance(tau, float) and tau == 1.0:
        return level
    with np.errstate(divide="ignore", invalid="ignore"):
        return (level - (1.0 - tau) * _level(band, air_k, level)) / tau


def temperature_from_signal(band: Band, signal: ArrayLike, settings: Settings) -> FloatArray:
    """Surface temperature in kelvin behind a band signal; NaN where there is no solution, never clipped."""
    return invert_signal(
        band,
        signal,
        emissivity=settings.emissivity,
        reflected_k=settings.reflected_k,
        transmittance=settings.transmittance,
        air_k=settings.air_k,
        window=settings.window,
    )


def object_temperature(band: Band, apparent_k: ArrayLike, settings: Settings) -> FloatArray:
    """Surface temperature in kelvin behind an apparent temperature; NaN where there is no solution, never clipped."""
    return temperature_from_signal(band, band.signal(apparent_k), settings)


def recorrected_temperature(band: Band, reported_k: ArrayLike, stated: Settings, actual: Settings) -> FloatArray:
    """Undo the settings a reading was already corrected with, then apply the actual ones. Kelvin in and out.

    Shape of the reading broadcast with the settings; NaN where there is no solution.
    """
    return temperature_from_signal(band, measured_signal(band, reported_k, stated), actual)


def unsolved(given: ArrayLike, solved_k: ArrayLike) -> Mask:
    """Mask of pixels that had a finite input and have no solution; `.sum()` counts them."""
    result: Mask = np.isfinite(np.asarray(given)) & ~np.isfinite(np.asarray(solved_k))
    return result


def object_temperature_lut(
    band: Band,
    scale: float,
    offset: float,
    settings: Settings,
    *,
    stated: Settings | None = None,
    levels: int = LEVELS_16_BIT,
) -> NDArray[np.float32]:
    """Surface temperature (float32, K) of every integer count 0..levels-1; apply with `numpy.take(table, counts)`.

    `scale` and `offset` turn counts into kelvin: apparent temperature, or temperature under `stated` settings when
    those are given. Settings must be scalars. NaN where the count is not above 0 K or no solution exists.
    """
    if not np.isfinite(scale) or not np.isfinite(offset) or scale == 0.0:
        raise ValueError(f"counts need a finite scale other than 0 and a finite offset, got {scale} and {offset}")
    kelvin = scale * np.arange(levels, dtype=np.float64) + offset
    kelvin[kelvin <= 0.0] = np.nan
    table = recorrected_temperature(band, kelvin, stated or Settings(), settings)
    if table.shape != (levels,):
        raise ValueError("a table of counts needs one emissivity for the picture, not one for each pixel")
    return table.astype(np.float32)


def sensitivities(band: Band, object_k: ArrayLike, settings: Settings) -> Sensitivities:
    """Derivatives of the surface temperature to every input, at a surface temperature [K] and settings (GUM 5.1).

    In kelvin per unit of each input; shape of the temperature broadcast with the settings, zeros for what is absent.
    """
    t = floating(object_k)
    eps, tau = np.asarray(settings.emissivity, float), np.asarray(settings.transmittance, float)
    f_o, f_r, f_a = band.signal(t), band.signal(settings.reflected_k), band.signal(settings.air_k)
    bracket = eps * f_o + (1.0 - eps) * f_r
    path = tau * bracket + (1.0 - tau) * f_a
    reach = eps * band.slope(t)
    w_tau, w_rho, w_k, w_r = _window_terms(settings.window)
    measured = path if settings.window is None else measured_signal(band, t, settings)
    through = w_tau * tau * reach
    values = (
        1.0 / through,
        band.slope(band.temperature(measured)) / through,
        -(f_o - f_r) / reach,
        -(1.0 - eps) * band.slope(settings.reflected_k) / reach,
        -(bracket - f_a) / (tau * reach),
        -(1.0 - tau) * band.slope(settings.air_k) / (tau * reach),
        -(path - band.signal(w_k)) / through,
        -(band.signal(w_r) - band.signal(w_k)) / through,
        -(1.0 - w_tau - w_rho) * band.slope(w_k) / through,
        -w_rho * band.slope(w_r) / through,
    )
    if settings.window is None:
        values = values[:6] + (np.zeros_like(reach),) * 4
    return Sensitivities(*(np.asarray(value)[()] for value in values))


def _window_terms(window: Window | None) -> list[FloatArray]:
    if window is None:
        return [np.asarray(value) for value in (1.0, 0.0, 293.15, 293.15)]
    return [np.asarray(getattr(window, one.name), float) for one in fields(window)]


def emissivity_from_reference(
    band: Band,
    apparent_k: ArrayLike,
    true_k: ArrayLike,
    reflected_k: ArrayLike,
    *,
    transmittance: ArrayLike = 1.0,
    air_k: ArrayLike = 293.15,
) -> FloatArray:
    """Emissivity of a surface whose true temperature is known (contact or reference-patch method).

    NaN where the two temperatures coincide. The result is not forced into 0..1: outside it the inputs disagree.
    """
    signal = _without_path(band, floating(band.signal(apparent_k)), _like(transmittance, apparent_k), air_k, None)
    reflected = band.signal(reflected_k)
    with np.errstate(divide="ignore", invalid="ignore"):
        eps = (signal - reflected) / (band.signal(true_k) - reflected)
    return np.where(np.isfinite(eps), eps, np.nan)[()]


def emissivity_uncertainty(
    band: Band,
    apparent_k: float,
    true_k: float,
    reflected_k: float,
    *,
    u_apparent_k: float,
    u_true_k: float,
    u_reflected_k: float = 0.0,
) -> float:
    """Standard uncertainty (a share, 0..1) of `emissivity_from_reference` (no path), first order.

    Temperatures and their standard uncertainties in kelvin.
    """
    eps = emissivity_from_reference(band, apparent_k, true_k, reflected_k)
    span = band.signal(true_k) - band.signal(reflected_k)
    terms = (
        band.slope(apparent_k) * u_apparent_k,
        eps * band.slope(true_k) * u_true_k,
        (1.0 - eps) * band.slope(reflected_k) * u_reflected_k,
    )
    return float(np.sqrt(sum(np.square(term) for term in terms)) / np.abs(span))


def window_transmittance(band: Band, through_k: ArrayLike, hot_k: ArrayLike, window_k: ArrayLike) -> FloatArray:
    """Transmittance of a window from a hot target seen with and without it; reflection by the window left out.

    A share, 0..1; temperatures in kelvin that broadcast: seen through the window, without it, and of the window itself.
    NaN where the window is as warm as the target.
    """
    return emissivity_from_reference(band, through_k, hot_k, window_k)
