"""What a line of the plan of work costs, and what it is worth over the years."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from heatbrief.estimate.draws import BOUNDS, Drawn, draws, summed
from heatbrief.estimate.terms import METHOD, drawn, total
from heatbrief.model.action import Action
from heatbrief.model.costs import MoneyFacts
from heatbrief.model.estimate import Estimate, Factor, Term
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity

LONGEST_PAYBACK = 100.0
"""Years."""

SLIGHT_SHARE, SLIGHT_SUM = 0.05, 1.0
"""A saving is no reason for a work when all its years together stay below this share of the cost, or, where the cost is
not known or nothing, a year's below this sum in the currency (own choice)."""

PRICED = {"area": ("area", "m2"), "length": ("length", "m")}


@dataclass(frozen=True)
class LineCost:
    """Terms of the cost [money] and of the hours [h] of a line, and where its prices come from; no terms: no price."""

    money: tuple[Term, ...] = ()
    hours: tuple[Term, ...] = ()
    origin: str = ""
    free: bool = False

    @property
    def known(self) -> bool:
        """Whether anything says what the line costs."""
        return bool(self.money) or self.free


def amounts(
    action: Action,
    findings: Sequence[Finding],
    estimates: Mapping[str, Sequence[Estimate]],
    cause_of: Mapping[str, str],
) -> tuple[Term, ...]:
    """What the price of a line counts [m2, m or pieces]: of each cause its largest area or length, or one piece.

    Empty when an area or length is asked for and not measured.
    """
    if action.priced_by not in PRICED:
        return (
            Term(
                "pieces",
                "1",
                float(len({cause_of.get(one.id, one.id) for one in findings})) if action.priced_by else 1.0,
            ),
        )
    name, unit = PRICED[action.priced_by]
    largest: dict[str, tuple[float, Factor]] = {}
    for one in findings:
        for quantities in (one.measured, *(each.quantities for each in estimates.get(one.id, ()))):
            value = quantities.get(name)
            if value is not None and value.unit == unit:
                cause = cause_of.get(one.id, one.id)
                if cause not in largest or value.value > largest[cause][0]:
                    largest[cause] = (value.value, Factor(f"{name} of {one.id}", value))
    return tuple(Term(name, unit, 1.0, (factor,)) for _, factor in largest.values())


def line_cost(action: Action, amount: Sequence[Term], money: MoneyFacts) -> LineCost:
    """Material and work of a line by the prices given; no price where one of them is missing."""
    entry, costs = money.costs.actions.get(action.key), money.costs
    if entry is None:
        return LineCost(free=action.who == "owner" and not action.priced_by)
    unit = money.currency
    if entry.cost is not None:
        return LineCost((_sum(f"cost of {action.key}", entry.cost, unit),), (), _origin(action, money, False))
    if not amount and (entry.material is not None or entry.hours_per_unit is not None):
        return LineCost()
    hours = (
        [Term("hours", "h", 1.0, (Factor(f"hours of {action.key}", entry.hours),))] if entry.hours is not None else []
    ) + [
        _times(term, Factor(f"hours per unit of {action.key}", entry.hours_per_unit), "hours", "h")
        for term in amount
        if entry.hours_per_unit is not None
    ]
    rate = costs.labour.get(action.who)
    if hours and rate is None and action.who != "owner":
        return LineCost()
    paid = (
        [_times(term, Factor(f"an hour of {action.who}", rate), "money", unit) for term in hours]
        if rate is not None
        else []
    )
    fixed = [_sum(f"fixed sum of {action.key}", entry.fixed, unit)] if entry.fixed is not None else []
    material = [
        _times(term, Factor(f"material of {action.key}", entry.material), "money", unit)
        for term in amount
        if entry.material is not None
    ]
    found = (*fixed, *material, *paid)
    return LineCost(found, tuple(hours), _origin(action, money, bool(hours)) if found else "", not found)


