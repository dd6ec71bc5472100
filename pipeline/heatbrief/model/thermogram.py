"""One picture with its temperatures, mask, geometry and the sources of its errors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

Scale = Literal["temperature", "unscaled"]


@dataclass(frozen=True)
class ErrorSource:
    """One line of the uncertainty budget of a zone of a picture.

    name         "camera accuracy", "noise", "emissivity", "reflected temperature", "atmosphere", ...
    shared       identity of the underlying error: two zones or pixels with the same identity err together, so it cancels
                 in their difference as far as their sensitivities agree; "" means independent from pixel to pixel
    standard     standard uncertainty of the source in `unit`
    knots        temperatures [K], rising, at which the sensitivity is given; one knot means constant
    sensitivity  change of the measured temperature [K] per unit of the source at each knot
    """

    name: str
    shared: str
    standard: float
    unit: str
    knots: tuple[float, ...]
    sensitivity: tuple[float, ...]

    def effect(self, temperature: float | np.ndarray) -> np.ndarray:
        """Signed standard effect [K] at object temperatures [K]; shape of the argument."""
        return self.standard * np.interp(temperature, self.knots, self.sensitivity)


@dataclass(frozen=True)
class PixelScale:
    """Size of one pixel on the target.

    width, height  [m] best estimate; relative is the relative standard uncertainty of a length
    method         "distance and field of view", "pixel size given", "known rectangle"
    """

    width: float
    height: float
    relative: float
    method: str

    @property
    def area(self) -> float:
        """Area of a pixel on the target [m2]."""
        return self.width * self.height


@dataclass(frozen=True)
class Picture:
    """What a reader returns: one page of one file, before any calibration.

    values   (height, width): counts or kelvin, as `kelvin` says; not finite means masked
    kelvin   True when the values are temperatures in kelvin, False for counts of unknown meaning
    scale    (kelvin per count, kelvin at count 0) when the values are whole counts on a straight scale, else None;
             then `values` holds the counts and `kelvin` is False
    floor, ceiling   counts or kelvin at which the recording saturates, if known
    taken    ISO 8601 moment if the file or its name gives one
    notes    what the reader had to assume
    """

    values: np.ndarray
    kelvin: bool
    scale: tuple[float, float] | None = None
    floor: float | None = None
    ceiling: float | None = None
    taken: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Thermogram:
    """A picture after calibration.

    values    float32 (height, width): kelvin for scale "temperature", counts for "unscaled"; NaN where masked
    zones     uint8 (height, width) or None: which entry of `errors` belongs to a pixel (material zones)
    errors    for each zone its error sources; empty for unscaled pictures
    saturated_low, saturated_high   number of pixels at the ends of the recording range
    emissivity  emissivity of each zone, parallel to `errors`; "comparison only" is signalled by `absolute` False
    absolute  False when a zone's emissivity is too low for an absolute temperature to be published
    """

    id: str
    values: np.ndarray
    scale: Scale
    zones: np.ndarray | None = None
    errors: tuple[tuple[ErrorSource, ...], ...] = ()
    emissivity: tuple[float, ...] = ()
    absolute: tuple[bool, ...] = ()
    pixel: PixelScale | None = None
    taken: str = ""
    saturated_low: int = 0
    saturated_high: int = 0
    facts: Mapping[str, object] = field(default_factory=dict)

    @property
    def shape(self) -> tuple[int, int]:
        """(height, width) in pixels."""
        height, width = self.values.shape
        return height, width

    @property
    def valid(self) -> np.ndarray:
        """Pixels with a value, bool (height, width)."""
        return np.isfinite(self.values)

    def errors_of(self, mask: np.ndarray) -> tuple[ErrorSource, ...]:
        """Error sources of the zone that most pixels of `mask` lie in; empty for unscaled pictures."""
        if not self.errors:
            return ()
        if self.zones is None:
            return self.errors[0]
        inside = self.zones[mask]
        return self.errors[int(np.bincount(inside, minlength=len(self.errors)).argmax())] if inside.size else self.errors[0]

    def noise(self) -> float:
        """Standard deviation of the independent noise of one pixel [K, or counts when unscaled]; at least the rounding."""
        independent = [source.standard * abs(source.sensitivity[0])
                       for zone in self.errors[:1] for source in zone if not source.shared]
        return float(np.sqrt(np.sum(np.square(independent)))) if independent else 0.0
