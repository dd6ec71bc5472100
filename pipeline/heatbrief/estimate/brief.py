"""The first page in words and numbers, so that whoever prints it computes nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from heatbrief.model.action import PlanItem
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import Brief, BriefLine, NotAnalysed

FIRST_LINES = 5
MOST_LINES = 12
SHOWN = ("cost", "yearly_saving", "payback")
EXAMPLE = (
    "Costs come from the example price book that ships with heatbrief; they are not offers. Ask for offers, or "
    "state your own prices."
)


def brief_of(
    findings: Sequence[Finding],
    plan: Sequence[PlanItem],
    total: Mapping[str, Quantity],
    drivers: Mapping[str, Quantity],
    not_analysed: Sequence[NotAnalysed],
    flags: Sequence[str],
) -> Brief:
    """What is dangerous, what to do first and who does it, cost and gain, how sure that is, what to photograph next
    time."""
    example = any(one.price_origin == "example price book" for one in plan)
    return Brief(
        _dangers(findings, plan),
        tuple(_first(one) for one in plan[:FIRST_LINES]),
        dict(total),
        _how_sure(findings, total, drivers, not_analysed, example),
        _next_time(findings),
        tuple(flags),
        example,
    )


def _dangers(findings: Sequence[Finding], plan: Sequence[PlanItem]) -> tuple[BriefLine, ...]:
    """Findings that are urgent now or that an action for safety belongs to, with who may look at them."""
    safety: dict[str, PlanItem] = {}
    for item in plan:
        if item.reason.startswith("safety"):
            for key in item.findings:
                safety.setdefault(key, item)
    first = {key: item for item in reversed(plan) for key in item.findings}
    return tuple(
        BriefLine(
            f"{one.title} ({one.room})" if one.room else one.title,
            look.who if (look := safety.get(one.id) or first.get(one.id)) else "",
            one.id,
        )
        for one in findings
        if one.verdict in ("defect", "suspect") and (one.urgency == "now" or one.id in safety)
    )[:MOST_LINES]


def _first(item: PlanItem) -> BriefLine:
    return BriefLine(
        item.title, item.who, item.action, {name: item.quantities[name] for name in SHOWN if name in item.quantities}
    )


def _how_sure(
    findings: Sequence[Finding],
    total: Mapping[str, Quantity],
    drivers: Mapping[str, Quantity],
    not_analysed: Sequence[NotAnalysed],
    example: bool,
) -> tuple[str, ...]:
    verdicts = Counter(one.verdict for one in findings)
    said = [
        f"{verdicts['defect']} findings are defects by the stated rule, {verdicts['suspect']} are suspected, "
        f"{verdicts['inconclusive']} are open, and {verdicts['normal']} places that were checked are in order."
    ]
    for name, word in (("yearly_saving", "saved in a year"), ("cost", "needed for all of it")):
        one = total.get(name)
        if one is not None:
            said.append(
                f"The amount {word} lies between {_round(one.low)} and {_round(one.high)} {one.unit.partition('/')[0]} with "
                "95 % probability, "
                "if the findings are what they seem."
            )
    if drivers:
        widest = sorted(drivers, key=lambda name: (drivers[name].low - drivers[name].high, name))[:2]
        said.append(f"Most of the doubt about the saving comes from: {' and '.join(widest)}.")
    elif not total.get("yearly_saving"):
        said.append("No saving in money is stated; what is missing for it stands with each finding.")
    failed = sum(one.failed for one in not_analysed)
    if failed:
        said.append(f"{failed} inputs or checks failed; what they would have shown is not known.")
    if example:
        said.append(EXAMPLE)
    return tuple(said)


def _round(amount: float) -> str:
    """An amount with no more digits than its bounds deserve: two, and never cents of a bound above ten."""
    return f"{amount:.0f}" if abs(amount) >= 10.0 else f"{amount:.1f}"


def _next_time(findings: Sequence[Finding]) -> tuple[str, ...]:
    """What to photograph or note next time: asked for by most findings first."""
    asked = Counter(text for one in findings for text in one.next_time)
    first = {text: number for number, text in enumerate(asked)}
    return tuple(sorted(asked, key=lambda text: (-asked[text], first[text])))[:MOST_LINES]
