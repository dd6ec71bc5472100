"""Sums over the whole plan, which inputs decide their bounds, what fits the budget, and what the bill says to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from heatbrief.estimate.consequences import Consequences
from heatbrief.estimate.draws import Drawn, summed
from heatbrief.estimate.plan_of_work import Line, Work
from heatbrief.estimate.prices import kwh_per_m3
from heatbrief.estimate.sentences import Sentence, saids, sentence, texts
from heatbrief.estimate.terms import METHOD, factors_of, moved, product, total
from heatbrief.model.costs import Bill, MoneyFacts
from heatbrief.model.estimate import Assumption, Estimate, Term
from heatbrief.model.quantity import Quantity

MOST_DRIVERS = 10


def total_of(work: Work, money: MoneyFacts) -> Estimate | None:
    """Cost and yearly figures of all lines together; None when there is nothing to add."""
    costs = [one.worth.cost for one in work.lines if one.worth.cost is not None]
    rows: list[tuple[str, Drawn | None, str]] = [
        ("cost", summed(costs) if any(one.cost.money for one in work.lines) else None, money.currency)
    ]
    nets = [one.worth.net for one in work.lines if one.worth.net is not None and not one.action.safety]
    for name, part, unit in (
        ("yearly_saving", "money", f"{money.currency}/a"),
        ("yearly_energy", "energy", "kWh/a"),
        ("yearly_water", "water", "m3/a"),
        ("yearly_emissions", "emissions", "kg/a"),
    ):
        terms = [term for line in work.lines for term in getattr(line.saves, part)]
        rows.append((name, total(terms) if terms else None, unit))
    rows.append(("net_present_value", summed(nets) if nets else None, money.currency))
    found = {name: one.quantity(unit, METHOD) for name, one, unit in rows if one is not None}
    known = {name: one for name, one in found.items() if one is not None}
    if not known:
        return None
    unpriced = [one for one in work.lines if not one.cost.known] if "cost" in known else []
    said = (
        sentence("counted-once"),
        *((sentence("unpriced", titles=_titles(unpriced)),) if unpriced else ()),
        *((sentence("net-of"),) if nets else ()),
    )
    costs_ = money.costs
    return Estimate(
        "plan-total",
        "",
        "total",
        "The whole plan of work",
        known,
        assumptions=(
            Assumption("real interest", _percent(costs_.discount_rate), costs_.discount_rate.method),
            Assumption("real growth of energy prices", _percent(costs_.price_growth), costs_.price_growth.method),
            Assumption(
                "years that savings count", f"{costs_.years}, or the life of the measure", "survey or its default"
            ),
        ),
        sources=("nist-hb135",),
        notes=texts(said),
        said=saids(said),
    )


def _percent(rate: Quantity) -> str:
    return f"{100 * rate.value:.3g} %" if rate.low == rate.high else f"{100 * rate.low:.3g} to {100 * rate.high:.3g} %"


def drivers_of(work: Work, money: MoneyFacts) -> tuple[Estimate, ...]:
    """For the yearly saving and for the cost: the total when one input alone moves to its bounds, widest inputs."""
    parts = (
        (
            "drivers",
            "What decides the bounds of the yearly saving",
            f"{money.currency}/a",
            [term for line in work.lines for term in line.saves.money],
        ),
        (
            "cost-drivers",
            "What decides the bounds of the cost",
            money.currency,
            [term for line in work.lines for term in line.cost.money],
        ),
    )
    said = (sentence("alone"),)
    labels = {one.action.key: one.action.title for one in work.lines}
    labels |= {finding.id: finding.title for one in work.lines for finding in one.findings}
    found = []
    for kind, title, unit, terms in parts:
        bars = _named(_bars(terms, unit), labels)
        if bars:
            found.append(
                Estimate(
                    f"plan-{kind}",
                    "",
                    kind,
                    title,
                    bars,
                    notes=texts(said),
                    said=saids(said),
                )
            )
    return tuple(found)


def _named(bars: Mapping[str, Quantity], labels: Mapping[str, str]) -> dict[str, Quantity]:
    """The bars with titles in place of ids and keys; where two would get one name both keep theirs."""
    told = {}
    for name in bars:
        what, of, key = name.rpartition(" of ")
        told[name] = f"{what}{of}{labels.get(key, key)}"
        if name.startswith("surface coefficient, "):
            told[name] = name.rpartition(", ")[0]  # without the number that keeps two apart
    twice = {one for one in told.values() if list(told.values()).count(one) > 1}
    return {name if told[name] in twice else told[name]: one for name, one in bars.items()}


def _bars(terms: Sequence[Term], unit: str) -> dict[str, Quantity]:
    best = [float(product(term, lambda one: one.value.value)) for term in terms]
    whole = sum(best)
    by_name: dict[str, list[int]] = {}
    for number, term in enumerate(terms):
        for factor in term.factors:
            by_name.setdefault(factor.name, []).append(number)
    bars = {}
    for name in factors_of(terms):
        places = list(dict.fromkeys(by_name[name]))
        rest = whole - sum(best[one] for one in places)
        low, high = (rest + end for end in moved([terms[one] for one in places], name))
        if np.isfinite([low, high]).all():
            bars[name] = Quantity(
                whole, unit, min(low, whole), max(high, whole), 0.95, "this input alone at its bounds"
            )
    widest = sorted(bars, key=lambda name: (bars[name].low - bars[name].high, name))[:MOST_DRIVERS]
    return {name: bars[name] for name in widest}


def budget_of(work: Work, money: MoneyFacts) -> Estimate | None:
    """What is done for the budget, what it costs, and how likely that stays within it."""
    budget = money.costs.budget
    if budget is None or work.chosen is None:
        return None
    inside = [one for one in work.lines if one.action.key in work.chosen]
    cost = summed([one.worth.cost for one in inside if one.worth.cost is not None])
    chance = float(np.mean(cost.values <= budget.value))
    figures = {
        "budget": budget,
        "cost": cost.quantity(money.currency, METHOD),
        "chance_within_budget": Quantity.exact(min(max(chance, 0.001), 0.999), "1", METHOD),
    }
    saving = [term for one in inside for term in one.saves.money]
    figures["yearly_saving"] = total(saving).quantity(f"{money.currency}/a", METHOD) if saving else None
    outside = [one for one in work.lines if one.action.key not in work.chosen]
    dear, unpriced = [one for one in outside if one.cost.known], [one for one in outside if not one.cost.known]
    said = [
        sentence("budget-for", titles=_titles(inside)) if inside else sentence("budget-none"),
        *([sentence("budget-later", titles=_titles(dear))] if dear else []),
        *([sentence("budget-unpriced", titles=_titles(unpriced))] if unpriced else []),
        sentence("budget-rule"),
    ]
    return Estimate(
        "plan-budget",
        "",
        "budget",
        "What the budget is best spent on",
        {name: one for name, one in figures.items() if one is not None},
        notes=texts(said),
        said=saids(said),
    )


def _titles(lines: Sequence[Line]) -> str:
    return "; ".join(one.action.title for one in lines)


def bill_check(found: Consequences, bill: Mapping[str, Bill]) -> tuple[Estimate | None, tuple[Sentence, ...]]:
    """The counted losses of each fuel beside the bill, and a flag in words for every claim beyond it."""
    figures: dict[str, Quantity] = {}
    flags: list[Sentence] = []
    notes: list[Sentence] = []
    for name, one in sorted(bill.items()):
        billed = billed_of(name, one)
        if billed is None:
            notes.append(sentence("bill-unclear", fuel=name))
            continue
        terms = [term for term in found.terms if term.buys == name and term.unit == billed.unit]
        claimed = total(terms).quantity(billed.unit, METHOD) if terms else None
        if claimed is None:
            continue
        figures |= {f"{name} claimed": claimed, f"{name} billed": billed}
        ratio = claimed.value / billed.value
        share = Quantity.exact(float(f"{ratio:.2g}"), "1", "claimed over billed")
        if ratio > 1.0:
            flags.append(sentence("bill-beyond", share=share, fuel=name, claimed=claimed, billed=billed))
        else:
            notes.append(sentence("bill-share", share=share, fuel=name))
    if not figures and not notes:
        return None, ()
    both = (*flags, *notes)
    title = "The findings beside the bill"
    return Estimate("bill-check", "", "bill", title, figures, notes=texts(both), said=saids(both)), tuple(flags)


def billed_of(name: str, bill: Bill) -> Quantity | None:
    """The bill in the unit of claims: m3/a of water, kWh/a of everything else. Source: eia-btu"""
    if name == "water":
        return None if bill.volume is None else bill.volume.scaled(1.0, "m3/a")
    if bill.energy is not None:
        return bill.energy
    content = kwh_per_m3(name)
    return (
        None
        if bill.volume is None or content is None
        else bill.volume.scaled(content, "kWh/a", "volume times heat content")
    )
