"""The comparison as one page that needs no other file: the theme's own frame and style, pictures within it."""

from __future__ import annotations

import base64
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from heatbrief.compare.surveys import Survey
from heatbrief.model.comparison import ComparedFinding, Comparison, PicturePair, RuleRow
from heatbrief.model.quantity import Quantity
from heatbrief.pages import single_page
from heatbrief.site.changes import STATES, left_text
from heatbrief.site.format import percent_text, show
from heatbrief.site.pictures import colour_range, draw
from heatbrief.site.words import Words
from heatbrief.store.files import write_atomic

BAR = 64


def write_page(comparison: Comparison, before: Survey, after: Survey, folder: Path) -> Path:
    """Write `folder/index.html`; returns its path. Raises UserError when the folder refuses."""
    page = folder / "index.html"
    write_atomic(page, page_text(comparison, before, after).encode("utf-8"))
    return page


def page_text(comparison: Comparison, before: Survey, after: Survey) -> str:
    """The page in the language of the later survey. Every text of the surveys is escaped by the template."""
    words = Words(comparison.language)
    title = words.say("compare.title", property=comparison.after.name)
    foot = words.say(
        "compare.foot",
        version=comparison.heatbrief,
        before=comparison.before.manifest,
        after=comparison.after.manifest,
    )
    data = {
        "lead": _lead(comparison, words),
        "sides": _sides(comparison, words),
        "counts": _counts(comparison, words),
        "rows": [_row(one, comparison.units, words) for one in comparison.findings],
        "pictures": list(_pictures(comparison, before, after, words)),
        "totals": _totals(comparison, words),
        "new": [{**vars(one), "verdict": words.get("verdict")[one.verdict]["word"]} for one in comparison.new],
        "rule": [_rule(one, words) for one in comparison.rule],
    }
    invented, language = comparison.invented, comparison.language
    return single_page("comparison.html", title, comparison.after.name, foot, data, invented, language)


def _rule(one: RuleRow, words: Words) -> dict[str, str]:
    """A row of the rule in the language of the page; as stored where the page knows no such row."""
    said = words.get("compare.rule").get(one.key, vars(one))
    return {"when": said["when"], "then": words.get("changes.outcome").get(one.then, one.then), "why": said["why"]}


def _lead(comparison: Comparison, words: Words) -> str:
    found = [one for one in comparison.findings if one.row != "in order"]
    done = sum(one.outcome == "repaired" for one in found)
    first, second = (one.date or words.say("changes.unstated") for one in (comparison.before, comparison.after))
    return words.say("compare.lead", done=done, all=len(found), first=first, second=second)


def _sides(comparison: Comparison, words: Words) -> list[dict[str, str]]:
    names = sorted({*comparison.before.conditions, *comparison.after.conditions})
    return [
        {
            "name": words.label(name),
            "before": _stated(comparison.before.conditions.get(name), comparison.units, words),
            "after": _stated(comparison.after.conditions.get(name), comparison.units, words),
        }
        for name in names
    ]


def _stated(value: Quantity | str | None, units: str, words: Words) -> str:
    if value is None:
        return words.say("compare.not_given")
    return _shown(value, units, words) if isinstance(value, Quantity) else value


def _counts(comparison: Comparison, words: Words) -> list[dict[str, str]]:
    found = Counter(one.label for one in comparison.findings)
    outcome = words.get("changes.outcome")
    return [
        {"state": STATES[name], "text": words.say("compare.count", n=found[name], outcome=outcome[name])}
        for name in STATES
        if found[name]
    ]


