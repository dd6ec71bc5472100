"""The description of a synthetic view: what is in front of the camera, the air between, and the imager itself."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, field

import numpy as np

from heatbrief.errors import UserError
from heatbrief.physics.geometry import footprint
from heatbrief.testing.fields import Part

MOST_PIXELS = 4_000_000


@dataclass(frozen=True)
class Imager:
    """An imager, each fault independent of the others and switched off by 0.

    band_um             limits of the spectral response, equal in between
    noise_k             standard deviation of one pixel's temporal noise against a blackbody at 30 degC [K]
    blur_px             standard deviation of the Gaussian point spread [px]; the pixel's own area comes on top
    shading_k           corners minus centre left over from the lens and housing [K]
    column_k            standard deviation of the fixed pattern from column to column [K]
    bad_share           share of pixels stuck at a wrong count
    kelvin_per_count, kelvin_at_0   the straight scale of the recording
    offset_k            error of every reading, or None: drawn once per camera, evenly within +-accuracy_k
    camera              seed of that draw; pictures of one camera share the offset
    """

    band_um: tuple[float, float] = (8.0, 14.0)
    noise_k: float = 0.05
    blur_px: float = 0.5
    shading_k: float = 0.0
    column_k: float = 0.0
    bad_share: float = 0.0
    kelvin_per_count: float = 0.01
    kelvin_at_0: float = 0.0
    accuracy_k: float = 0.0
    offset_k: float | None = None
    camera: int = 0

    def offset(self) -> float:
        """The reading error of this camera [K]."""
        if self.offset_k is not None:
            return self.offset_k
        return (
            float(stream(self.camera, "camera", "offset").uniform(-self.accuracy_k, self.accuracy_k))
            if self.accuracy_k
            else 0.0
        )


@dataclass(frozen=True)
class Scene:
    """A view with its parts in painting order; later parts cover or change earlier ones.

    width, height      of the picture [px]
    field_of_view_deg  horizontal, vertical; distance_m along the line of sight; the surface faces the camera
    base_c             temperature of the bare surface; likewise emissivity and tone (grey of the visible picture)
    reflected_c        temperature of what the surface mirrors; air_c and humidity (0..1) of the path
    mottle_k           standard deviation of slow unevenness of the true temperature [K], over about mottle_px
    emissivity_mottle  standard deviation of the emissivity, over the same length
    time_s             moment within a sequence, for the parts that grow
    seed, name         of all random draws; a sequence keeps `texture` so that only its noise changes
    oversample         points per pixel and direction at which the scene is evaluated
    """

    name: str
    width: int = 160
    height: int = 120
    field_of_view_deg: tuple[float, float] = (56.0, 42.0)
    distance_m: float = 2.0
    base_c: float = 22.0
    emissivity: float = 0.95
    tone: float = 0.7
    reflected_c: float = 22.0
    air_c: float = 22.0
    humidity: float = 0.4
    mottle_k: float = 0.0
    mottle_px: float = 12.0
    emissivity_mottle: float = 0.0
    time_s: float = 0.0
    seed: int = 1
    texture: str = ""
    oversample: int = 2
    imager: Imager = field(default_factory=Imager)
    parts: tuple[Part, ...] = ()

    def __post_init__(self) -> None:
        if self.width < 1 or self.height < 1 or self.width * self.height * self.oversample**2 > MOST_PIXELS:
            raise UserError.single(
                "scene-size",
                f"scene {self.name!r}",
                f"{self.width} x {self.height} pixels, "
                f"{self.oversample} points each way, is not between 1 and {MOST_PIXELS} points",
                "Give a smaller width, height or oversample.",
            )
        if not 1 <= self.oversample <= 8:
            raise UserError.single("scene-size", f"scene {self.name!r}", f"oversample {self.oversample} is not 1 to 8")

    @property
    def pixel_m(self) -> tuple[float, float]:
        """Width and height of one pixel on the surface [m], rectilinear lens facing it."""
        found = footprint(self.distance_m, self.field_of_view_deg, (self.width, self.height))
        return found.pixel_width_m, found.pixel_height_m

    def random(self, purpose: str) -> np.random.Generator:
        """A generator for one purpose of this scene, independent of every other purpose and part."""
        name = self.name if purpose == "noise" else self.texture or self.name
        return stream(self.seed, name, purpose)


def stream(seed: int, name: str, purpose: str) -> np.random.Generator:
    """A random generator that depends on these three only."""
    return np.random.default_rng([int(seed), zlib.crc32(name.encode()), zlib.crc32(purpose.encode())])