def _origin(action: Action, money: MoneyFacts, labour: bool) -> str:
    """Whose prices they are: the survey's only when everything that enters is its own."""
    own = f"actions.{action.key}" in money.listed
    own = own and (not labour or action.who not in money.costs.labour or f"labour.{action.who}" in money.listed)
    return "given in the survey" if own else "example price book"


def _sum(name: str, value: Quantity, unit: str) -> Term:
    return Term("money", unit, 1.0, (Factor(name, value),))


def _times(term: Term, factor: Factor, buys: str, unit: str) -> Term:
    return Term(buys, unit, term.constant, (*term.factors, factor))


def present_worth(money: MoneyFacts, years: int) -> Drawn:
    """Present worth of 1 a year for so many years, at the end of each, with growing prices. Source: nist-hb135"""
    costs = money.costs
    rates = [Factor("discount rate", costs.discount_rate), Factor("growth of prices", costs.price_growth)]
    rate, growth = (one.value.value for one in rates)
    rates_drawn, growths_drawn = (draws(one.name, one.value) for one in rates)
    return Drawn(float(_worth(rate, growth, years)), np.asarray(_worth(rates_drawn, growths_drawn, years)))


def _worth(rate: float | np.ndarray, growth: float | np.ndarray, years: int) -> float | np.ndarray:
    """Closed form of the sum of ((1 + growth) / (1 + rate))^t over t = 1 to years."""
    grows = np.log1p(np.asarray(growth, float)) - np.log1p(np.asarray(rate, float))
    level = grows == 0.0
    safe = np.where(level, 1.0, grows)
    return np.where(level, float(years), np.exp(safe) * np.expm1(years * safe) / np.expm1(safe))[()]


@dataclass(frozen=True)
class Worth:
    """Money of one line: cost, saving in a year, and net present value, each None where not known.

    slight  whether a saving is known and too small to be a reason
    """

    cost: Drawn | None
    saving: Drawn | None
    net: Drawn | None
    quantities: Mapping[str, Quantity]
    slight: bool = False


def worth(action: Action, cost: LineCost, saving: Sequence[Term], money: MoneyFacts) -> Worth:
    """Cost, payback, net present value and savings-to-investment ratio of a line. Source: nist-hb135

    What is done for safety is done whatever it pays, so it gets no payback and no ratio. A payback beyond a century
    is none.
    """
    unit = money.currency
    spent = summed([drawn(one) for one in cost.money]) if cost.known else None
    brings = total(saving) if saving else None
    entry = money.costs.actions.get(action.key)
    factor = present_worth(money, (entry.life if entry is not None else None) or money.costs.years)
    gain = None if brings is None else brings * factor
    net = None if spent is None or gain is None else gain - spent
    rows = [("hours", total(cost.hours) if cost.hours else None, "h"), ("cost", spent if cost.money else None, unit)]
    if (
        net is not None
        and spent is not None
        and brings is not None
        and gain is not None
        and spent.best > 0.0
        and not action.safety
    ):
        rows += [("net_present_value", net, unit), ("savings_to_investment", gain.over(spent), "1")]
        rows += [("payback", spent.over(brings), "a")] if spent.best <= LONGEST_PAYBACK * brings.best else []
    found = {name: one.quantity(of, METHOD) for name, one, of in rows if one is not None}
    known = {name: one for name, one in found.items() if one is not None}
    return Worth(spent, brings, net, known, _slight(spent, brings, gain))


def _slight(spent: Drawn | None, brings: Drawn | None, gain: Drawn | None) -> bool:
    """Whether a saving is next to nothing, its upper bound included."""
    if brings is None or gain is None:
        return False
    if spent is not None and spent.best > 0.0:
        return _upper(gain) < SLIGHT_SHARE * spent.best
    return _upper(brings) < SLIGHT_SUM


def _upper(one: Drawn) -> float:
    return max(one.best, float(np.quantile(one.values, BOUNDS[1])))
