"""Settings of the radiance step."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.model.quantity import Quantity
from heatbrief.model.settings import setting


@dataclass(frozen=True)
class RadianceSettings:
    """What the manifest may set for `heatbrief.radiance`. Facts given with a picture or its regions win over these."""

    band: tuple[Quantity, Quantity] | None = setting(
        None,
        unit="um",
        low=0.5,
        high=30,
        help="spectral band; the camera's when left out, else 8 to 14 um",
        example="[8 um, 14 um]",
    )
    reflected: str = setting(
        "",
        help="reflected apparent temperature: a temperature, `region NAME` for crumpled foil in the picture, or `sky`, "
        "which pictures from inside do not take",
        example="region foil",
    )
    emissivity: Quantity | None = setting(
        None,
        unit="1",
        low=0.01,
        high=1,
        help="emissivity of surfaces about which nothing is said",
        example="0.95 +- 0.02",
    )
    atmosphere: bool = setting(True, help="correct for the air between camera and surface when the distance is given")
    transmittance: Quantity | None = setting(
        None,
        unit="1",
        low=0.05,
        high=1,
        help="transmittance of the air if measured, instead of computing it",
        example="0.97 +- 0.01",
    )
    window_transmittance: Quantity | None = setting(
        None,
        unit="1",
        low=0.05,
        high=1,
        help="transmittance of an infrared window in front of the camera",
        example="0.85 +- 0.03",
    )
    window_reflectance: Quantity | None = setting(
        None, unit="1", low=0, high=0.9, help="reflectance of that window; 0 when left out", example="0.10 +- 0.02"
    )
    window_temperature: Quantity | None = setting(
        None,
        unit="degC",
        low=-60,
        high=200,
        help="temperature of that window; the air's when left out",
        example="25 degC",
    )
    bad_pixels: bool = setting(True, help="replace single pixels of raw counts that stand out alone, and count them")
    bad_pixel_limit: float = setting(
        8.0, unit="1", low=4, high=1000, help="how many robust standard deviations a bad pixel stands out", example="8"
    )
    flat_field: bool = setting(
        True, help="remove the lens shading that the frames named in camera: flat_field agree on"
    )
    stripes: bool = setting(
        True, help="remove stripes of the detector's columns and rows from raw counts where they stand out of the noise"
    )
    least_emissivity: float = setting(
        0.6, unit="1", low=0.01, high=1, help="below this emissivity no absolute temperature is given", example="0.6"
    )
    size_of_source: Quantity | None = setting(
        None, unit="1", low=0, high=0.2, help="share of the signal that comes from around a target", example="1 %"
    )
