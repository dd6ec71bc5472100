"""One picture with its temperatures, mask, geometry and the sources of its errors."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, overload

import numpy as np

from heatbrief.model.once import once
from heatbrief.model.pixel_scale import PixelScale

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
    shape        "normal", or "rectangle" for a source of which only limits are known (standard = half-width / sqrt 3)
    reach        distance [px] within which the error is common; further apart it is another error of the same size.
                 None: the whole picture
    """

    name: str
    shared: str
    standard: float
    unit: str
    knots: tuple[float, ...]
    sensitivity: tuple[float, ...]
    shape: str = "normal"
    reach: float | None = None

    @overload
    def effect(self, temperature: float) -> float: ...

    @overload
    def effect(self, temperature: np.ndarray) -> np.ndarray: ...

    def effect(self, temperature: float | np.ndarray) -> float | np.ndarray:
        """Signed standard effect [K] at object temperatures [K]; shape of the argument."""
        if isinstance(temperature, float):
            return self.standard * self._sensitivity_at(temperature)
        many: np.ndarray = self.standard * np.interp(temperature, self.knots, self.sensitivity)
        return many

    def _sensitivity_at(self, temperature: float) -> float:
        """What `numpy.interp` gives for one number, several times quicker."""
        knots, known = self.knots, self.sensitivity
        after = bisect_right(knots, temperature)
        if after in (0, len(knots)):
            return known[0] if after == 0 else known[-1]
        slope = (known[after] - known[after - 1]) / (knots[after] - knots[after - 1])
        return slope * (temperature - knots[after - 1]) + known[after - 1]


@dataclass(frozen=True)
class Equation:
    """What stands between a zone and the camera, as plain numbers: errors far from small are drawn through it.

    band    (a [um], b [um K], c) of the Sakuma-Hattori interpolation
    inputs  best estimates by name: emissivity, reflected_k, transmittance, air_k; with a window also
            window_transmittance, window_reflectance, window_k, window_reflected_k
    """

    band: tuple[float, float, float]
    inputs: Mapping[str, float]

    def __hash__(self) -> int:
        return hash((self.band, tuple(sorted(self.inputs.items()))))


@dataclass(frozen=True)
class Picture:
    """What a reader returns: one page of one file, before any calibration.

    values   (height, width): counts or kelvin, as `kelvin` says; not finite means masked
    kelvin   True when the values are temperatures in kelvin, False for counts of unknown meaning
    scale    (kelvin per count, kelvin at count 0) when the values are whole counts on a straight scale, else None;
             then `values` holds the counts and `kelvin` is False
    floor, ceiling   counts or kelvin at which the recording saturates, if known
    read_error   standard uncertainty [K] of reading one pixel where values had to be recovered from something else (colours),
             independent from pixel to pixel; 0 for values read as they are
    read_shared  standard uncertainty [K] of the two ends `floor` and `ceiling` of what they were recovered from; between the
             ends it acts in proportion to the distance from the other end
    taken    ISO 8601 moment if the file or its name gives one
    notes    what the reader had to assume
    errors   sources of error that steps before the measurement equation found; knots and sensitivities are in apparent kelvin
    """

    values: np.ndarray
    kelvin: bool
    scale: tuple[float, float] | None = None
    floor: float | None = None
    ceiling: float | None = None
    taken: str = ""
    notes: tuple[str, ...] = ()
    read_error: float = 0.0
    read_shared: float = 0.0
    errors: tuple[ErrorSource, ...] = ()


@dataclass(frozen=True)
class Thermogram:
    """A picture after calibration.

    values    float32 (height, width): kelvin for scale "temperature", counts for "unscaled"; NaN where masked
    zones     uint8 (height, width) or None: which entry of `errors` belongs to a pixel (material zones)
    errors    for each zone its error sources; empty for unscaled pictures
    saturated_low, saturated_high   number of pixels at the ends of the recording range
    emissivity  emissivity of each zone, parallel to `errors`; "comparison only" is signalled by `absolute` False
    equations  the measurement equation of each zone, parallel to `errors`; None or left out where the file's own
               temperatures are taken as they are
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
    equations: tuple[Equation | None, ...] = ()

    @property
    def shape(self) -> tuple[int, int]:
        """(height, width) in pixels."""
        height, width = self.values.shape
        return height, width

    @property
    def valid(self) -> np.ndarray:
        """Pixels with a value, bool (height, width)."""
        # Asked for by every check; a copy is quicker than to look again, and may be changed.
        found: np.ndarray = once(self.values, "valid", lambda: np.isfinite(self.values))
        return found.copy()

    @property
    def withheld(self) -> np.ndarray:
        """Pixels with a value from which no absolute temperature is given, bool (height, width)."""
        if self.scale == "unscaled" or all(self.absolute):
            return np.zeros(self.values.shape, bool)
        if self.zones is None:
            return self.valid
        result: np.ndarray = self.valid & ~np.asarray(self.absolute, bool)[self.zones]
        return result

    def errors_of(self, mask: np.ndarray) -> tuple[ErrorSource, ...]:
        """Error sources of the zone that most pixels of `mask` lie in; empty for unscaled pictures."""
        if not self.errors:
            return ()
        if self.zones is None:
            return self.errors[0]
        inside = self.zones[mask]
        return (
            self.errors[int(np.bincount(inside, minlength=len(self.errors)).argmax())]
            if inside.size
            else self.errors[0]
        )

    def noise(self) -> float:
        """Standard deviation of the independent noise of one pixel [K]; 0 for unscaled pictures."""
        independent = [
            source.standard * abs(source.sensitivity[0])
            for zone in self.errors[:1]
            for source in zone
            if not source.shared
        ]
        return float(np.sqrt(np.sum(np.square(independent)))) if independent else 0.0
