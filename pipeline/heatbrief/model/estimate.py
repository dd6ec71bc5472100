"""What a finding costs or loses, with the assumptions spelled out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from heatbrief.model.quantity import Quantity


@dataclass(frozen=True)
class Assumption:
    """One input of an estimate and where it came from ("given in the survey", "default of the check", a source key)."""

    name: str
    value: str
    origin: str


@dataclass(frozen=True)
class Estimate:
    """A computed consequence of one finding (or of the whole survey when `finding` is empty).

    kind        stable slug such as "heat-flow", "yearly-energy", "yearly-cost"
    quantities  named results
    """

    id: str
    finding: str
    kind: str
    title: str
    quantities: Mapping[str, Quantity] = field(default_factory=dict)
    assumptions: tuple[Assumption, ...] = ()
    sources: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
