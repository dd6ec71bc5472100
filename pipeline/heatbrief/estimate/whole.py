"""Findings and estimates as one brief: plan of work, totals, comparison with the bill, first page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from heatbrief.estimate.brief import brief_of
from heatbrief.estimate.consequences import consequences
from heatbrief.estimate.plan_of_work import plan_from
from heatbrief.estimate.totals import bill_check, budget_of, drivers_of, total_of
from heatbrief.model.action import Action, PlanItem
from heatbrief.model.costs import MoneyFacts
from heatbrief.model.estimate import Estimate
from heatbrief.model.finding import Finding
from heatbrief.model.results import Brief, NotAnalysed


@dataclass(frozen=True)
class Whole:
    """Estimates with those of the whole plan at their end, the plan, the first page, and claims that do not fit."""

    estimates: tuple[Estimate, ...]
    plan: tuple[PlanItem, ...]
    brief: Brief
    flagged: tuple[NotAnalysed, ...] = ()


def whole_brief(
    findings: Sequence[Finding],
    estimates: Sequence[Estimate],
    actions: Mapping[str, Action],
    money: MoneyFacts,
    not_analysed: Sequence[NotAnalysed] = (),
    manifest: str = "",
) -> Whole:
    """Everything that needs findings, estimates, actions and prices together. Equal input gives equal output."""
    found = consequences(findings, estimates, money)
    work = plan_from(found, findings, actions, money)
    total, bars, budget = total_of(work, money), drivers_of(work, money), budget_of(work, money)
    checked, flags = bill_check(found, money.bill)
    flagged = tuple(
        NotAnalysed(
            manifest, "claim-beyond-bill", flag.text, "Check areas, degree days, efficiencies and the bill itself."
        )
        for flag in flags
    )
    added = tuple(one for one in (total, *bars, budget, checked) if one is not None)
    brief = brief_of(
        findings,
        work.items,
        total.quantities if total else {},
        next((one.quantities for one in bars if one.kind == "drivers"), {}),
        not_analysed,
        flags,
    )
    return Whole((*found.estimates, *added), work.items, brief, flagged)
