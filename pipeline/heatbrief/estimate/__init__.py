"""Calculators that serve all domains, and the plan of work."""

from __future__ import annotations

from heatbrief.estimate import heat_flow, season

STEPS = (heat_flow.STEP, season.STEP)
