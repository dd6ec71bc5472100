"""Facts of a finding's own place, for calculators."""

from __future__ import annotations

from heatbrief.api import Context
from heatbrief.model import Finding, Quantity
from heatbrief.model.region import Fact


def fact(finding: Finding, name: str, context: Context) -> Fact | None:
    """A fact of the finding's region, else of its picture, else of the survey."""
    for region in context.regions:
        if region.thermogram == finding.thermogram and region.name == finding.region and name in region.facts:
            return region.facts[name]
    return context.facts_of.get(finding.thermogram, {}).get(name, context.facts.get(name))


def quantity(finding: Finding, name: str, context: Context) -> Quantity | None:
    """A fact with a unit, else None."""
    found = fact(finding, name, context)
    return found if isinstance(found, Quantity) else None


def positive(found: Quantity) -> Quantity:
    """The same without what lies below nothing."""
    low, high, value = (max(one, 0.0) for one in (found.low, found.high, found.value))
    return Quantity(value, found.unit, low, high, found.coverage, found.method)


def heating_fuel(context: Context) -> str:
    """What heats, going by the prices given: the first of `heat`, `gas` and `electricity`; "heat" without any."""
    return next((name for name in ("heat", "gas", "electricity") if name in context.prices), "heat")
