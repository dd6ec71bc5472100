"""What a finding costs or loses, with the assumptions spelled out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from heatbrief.model.quantity import Quantity
from heatbrief.model.said import Said


@dataclass(frozen=True)
class Assumption:
    """One input of an estimate and where it came from ("given in the survey", "default of the check", a source key)."""

    name: str
    value: str
    origin: str


@dataclass(frozen=True)
class Factor:
    """One number of a term. Where a name stands twice it is one number: it is drawn once and moved once."""

    name: str
    value: Quantity
    power: int = 1


@dataclass(frozen=True)
class Term:
    """Part of a yearly amount: a constant times a product of factors.

    buys  what is bought: "electricity", "gas", "oil", "propane", "water", or "money" for a sum
    unit  "kWh/a", "m3/a", or a currency for a sum
    """

    buys: str
    unit: str
    constant: float = 1.0
    factors: tuple[Factor, ...] = ()


@dataclass(frozen=True)
class Estimate:
    """A computed consequence of one finding (or of the whole survey when `finding` is empty).

    kind        stable slug such as "heat-flow", "yearly-energy", "yearly-cost"
    quantities  named results
    terms       what a year takes, as products of named inputs, so that sums over findings know what they share
    said        the notes as codes with values, in the same order, or empty
    step        calculator that worked it out, filled in by the engine; "" for sums over the whole survey
    """

    id: str
    finding: str
    kind: str
    title: str
    quantities: Mapping[str, Quantity] = field(default_factory=dict)
    assumptions: tuple[Assumption, ...] = ()
    sources: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    terms: tuple[Term, ...] = ()
    said: tuple[Said, ...] = ()
    step: str = ""
