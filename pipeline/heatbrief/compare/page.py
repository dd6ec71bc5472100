"""The comparison as one page that needs no other file: the theme's own frame and style, pictures within it."""

from __future__ import annotations

import base64
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from heatbrief.compare.rule import label
from heatbrief.compare.surveys import Survey
from heatbrief.model.comparison import ComparedFinding, Comparison, PicturePair
from heatbrief.model.quantity import Quantity
from heatbrief.pages import single_page
from heatbrief.site.format import percent_text, show
from heatbrief.site.pictures import colour_range, draw
from heatbrief.site.words import sentence_case
from heatbrief.store.files import write_atomic

STATES: Mapping[str, str] = {
    "worse": "now",
    "unchanged": "soon",
    "not comparable": "none",
    "better": "watch",
    "repaired": "watch",
    "in order": "none",
}
"""Outcome -> the theme's colour of a state; the word always stands beside it."""
BAR = 64


def write_page(comparison: Comparison, before: Survey, after: Survey, folder: Path) -> Path:
    """Write `folder/index.html`; returns its path. Raises UserError when the folder refuses."""
    page = folder / "index.html"
    write_atomic(page, page_text(comparison, before, after).encode("utf-8"))
    return page


def page_text(comparison: Comparison, before: Survey, after: Survey) -> str:
    """The page. Every text of the surveys is escaped by the template."""
    title = f"Before and after: {comparison.after.name}"
    foot = f"Made by heatbrief {comparison.heatbrief} from two results documents of {comparison.before.manifest} and {comparison.after.manifest}."
    data = {
        "lead": _lead(comparison),
        "sides": _sides(comparison),
        "counts": _counts(comparison),
        "rows": [_row(one, comparison.units) for one in comparison.findings],
        "pictures": list(_pictures(comparison, before, after)),
        "totals": _totals(comparison),
        "new": [vars(one) for one in comparison.new],
        "rule": [vars(one) for one in comparison.rule],
    }
    return single_page("comparison.html", title, comparison.after.name, foot, data, comparison.invented)


def _lead(comparison: Comparison) -> str:
    found = [one for one in comparison.findings if one.row != "in order"]
    done = sum(one.outcome == "repaired" for one in found)
    dates = " and ".join(one.date or "an unstated day" for one in (comparison.before, comparison.after))
    return (
        f"{done} of {len(found)} findings of the earlier survey are repaired by the stated rule. Surveys of {dates}; "
        "each measure is made independent of the weather or load of its day before it is compared."
    )


def _sides(comparison: Comparison) -> list[dict[str, str]]:
    names = sorted({*comparison.before.conditions, *comparison.after.conditions})
    return [
        {
            "name": sentence_case(name),
            "before": _stated(comparison.before.conditions.get(name), comparison.units),
            "after": _stated(comparison.after.conditions.get(name), comparison.units),
        }
        for name in names
    ]


def _stated(value: Quantity | str | None, units: str) -> str:
    return "not given" if value is None else show(value, units).value if isinstance(value, Quantity) else value


def _counts(comparison: Comparison) -> list[dict[str, str]]:
    found = Counter(label(one.outcome, one.row) for one in comparison.findings)
    return [{"state": STATES[name], "text": f"{found[name]} {name}"} for name in STATES if found[name]]


def _row(one: ComparedFinding, units: str) -> dict[str, Any]:
    return {
        "title": one.title,
        "room": one.room,
        "region": one.region,
        "outcome": label(one.outcome, one.row),
        "state": STATES[label(one.outcome, one.row)],
        "sure": "" if one.outcome == "not comparable" else f"{percent_text(one.probability)}\u00a0%",
        "reason": one.reason,
        "measure": one.measure,
        "before": _shown(one.before, units),
        "after": _shown(one.after, units),
        "left": left_text(one.left),
        "evidence": list(one.evidence),
        "needed": list(one.needed),
        "check": one.check,
        "verdicts": f"{one.verdict_before} before, {one.verdict_after or 'no finding'} after",
        "amounts": [
            {
                "name": sentence_case(name.removeprefix("yearly_")),
                "promised": _shown(value, units),
                "realised": _shown(one.realised.get(name), units),
                "remaining": _shown(one.remaining.get(name), units),
            }
            for name, value in one.promised.items()
        ],
    }


def left_text(left: Quantity | None) -> str:
    """ "18 % of what it was (9 to 27 % fits the readings)"."""
    if left is None:
        return ""
    value, low, high = (round(100 * max(one, 0.0)) for one in (left.value, left.low, left.high))
    return f"{value} % of what it was ({low} to {high} % fits the readings)"


def _shown(value: Quantity | None, units: str) -> str:
    return "" if value is None else show(value, units).value


def _totals(comparison: Comparison) -> list[dict[str, str]]:
    return [
        {
            "name": sentence_case(name.removeprefix("yearly_")),
            "promised": _shown(value, comparison.units),
            "realised": _shown(comparison.realised.get(name), comparison.units),
        }
        for name, value in comparison.promised.items()
    ]


def _pictures(comparison: Comparison, before: Survey, after: Survey) -> Iterable[dict[str, Any]]:
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
            for when, one, name in (("before", values[0], "polygon"), ("after", values[1], "polygon_after"))
        ]
        yield {
            "title": old[pair.before].title or pair.before,
            "how": _how(pair),
            "sides": sides,
            "bar": _bar(span),
            "low": show(Quantity.exact(round(span[0], 1), "degC"), comparison.units).value,
            "high": show(Quantity.exact(round(span[1], 1), "degC"), comparison.units).value,
            "findings": [f"{row.title}: {row.outcome}" for row in rows],
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
