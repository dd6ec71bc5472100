"""What is drawn as a chart: the rows of each, its words, and a file name that follows from both."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from heatbrief.model.finding import URGENCIES
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import ThermogramRecord
from heatbrief.site.context import Data, Site
from heatbrief.site.format import conversion, is_money, to_display, two_digits, typeset_unit
from heatbrief.site.page import clean

LOOK = 2
"""Raised when the same rows are drawn differently."""
MOST_ROWS = 12
MOST_STEPS = 24
LONGEST = 52
"""Characters of a label; the table beside the chart has the whole of it."""


@dataclass(frozen=True)
class Row:
    """One bar or point: label above it, text at its end, where it stands and its bounds, and a tone of the palette."""

    label: str
    text: str
    value: float
    low: float
    high: float
    tone: str = "accent"


@dataclass(frozen=True)
class Chart:
    """A chart in plain values.

    kind  "bars" from zero, "points" with bounds, "lanes" from the left edge to one of the named columns
    axis  words below the axis; columns: names of the lanes' columns;
    from_zero: the axis holds zero
    """

    kind: Literal["bars", "points", "lanes"]
    rows: tuple[Row, ...]
    axis: str
    alt: str
    columns: tuple[str, ...] = ()
    from_zero: bool = False

    @property
    def path(self) -> str:
        """Where it lies in the site; equal charts share one file."""
        drawn = repr((LOOK, self.kind, self.rows, self.axis, self.columns, self.from_zero))
        return f"charts/{hashlib.sha256(drawn.encode('utf-8', 'backslashreplace')).hexdigest()[:16]}.svg"


def all_charts(site: Site, records: Iterable[ThermogramRecord] | None = None) -> dict[str, Chart]:
    """Every chart of a site once, by path; with `records` of pictures only theirs and those of the whole survey."""
    found: list[Chart | None] = [cost_chart(site), work_chart(site), plan_chart(site)]
    for record in site.results.thermograms if records is None else records:
        found += [budget_chart(site, record), *group_charts(site, record)]
    return {one.path: one for one in found if one is not None}


def chart_data(chart: Chart | None) -> Data | None:
    """A chart as page data."""
    return {"src": chart.path, "alt": chart.alt} if chart else None


def budget_chart(site: Site, record: ThermogramRecord) -> Chart | None:
    """The standard contributions to a picture's mean, largest first; None without a scale or with a single line."""
    lines = sorted(record.budget, key=lambda one: (-abs(one.effect), one.name))[:MOST_ROWS]
    if record.status == "unscaled" or len(lines) < 2:
        return None
    factor, _, unit = conversion("K", site.units)
    rows = []
    for line in lines:
        text = site.numerals(two_digits(abs(line.effect), "K", site.units))
        rows.append(_row(site, site.words.label(line.name), text, abs(line.effect) * factor))
    axis = site.words.say("charts.budget_axis", unit=typeset_unit(unit))
    alt = site.words.say("charts.budget_alt", rows=_spoken(rows))
    return Chart("bars", tuple(rows), axis, alt, from_zero=True)


def group_charts(site: Site, record: ThermogramRecord) -> Iterator[Chart]:
    """Regions of one picture that show the same, side by side with their bounds."""
    if record.status == "unscaled":
        return
    kinds = dict.fromkeys(one.shows for one in record.regions if one.shows)
    for shows in kinds:
        alike = [
            (one.name, one.statistics["median"])
            for one in record.regions
            if one.shows == shows and "median" in one.statistics
        ]
        if len(alike) < 2:
            continue
        rows = tuple(_quantity_row(site, name, quantity) for name, quantity in alike[:MOST_ROWS])
        _, _, _, code = to_display(alike[0][1], site.units)
        axis = site.words.say("charts.group_axis", unit=typeset_unit(code))
        yield Chart("points", rows, axis, site.words.say("charts.group_alt", shows=clean(shows), rows=_spoken(rows)))


def cost_chart(site: Site) -> Chart | None:
    """Yearly cost of the findings that have one, dearest first, with bounds."""
    return _money_chart(site, cost_rows(site), "charts.cost_alt")


