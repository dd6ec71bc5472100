"""Sums of products of named inputs: best values, draws, and what happens when one input moves."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from heatbrief.estimate.draws import Drawn, draws, summed
from heatbrief.estimate.prices import emission_factor, price_factor
from heatbrief.model.costs import MoneyFacts
from heatbrief.model.estimate import Estimate, Factor, Term
from heatbrief.model.quantity import Quantity

METHOD = "2048 draws of all inputs, shared ones drawn once"


def product(term: Term, pick: Callable[[Factor], float | np.ndarray]) -> float | np.ndarray:
    """The constant times every factor to its power, each as `pick` gives it."""
    found: float | np.ndarray = term.constant
    for factor in term.factors:
        found = found * pick(factor) ** float(factor.power)
    return found


def drawn(term: Term) -> Drawn:
    """A term with its draws."""
    return Drawn(
        float(product(term, lambda one: one.value.value)),
        np.asarray(product(term, lambda one: draws(one.name, one.value))),
    )


def total(terms: Iterable[Term]) -> Drawn:
    """The sum of terms of one unit."""
    return summed([drawn(one) for one in terms])


def with_factor(term: Term, factor: Factor, buys: str, unit: str) -> Term:
    """The term times one more factor, as an amount of something else."""
    return replace(term, buys=buys, unit=unit, factors=(*term.factors, factor))


@dataclass(frozen=True)
class Yearly:
    """Terms of a year by what they are: energy [kWh/a], water [m3/a], money and carbon dioxide [kg/a]; what has no
    price."""

    energy: tuple[Term, ...] = ()
    water: tuple[Term, ...] = ()
    money: tuple[Term, ...] = ()
    emissions: tuple[Term, ...] = ()
    unpriced: tuple[str, ...] = ()

    def quantities(self, money_name: str, currency: str) -> dict[str, Quantity]:
        """Named sums. Money is left out where a part has no price."""
        rows = (
            ("yearly_energy", self.energy, "kWh/a"),
            ("yearly_water", self.water, "m3/a"),
            (money_name, () if self.unpriced else self.money, f"{currency}/a"),
            ("yearly_emissions", self.emissions, "kg/a"),
        )
        found = {name: total(terms).quantity(unit, METHOD) for name, terms, unit in rows if terms}
        return {name: one for name, one in found.items() if one is not None}


def yearly(terms: Sequence[Term], money: MoneyFacts) -> Yearly:
    """Energy, water, money and emissions that belong to terms of a year."""
    priced, emitted, unpriced = [], [], []
    for term in terms:
        if term.buys == "money":
            priced.append(term)
            continue
        price = price_factor(term.buys, term.unit, money)
        if price is None:
            unpriced.append(term.buys)
        else:
            priced.append(with_factor(term, price, "money", f"{money.currency}/a"))
        carbon = emission_factor(term.buys, money) if term.unit == "kWh/a" else None
        if carbon is not None:
            emitted.append(with_factor(term, carbon, "carbon dioxide", "kg/a"))
    return Yearly(
        tuple(one for one in terms if one.unit == "kWh/a"),
        tuple(one for one in terms if one.unit == "m3/a"),
        tuple(priced),
        tuple(emitted),
        tuple(dict.fromkeys(unpriced)),
    )


def terms_of(estimate: Estimate, money: MoneyFacts) -> tuple[Term, ...]:
    """The terms of an estimate; for one without, its yearly figures as numbers of their own, bought at the price
    they show."""
    if estimate.terms:
        return estimate.terms
    given = estimate.quantities
    found = []
    if "yearly_energy" in given and (fuel := _fuel_of(given, money)):
        found.append(
            Term(fuel, "kWh/a", 1.0, (Factor(f"yearly energy of {estimate.finding}", given["yearly_energy"]),))
        )
    if "yearly_water" in given:
        found.append(
            Term("water", "m3/a", 1.0, (Factor(f"yearly water of {estimate.finding}", given["yearly_water"]),))
        )
    if not found and "yearly_cost" in given:
        found.append(
            Term(
                "money",
                given["yearly_cost"].unit,
                1.0,
                (Factor(f"yearly cost of {estimate.finding}", given["yearly_cost"]),),
            )
        )
    return tuple(found)


def _fuel_of(given: Mapping[str, Quantity], money: MoneyFacts) -> str:
    """The fuel whose price turns the energy into the cost; electricity when no cost was worked out."""
    energy, cost = given["yearly_energy"], given.get("yearly_cost")
    if cost is None:
        return "electricity"
    for fuel in sorted(money.prices):
        price = price_factor(fuel, "kWh/a", money)
        if price is not None and abs(price.value.value * energy.value - cost.value) <= 1e-6 * abs(cost.value):
            return fuel
    return ""


def factors_of(terms: Iterable[Term]) -> dict[str, Quantity]:
    """All inputs with bounds, by name."""
    return {
        factor.name: factor.value for term in terms for factor in term.factors if factor.value.low < factor.value.high
    }


def _moved_end(name: str, end: str, factor: Factor) -> float:
    moved_to: float = getattr(factor.value, end)
    return moved_to if factor.name == name else factor.value.value


def moved(terms: Sequence[Term], name: str) -> tuple[float, float]:
    """The sum when one input stands at its lower and at its upper bound and all others at their best, in rising
    order."""
    ends = [sum(float(product(term, partial(_moved_end, name, end))) for term in terms) for end in ("low", "high")]
    return min(ends), max(ends)
