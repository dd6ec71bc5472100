"""From counts to temperatures with bounds, offered through the same door as anybody's step."""

from __future__ import annotations

from heatbrief.api.step import Step
from heatbrief.calibrate.maps import uncertainty_map
from heatbrief.calibrate.radiance import STEP
from heatbrief.calibrate.regions import region_statistics
from heatbrief.calibrate.statistics import budget, statistics

STEPS: tuple[Step, ...] = (STEP,)

__all__ = ["STEPS", "budget", "region_statistics", "statistics", "uncertainty_map"]