def work_chart(site: Site) -> Chart | None:
    """What the steps of the plan cost, in their order, with bounds."""
    return _money_chart(site, work_rows(site), "charts.work_alt")


def cost_rows(site: Site) -> list[tuple[str, str, Quantity]]:
    """(finding id, title, yearly cost) of one currency, dearest first; the largest estimate of each finding."""
    best: dict[str, Quantity] = {}
    for one in site.results.estimates:
        quantity = one.quantities.get("yearly_cost")
        if one.finding in site.finding_by_id and quantity is not None and is_money(quantity.unit):
            kept = best.get(one.finding)
            best[one.finding] = quantity if kept is None or quantity.value > kept.value else kept
    ordered = sorted(best.items(), key=lambda item: (-item[1].value, item[0]))
    return _one_unit([(key, site.prose(site.finding_by_id[key].title), quantity) for key, quantity in ordered])


def work_rows(site: Site) -> list[tuple[str, str, Quantity]]:
    """(order, title, cost) of the steps that have a price, in their order."""
    items = sorted(site.results.plan, key=lambda one: one.order)
    priced = [(one, one.quantities["cost"]) for one in items if "cost" in one.quantities]
    return _one_unit(
        [(str(one.order), f"{one.order}. {site.prose(one.title)}", cost) for one, cost in priced if is_money(cost.unit)]
    )


def _one_unit(rows: list[tuple[str, str, Quantity]]) -> list[tuple[str, str, Quantity]]:
    """Rows in the unit of the first: amounts of two currencies share no axis."""
    return [row for row in rows if row[2].unit == rows[0][2].unit]


def _money_chart(site: Site, costs: list[tuple[str, str, Quantity]], alt: str) -> Chart | None:
    costs = costs[:MOST_STEPS]
    if len(costs) < 2:
        return None
    rows = tuple(_quantity_row(site, title, quantity) for _, title, quantity in costs)
    unit = site.numerals(typeset_unit(costs[0][2].unit))
    axis = site.words.say("charts.cost_axis", unit=unit)
    return Chart("points", rows, axis, site.words.say(alt, rows=_spoken(rows)), from_zero=True)


def plan_chart(site: Site) -> Chart | None:
    """The steps of the plan in order, each reaching to the time by which it is due."""
    items = sorted(site.results.plan, key=lambda one: one.order)[:MOST_STEPS]
    columns = [one for one in URGENCIES if one != "none"]
    if len(items) < 2:
        return None
    rows = []
    for item in items:
        reach = columns.index(item.urgency) + 1.0 if item.urgency in columns else float(len(columns))
        tone = item.urgency if item.urgency in columns else "none"
        rows.append(_row(site, f"{item.order}. {site.prose(item.title)}", site.trade(item.who), reach, tone=tone))
    names = tuple(site.words.say(f"charts.due.{one}") for one in columns)
    spoken = "; ".join(f"{row.label}: {names[int(row.value) - 1]}, {row.text}" for row in rows)
    return Chart("lanes", tuple(rows), "", site.words.say("charts.plan_alt", rows=spoken), names)


def _quantity_row(site: Site, label: str, quantity: Quantity) -> Row:
    value, low, high, _ = to_display(quantity, site.units)
    return _row(site, label, site.quantity(quantity)["value"], float(value), float(low), float(high))


def _row(
    site: Site,
    label: str,
    text: str,
    value: float,
    low: float | None = None,
    high: float | None = None,
    tone: str = "accent",
) -> Row:
    name = " ".join(clean(label).split())
    name = name if len(name) <= LONGEST else name[: LONGEST - 1].rstrip() + "…"
    ends = (value if low is None else low, value if high is None else high)
    best, least, most = (float(f"{one:.6g}") for one in (value, *ends))
    return Row(name, clean(text), best, least, most, tone)


def _spoken(rows: Iterable[Row]) -> str:
    return "; ".join(f"{row.label}: {row.text}" for row in rows)