def _row(one: ComparedFinding, units: str, words: Words) -> dict[str, Any]:
    sure = words.numerals(percent_text(one.probability))
    return {
        "title": one.title,
        "room": one.room,
        "region": one.region,
        "outcome": words.get("changes.outcome")[one.label],
        "state": STATES[one.label],
        "sure": "" if one.outcome == "not comparable" else words.say("compare.probability", percent=sure),
        "reason": one.reason,
        "measure": one.measure,
        "before": _shown(one.before, units, words),
        "after": _shown(one.after, units, words),
        "left": left_text(one.left, words),
        "evidence": list(one.evidence),
        "needed": list(one.needed),
        "check": one.check,
        "verdicts": words.say(
            "compare.verdicts", before=_verdict(one.verdict_before, words), after=_verdict(one.verdict_after, words)
        ),
        "amounts": [
            {
                "name": words.label(name),
                "promised": _shown(value, units, words),
                "realised": _shown(one.realised.get(name), units, words),
                "remaining": _shown(one.remaining.get(name), units, words),
            }
            for name, value in one.promised.items()
        ],
    }


def _verdict(verdict: str, words: Words) -> str:
    found = words.get("verdict").get(verdict)
    return str(found["word"]) if found else words.say("compare.no_finding")


def _shown(value: Quantity | None, units: str, words: Words) -> str:
    return "" if value is None else words.numerals(show(value, units).value)


def _totals(comparison: Comparison, words: Words) -> list[dict[str, str]]:
    return [
        {
            "name": words.label(name),
            "promised": _shown(value, comparison.units, words),
            "realised": _shown(comparison.realised.get(name), comparison.units, words),
        }
        for name, value in comparison.promised.items()
    ]


def _pictures(comparison: Comparison, before: Survey, after: Survey, words: Words) -> Iterable[dict[str, Any]]:
    """Each pair that shows a finding, both in the colours of one scale."""
    old = {one.id: one for one in before.results.thermograms}
    new = {one.id: one for one in after.results.thermograms}
    for pair in comparison.pictures:
        rows = [one for one in comparison.findings if one.picture_before == pair.before and one.row != "in order"]
        if not rows or not pair.after:
            continue
        first, second = before.pixels.values(old[pair.before]), after.pixels.values(new[pair.after])
        if first is None or second is None:
            continue
        values = first, second
        spans = [
            colour_range(one, [getattr(row, name) for row in rows if getattr(row, name)])
            for one, name in zip(values, ("polygon", "polygon_after"), strict=True)
        ]
        span = min(low for low, _ in spans), max(high for _, high in spans)
        sides = [
            _side(when, one, span, [getattr(row, name) for row in rows])
            for when, one, name in (
                (words.say("compare.before"), values[0], "polygon"),
                (words.say("compare.after"), values[1], "polygon_after"),
            )
        ]
        yield {
            "title": old[pair.before].title or pair.before,
            "how": _how(pair),
            "sides": sides,
            "bar": _bar(span),
            "low": _shown(Quantity.exact(round(span[0], 1), "degC"), comparison.units, words),
            "high": _shown(Quantity.exact(round(span[1], 1), "degC"), comparison.units, words),
            "findings": [{"title": row.title, "outcome": words.get("changes.outcome")[row.label]} for row in rows],
        }


def _how(pair: PicturePair) -> str:
    if pair.moved is None or pair.how != "by detail":
        return pair.how
    return f"laid over each other by their fine detail: the later picture moved by {pair.moved[0]:.1f} pixels to the right, {pair.moved[1]:.1f} down"


def _side(when: str, values: np.ndarray, span: tuple[float, float], polygons: Iterable[Any]) -> dict[str, Any]:
    drawn = draw(values, span, "degC", "")
    lines = [" ".join(f"{x + 0.5:.1f},{y + 0.5:.1f}" for x, y in polygon) for polygon in polygons if polygon]
    return {
        "when": when,
        "data": base64.b64encode(drawn.data).decode("ascii"),
        "width": drawn.width,
        "height": drawn.height,
        "outlines": lines,
    }


def _bar(span: tuple[float, float]) -> str:
    return base64.b64encode(draw(np.linspace(span[1], span[0], BAR)[:, None], span, "degC", "").data).decode("ascii")
