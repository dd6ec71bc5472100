"""From findings to the ordered plan of work, with what each line costs and brings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from heatbrief.estimate.budget import Choice, best_set
from heatbrief.estimate.consequences import Consequences, Counted, consequences
from heatbrief.estimate.line_costs import LineCost, Worth, amounts, line_cost, worth
from heatbrief.estimate.order import dependencies, ordered
from heatbrief.estimate.terms import Yearly, total, yearly
from heatbrief.model.action import Action, PlanItem
from heatbrief.model.costs import MoneyFacts
from heatbrief.model.estimate import Estimate, Term
from heatbrief.model.finding import URGENCIES, Finding
from heatbrief.model.quantity import Quantity

PLANNED = {"defect": ("repair", "check"), "suspect": ("repair", "check"), "inconclusive": ("check",), "normal": ()}
"""Kinds of action that findings of a verdict put on the plan."""

URGENT = ("now", "soon")


@dataclass(frozen=True)
class Line:
    """One line before it is written down: its action, findings, amount, cost, and what it saves in a year."""

    action: Action
    findings: tuple[Finding, ...]
    amount: tuple[Term, ...]
    cost: LineCost
    saves: Yearly
    worth: Worth

    @property
    def value(self) -> float:
        """Net present value; without a saving the cost counts against it, without a cost the saving of a year for
        it."""
        if self.worth.net is not None:
            return self.worth.net.best
        if self.worth.cost is not None:
            return -self.worth.cost.best
        return 0.0 if self.worth.saving is None else self.worth.saving.best


@dataclass(frozen=True)
class Work:
    """The plan of work with everything it was made from, for totals and the first page."""

    items: tuple[PlanItem, ...]
    lines: tuple[Line, ...]
    chosen: frozenset[str] | None = None


def plan_of_work(
    findings: Sequence[Finding],
    estimates: Sequence[Estimate],
    actions: Mapping[str, Action],
    money: MoneyFacts | None = None,
) -> tuple[PlanItem, ...]:
    """One line for each action that the findings ask for, in the order of work."""
    money = money or MoneyFacts()
    return plan_from(consequences(findings, estimates, money), findings, actions, money).items


def plan_from(
    found: Consequences, findings: Sequence[Finding], actions: Mapping[str, Action], money: MoneyFacts
) -> Work:
    """The plan from consequences worked out before. A saving stands only on the repair that brings it: the last one
    that its finding names."""
    wanted: dict[str, list[Finding]] = {}
    for finding in findings:
        for key in finding.actions:
            if key in actions and actions[key].kind in PLANNED[finding.verdict]:
                wanted.setdefault(key, []).append(finding)
    brings = _brought_by(found.counted, wanted, actions)
    by_finding: dict[str, list[Estimate]] = {}
    for estimate in found.estimates:
        by_finding.setdefault(estimate.finding, []).append(estimate)
    lines = {
        key: _line(actions[key], asked, brings.get(key, ()), by_finding, found.cause_of, money)
        for key, asked in wanted.items()
    }
    after = dependencies(wanted, actions)
    order = ordered(wanted, after, actions, {key: one.value for key, one in lines.items()})
    chosen = _affordable([lines[key] for key in order], after, money)
    items = tuple(_item(number, lines[key], after[key], order, money, chosen) for number, key in enumerate(order, 1))
    return Work(items, tuple(lines[key] for key in order), chosen)


def most_urgent(findings: Iterable[Finding]) -> str:
    """The most urgent of several findings."""
    return min((finding.urgency for finding in findings), key=URGENCIES.index, default="none")


def _brought_by(
    counted: Iterable[Counted], wanted: Mapping[str, object], actions: Mapping[str, Action]
) -> dict[str, list[Term]]:
    """Repair -> terms of a year that it saves."""
    found: dict[str, list[Term]] = {}
    for one in counted:
        repairs = [key for key in one.finding.actions if key in wanted and actions[key].kind == "repair"]
        if repairs:
            found.setdefault(repairs[-1], []).extend(one.terms)
    return found


def _line(
    action: Action,
    findings: Sequence[Finding],
    saved: Sequence[Term],
    by_finding: Mapping[str, Sequence[Estimate]],
    cause_of: Mapping[str, str],
    money: MoneyFacts,
) -> Line:
    amount = amounts(action, findings, by_finding, cause_of)
    cost, saves = line_cost(action, amount, money), yearly(tuple(saved), money)
    return Line(
        action, tuple(findings), amount, cost, saves, worth(action, cost, () if saves.unpriced else saves.money, money)
    )


def _affordable(lines: Sequence[Line], after: Mapping[str, Sequence[str]], money: MoneyFacts) -> frozenset[str] | None:
    """The best set for the budget; None when no budget is given."""
    if money.costs.budget is None:
        return None
    return best_set(
        [
            Choice(
                one.action.key,
                None if one.worth.cost is None else one.worth.cost.best,
                one.value,
                one.action.safety,
                most_urgent(one.findings) in URGENT,
                tuple(after[one.action.key]),
            )
            for one in lines
        ],
        money.costs.budget.value,
    )


def steps(numbers: Sequence[int]) -> str:
    """ "step 3", "steps 3 and 4", "steps 3, 4 and 7"; in rising order, each once."""
    *first, last = [str(number) for number in sorted(set(numbers))]
    return f"steps {', '.join(first)} and {last}" if first else f"step {last}"


def _item(
    number: int,
    line: Line,
    after: Sequence[str],
    order: Sequence[str],
    money: MoneyFacts,
    chosen: frozenset[str] | None,
) -> PlanItem:
    action, urgency = line.action, most_urgent(line.findings)
    before = sorted(order.index(key) + 1 for key in after)
    reason = "safety comes first" if action.safety else f"urgency of its findings: {urgency}"
    if before:
        reason += f"; after {steps(before)}"
    of_findings = () if action.cautions_complete else line.findings
    cautions = dict.fromkeys((*action.cautions, *(key for finding in of_findings for key in finding.cautions)))
    return PlanItem(
        number,
        action.key,
        action.title,
        action.kind,
        action.who,
        action.does,
        tuple(finding.id for finding in line.findings),
        urgency,
        _quantities(line, money),
        tuple(cautions),
        reason,
        line.cost.origin,
        tuple(after),
        None if chosen is None else action.key in chosen,
        action.safety,
        line.worth.slight,
    )


def _quantities(line: Line, money: MoneyFacts) -> dict[str, Quantity]:
    found: dict[str, Quantity | None] = {}
    if line.action.priced_by and line.amount:
        first = line.amount[0]
        found[first.buys] = total(line.amount).quantity(first.unit, "sum, each cause once")
    return {name: one for name, one in found.items() if one is not None} | {
        **line.saves.quantities("yearly_saving", money.currency),
        **line.worth.quantities,
    }
