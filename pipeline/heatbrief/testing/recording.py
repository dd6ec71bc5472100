"""The synthetic imager: its band, lens, pixels, faults and recording."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from heatbrief.physics.planck import ZERO_CELSIUS_K, band_radiance, band_slope
from heatbrief.testing.scene import Scene

NOISE_AT_K = ZERO_CELSIUS_K + 30.0
FULL_COUNT = 65535
TABLE_K = np.arange(150.0, 1300.0, 0.25)


class TableBand:
    """An ideal band read from a dense table of the exact band radiance; error below 1e-6 K from 150 K to 1300 K."""

    def __init__(self, low_um: float, high_um: float) -> None:
        from scipy.interpolate import CubicSpline

        radiance = band_radiance(TABLE_K, low_um, high_um)
        self._forward = CubicSpline(TABLE_K, np.log(radiance))
        self._back = CubicSpline(np.log(radiance), TABLE_K)
        self.low_um, self.high_um = low_um, high_um

    def signal(self, t: ArrayLike) -> np.ndarray:
        """Radiance in the band of a blackbody at t [K], W m-2 sr-1; shape of t."""
        return np.exp(self._forward(np.asarray(t, dtype=np.float64)))

    def temperature(self, s: ArrayLike) -> np.ndarray:
        """Temperature [K] of a blackbody with this radiance in the band, W m-2 sr-1; NaN where there is none."""
        return self._back(np.log(np.asarray(s, dtype=np.float64)))

    def slope(self, t: ArrayLike) -> np.ndarray:
        """d(signal)/dT at t [K], W m-2 sr-1 K-1; shape of t."""
        return band_slope(t, self.low_um, self.high_um)


@lru_cache(maxsize=8)
def table_band(low_um: float, high_um: float) -> TableBand:
    """The table of one band between two wavelengths [um], made once."""
    return TableBand(low_um, high_um)


def pooled(values: np.ndarray, factor: int) -> np.ndarray:
    """Mean of each factor x factor block; (height, width) over the factor, NaN where one of the block is NaN."""
    rows, columns = values.shape
    result: np.ndarray = values.reshape(rows // factor, factor, columns // factor, factor).mean(axis=(1, 3))
    return result


def through_lens(signal: np.ndarray, scene: Scene) -> np.ndarray:
    """Point spread and the pixel's own area, on radiance as in an imager."""
    from scipy.ndimage import gaussian_filter

    if scene.imager.blur_px:
        signal = gaussian_filter(signal, scene.imager.blur_px * scene.oversample, mode="nearest")
    return pooled(signal, scene.oversample)


def reported(signal: np.ndarray, scene: Scene) -> np.ndarray:
    """Temperature the imager reports for a signal [K], with its faults."""
    imager, band = scene.imager, table_band(*scene.imager.band_um)
    if imager.noise_k:
        step = imager.noise_k * float(band.slope(NOISE_AT_K))
        signal = signal + step * scene.random("noise").standard_normal(signal.shape)
    reading = band.temperature(signal) + imager.offset()
    if imager.shading_k:
        reading = reading + imager.shading_k * _corners(*signal.shape)
    if imager.column_k:
        reading = reading + imager.column_k * scene.random("columns").standard_normal((1, signal.shape[1]))
    return reading


def _corners(height: int, width: int) -> np.ndarray:
    """0 in the middle of a picture, 1 in its corners, growing with the square of the radius."""
    y, x = np.linspace(-1.0, 1.0, height)[:, None], np.linspace(-1.0, 1.0, width)[None, :]
    return (x**2 + y**2) / 2.0


def quantised(reading: np.ndarray, scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """(counts, bad): a reading [K] as whole counts, uint16, and the mask of pixels stuck at an end; shape of the reading."""
    imager, random = scene.imager, scene.random("bad pixels")
    counts = np.clip(np.rint((reading - imager.kelvin_at_0) / imager.kelvin_per_count), 0, FULL_COUNT).astype(np.uint16)
    bad = random.random(counts.shape) < imager.bad_share
    counts[bad] = np.where(random.random(counts.shape)[bad] < 0.5, 0, FULL_COUNT).astype(np.uint16)
    return counts, bad
