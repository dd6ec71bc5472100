"""The reflected temperature from a piece of crumpled foil in the picture."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from heatbrief.api import Context, StepError
from heatbrief.arrays import Values
from heatbrief.calibrate.known import ZERO_CELSIUS_K, Known
from heatbrief.physics.measurement import Window
from heatbrief.physics.planck import Band

FOIL_LEAST_K = 0.5
"""Standard uncertainty of a reading on foil, at least: our choice."""


@dataclass(frozen=True)
class Before:
    """What stands before a piece of foil: air [K] of a transmittance, window, and settings the camera applied to it."""

    band: Band
    air: float
    transmittance: float
    window: Window | None
    applied: Mapping[str, float]

    def behind(self, reported: float) -> float:
        """What a foil mirrors [K], which is also what a window before it mirrors, from the reading it gave."""
        signal, air = self.band.signal, self.band.signal(self.air)
        share, through = self.applied.get("emissivity", 1.0), self.applied.get("transmittance", 1.0)
        # A camera that was set to the true reflected temperature reports a mirror as it is.
        mirrored = self.applied["reflected"] + ZERO_CELSIUS_K if "reflected" in self.applied else reported
        level = through * (share * signal(reported) + (1.0 - share) * signal(mirrored)) + (1.0 - through) * air
        kept: Values = self.transmittance
        added: Values = (1.0 - self.transmittance) * air
        if (window := self.window) is not None:
            own = 1.0 - window.transmittance - window.reflectance
            kept = window.transmittance * kept + window.reflectance
            added = window.transmittance * added + own * signal(window.window_k)
        return float(self.band.temperature((level - added) / kept))


def foil(context: Context, name: str, reported: np.ndarray, before: Before) -> Known:
    """Mean over a region of crumpled foil, read with emissivity 1 and no path (ISO 18434-1, reflector [memory])."""
    region = context.region_of(name)
    if region is None:
        known = ", ".join(repr(one.name) for one in context.regions[:8]) or "none"
        raise StepError(
            "unknown-region",
            f"reflected: there is no region {name!r} on this picture (regions: {known})",
            "Draw a region over the foil, or give `reflected:` for this picture.",
        )
    inside = reported[region.mask(*reported.shape)]
    inside = inside[np.isfinite(inside)]
    if inside.size == 0:
        raise StepError(
            "empty-region", f"reflected: the region {name!r} holds no pixel with a value", "Draw it inside the picture."
        )
    found = before.behind(float(inside.mean()))
    if not math.isfinite(found):
        raise StepError(
            "no-solution",
            f"reflected: no reflected temperature explains the region {name!r}: what stands before it is brighter",
            "Check window, distance and applied settings, or give `reflected:` for this picture.",
        )
    said = f"reflected temperature {found - ZERO_CELSIUS_K:.1f} degC, as read on the region {name!r}"
    return Known(found, max(FOIL_LEAST_K, 0.5 * float(inside.std())), said)
