"""The first page in words and numbers, so that whoever prints it computes nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from heatbrief.estimate.sentences import Sentence, saids, sentence, texts
from heatbrief.model.action import PlanItem
from heatbrief.model.finding import VERDICTS, Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import Brief, BriefLine, NotAnalysed

FIRST_LINES = 5
MOST_LINES = 12
SHOWN = ("cost", "yearly_saving", "payback")


def brief_of(
    findings: Sequence[Finding],
    plan: Sequence[PlanItem],
    total: Mapping[str, Quantity],
    drivers: Mapping[str, Quantity],
    not_analysed: Sequence[NotAnalysed],
    flags: Sequence[Sentence],
) -> Brief:
    """What is dangerous, what to do first and who does it, cost and gain, how sure that is, what to photograph next
    time."""
    example = any(one.price_origin == "example price book" for one in plan)
    sure = _how_sure(findings, total, drivers, not_analysed, example)
    return Brief(
        _dangers(findings, plan),
        tuple(_first(one) for one in plan[:FIRST_LINES]),
        dict(total),
        texts(sure),
        _next_time(findings),
        texts(flags),
        example,
        saids(sure),
        saids(flags),
    )


def _dangers(findings: Sequence[Finding], plan: Sequence[PlanItem]) -> tuple[BriefLine, ...]:
    """Findings that are urgent now or that an action for safety belongs to, with who may look at them."""
    safety: dict[str, PlanItem] = {}
    for item in plan:
        if item.safety:
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
    shown = ("cost",) if item.slight_saving else SHOWN
    return BriefLine(
        item.title, item.who, item.action, {name: item.quantities[name] for name in shown if name in item.quantities}
    )


def _how_sure(
    findings: Sequence[Finding],
    total: Mapping[str, Quantity],
    drivers: Mapping[str, Quantity],
    not_analysed: Sequence[NotAnalysed],
    example: bool,
) -> tuple[Sentence, ...]:
    verdicts = Counter(one.verdict for one in findings)
    said = [sentence("verdicts", **{one: str(verdicts[one]) for one in VERDICTS})]
    said += [
        sentence(code, amount=total[name])
        for code, name in (("cost", "cost"), ("saving", "yearly_saving"))
        if name in total
    ]
    widest = sorted(drivers, key=lambda name: (drivers[name].low - drivers[name].high, name))[:2]
    if widest:
        said.append(
            sentence("doubts", first=widest[0], second=widest[1])
            if len(widest) > 1
            else sentence("doubt", first=widest[0])
        )
    elif "yearly_saving" not in total:
        said.append(sentence("no-saving"))
    failed = sum(one.failed for one in not_analysed)
    if failed:
        said.append(sentence("failed", count=str(failed)))
    if example:
        said.append(sentence("example-prices"))
    return tuple(said)


def _next_time(findings: Sequence[Finding]) -> tuple[str, ...]:
    """What to photograph or note next time: asked for by most findings first."""
    asked = Counter(text for one in findings for text in one.next_time)
    first = {text: number for number, text in enumerate(asked)}
    return tuple(sorted(asked, key=lambda text: (-asked[text], first[text])))[:MOST_LINES]
