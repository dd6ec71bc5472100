"""Calculators that serve all domains."""

from heatbrief.api.step import Step

STEPS: tuple[Step, ...] = ()
