"""From findings to the ordered plan of work: safety first, then urgency, then value, each after what it depends on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from heatbrief.model.action import Action, PlanItem
from heatbrief.model.estimate import Estimate
from heatbrief.model.finding import URGENCIES, Finding
from heatbrief.model.quantity import Quantity, total

PLANNED = {"defect": ("repair", "check"), "suspect": ("repair", "check"), "inconclusive": ("check",), "normal": ()}
"""Kinds of action that findings of a verdict put on the plan."""

SUMMED = ("yearly_cost", "yearly_energy", "yearly_water", "area", "length")
"""Quantities that a line of the plan adds up over its findings."""


def plan_of_work(findings: Sequence[Finding], estimates: Sequence[Estimate], actions: Mapping[str, Action]) -> tuple[PlanItem, ...]:
    """One line for each action that the findings ask for, in the order of work.

    A cause that several findings share (`Finding.shares`) is counted once, with its largest quantity.
    """
    wanted: dict[str, list[Finding]] = {}
    for finding in findings:
        for key in finding.actions:
            if key in actions and actions[key].kind in PLANNED[finding.verdict]:
                wanted.setdefault(key, []).append(finding)
    sums = {key: _sums(asked, estimates) for key, asked in wanted.items()}
    order = _ordered(wanted, sums, actions)
    return tuple(_item(number, actions[key], wanted[key], sums[key], order) for number, key in enumerate(order, 1))


def most_urgent(findings: Iterable[Finding]) -> str:
    """The most urgent of several findings."""
    return min((finding.urgency for finding in findings), key=URGENCIES.index, default="none")


def _ordered(wanted: Mapping[str, list[Finding]], sums: Mapping[str, Mapping[str, Quantity]], actions: Mapping[str, Action]) -> list[str]:
    """Best first by rank, but never before an action it depends on."""
    def rank(key: str) -> tuple[int, int, float, str]:
        cost = sums[key].get("yearly_cost")
        return (0 if actions[key].safety else 1, URGENCIES.index(most_urgent(wanted[key])), -cost.value if cost else 0.0, key)  # type: ignore[arg-type]

    left, order = sorted(wanted, key=rank), []
    while left:
        ready = [key for key in left if not any(before in left and before != key for before in actions[key].after)]
        order.append((ready or left)[0])  # a ring of dependencies is broken at the best-ranked action
        left.remove(order[-1])
    return order


def _sums(findings: Sequence[Finding], estimates: Sequence[Estimate]) -> dict[str, Quantity]:
    by_finding: dict[str, list[Mapping[str, Quantity]]] = {}
    for estimate in estimates:
        by_finding.setdefault(estimate.finding, []).append(estimate.quantities)
    found: dict[str, Quantity] = {}
    for name in SUMMED:
        largest: dict[str, Quantity] = {}
        for finding in findings:
            for quantities in (finding.measured, *by_finding.get(finding.id, ())):
                if name in quantities:
                    cause = finding.shares or finding.id
                    largest[cause] = max(quantities[name], largest.get(cause, quantities[name]), key=lambda one: one.value)
        units = {quantity.unit for quantity in largest.values()}
        added = total(largest.values()) if len(units) == 1 else None
        if added is not None:
            found[name] = added
    return found


def lines(numbers: Sequence[int]) -> str:
    """ "line 3", "lines 3 and 4", "lines 3, 4 and 7"; in rising order, each once."""
    *first, last = [str(number) for number in sorted(set(numbers))]
    return f"lines {', '.join(first)} and {last}" if first else f"line {last}"


def _item(number: int, action: Action, findings: Sequence[Finding], sums: Mapping[str, Quantity], order: Sequence[str]) -> PlanItem:
    urgency = most_urgent(findings)
    before = sorted(order.index(key) + 1 for key in action.after if key in order)
    reason = "safety comes first" if action.safety else f"urgency of its findings: {urgency}"
    if before:
        reason += f"; after {lines(before)}"
    cautions = dict.fromkeys((*action.cautions, *(key for finding in findings for key in finding.cautions)))
    return PlanItem(number, action.key, action.title, action.kind, action.who, action.does, tuple(finding.id for finding in findings),
                    urgency, dict(sums), tuple(cautions), reason)
