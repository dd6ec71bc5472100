"""What the camera's detector responds to: a band of wavelengths or a measured response."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, StepError
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.physics.sakuma_hattori import DEFAULT_HIGH_K, DEFAULT_LOW_K, BandModel, fit_band, fit_response

DEFAULT_BAND_UM = (8.0, 14.0)


@dataclass(frozen=True)
class Sensor:
    """limits [um] of the band, or the half-height points of the response; response  (um, relative) pairs or empty."""

    limits: tuple[float, float]
    response: tuple[tuple[float, float], ...] = ()

    def fit(self, low_k: float = DEFAULT_LOW_K, high_k: float = DEFAULT_HIGH_K) -> BandModel:
        """The interpolation that stands for the detector between two temperatures [K]; remembered."""
        if not self.response:
            return fit_band(*self.limits, low_k, high_k)
        waves, heights = zip(*self.response, strict=True)
        return fit_response(waves, heights, low_k, high_k)

    def __str__(self) -> str:
        text = f"{self.limits[0]:g} to {self.limits[1]:g} um"
        return f"{text} at half height, measured response" if self.response else text


def sensor_of(settings: RadianceSettings, context: Context) -> Sensor:
    """The band set for the step, else the camera's response, else its band, else 8 to 14 um. StepError "band"."""
    if settings.band is None and context.camera.response:
        return _measured(context.camera.response)
    limits = DEFAULT_BAND_UM
    if settings.band is not None:
        limits = (settings.band[0].value, settings.band[1].value)
    elif context.camera.band is not None:
        limits = context.camera.band
    if not 0.0 < limits[0] < limits[1]:
        raise StepError(
            "band", f"a band from {limits[0]:g} to {limits[1]:g} um is not possible", "Give the lower limit first."
        )
    return Sensor((float(limits[0]), float(limits[1])))


def _measured(response: tuple[tuple[float, float], ...]) -> Sensor:
    pairs = tuple((float(wave), float(height)) for wave, height in response)
    half = max(height for _, height in pairs) / 2.0
    if len(pairs) < 2 or half <= 0.0:
        raise StepError("band", "the spectral response is empty", "Write [[wavelength in um, relative response], ...].")
    return Sensor((_crossing(pairs, half), _crossing(pairs[::-1], half)), pairs)


def _crossing(pairs: tuple[tuple[float, float], ...], half: float) -> float:
    """Where the response first reaches half its height, on a straight line between its points."""
    before = pairs[0]
    for wave, height in pairs:
        if height >= half:
            rise = height - before[1]
            return wave if rise <= 0.0 else before[0] + (half - before[1]) / rise * (wave - before[0])
        before = (wave, height)
    return pairs[-1][0]
