"""What is drawn as a chart: the rows of each, its words, and a file name that follows from both."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from heatbrief.model.estimate import Estimate
from heatbrief.model.finding import URGENCIES
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import ThermogramRecord
from heatbrief.site.context import Data, Site
from heatbrief.site.format import contribution, conversion, is_money, to_display, typeset_unit
from heatbrief.site.page import clean
from heatbrief.site.said import input_label

LOOK = 3
"""Raised when the same rows are drawn differently."""
MOST_ROWS = 12
MOST_STEPS = 24
VISIBLE = 0.02
"""Share of the longest bar below which a bar cannot be told from nothing."""
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

    kind  "bars" from zero, "points" with bounds, "lanes" from the left edge to one of the named columns, "spans" from
          low to high across one value that all rows share
    axis  words below the axis; columns: names of the lanes' columns;
    from_zero: the axis holds zero
    """

    kind: Literal["bars", "points", "lanes", "spans"]
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
    found += [driver_chart(site, one) for one in site.estimates_of("")]
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
        text = effect_text(site, record, line.effect)
        rows.append(_row(site, site.label(line.name), text, abs(line.effect) * factor))
    axis = site.words.say("charts.budget_axis", unit=typeset_unit(unit))
    alt = site.words.say("charts.budget_alt", rows=spoken(rows))
    return Chart("bars", tuple(rows), axis, alt, from_zero=True)


def effect_text(site: Site, record: ThermogramRecord, effect: float) -> str:
    """A line of the budget with the digits that the whole of it leaves."""
    combined = math.sqrt(sum(one.effect**2 for one in record.budget))
    text, small = contribution(abs(effect), combined, site.units)
    return site.words.say("thermograms.less_than", value=site.numerals(text)) if small else site.numerals(text)


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
        rows = tuple(quantity_row(site, name, quantity) for name, quantity in alike[:MOST_ROWS])
        _, _, _, code = to_display(alike[0][1], site.units)
        axis = site.words.say("charts.group_axis", unit=typeset_unit(code))
        yield Chart("points", rows, axis, site.words.say("charts.group_alt", shows=clean(shows), rows=spoken(rows)))


def is_drivers(estimate: Estimate) -> bool:
    """Whether an estimate tells what a total becomes when one input alone moves."""
    return estimate.kind in ("drivers", "cost-drivers")


def driver_rows(estimate: Estimate) -> list[tuple[str, Quantity]]:
    """(input, the total at the bounds of this input alone), the widest first."""
    return sorted(estimate.quantities.items(), key=lambda row: (row[1].low - row[1].high, row[0]))


def driver_chart(site: Site, estimate: Estimate) -> Chart | None:
    """A tornado: inputs from top to bottom by how far each alone moves the total; None for any other estimate."""
    given = driver_rows(estimate)[:MOST_ROWS] if is_drivers(estimate) else []
    if len(given) < 2:
        return None
    rows = tuple(quantity_row(site, input_label(site, name), quantity, "between") for name, quantity in given)
    axis = site.words.say("charts.cost_axis", unit=site.numerals(typeset_unit(given[0][1].unit)))
    return Chart("spans", rows, axis, site.words.say("charts.drivers_alt", rows=spoken(rows)))


def cost_chart(site: Site) -> Chart | None:
    """Yearly cost of the findings that have one, dearest first, with bounds; what would be a dot at zero is left to the
    table."""
    rows = cost_rows(site)
    most = max((quantity.high for _, _, quantity in rows), default=0.0)
    return _money_chart(site, [row for row in rows if row[2].high >= VISIBLE * most], "charts.cost_alt")


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
    return _one_unit([(key, site.titles[key], quantity) for key, quantity in ordered])


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
    rows = tuple(quantity_row(site, title, quantity) for _, title, quantity in costs)
    unit = site.numerals(typeset_unit(costs[0][2].unit))
    axis = site.words.say("charts.cost_axis", unit=unit)
    return Chart("points", rows, axis, site.words.say(alt, rows=spoken(rows)), from_zero=True)


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


def quantity_row(site: Site, label: str, quantity: Quantity, text: str = "value") -> Row:
    """A quantity with its bounds, in the reader's units."""
    value, low, high, _ = to_display(quantity, site.units)
    shown = site.quantity(quantity)
    return _row(site, label, shown[text] or shown["value"], float(value), float(low), float(high))


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


def spoken(rows: Iterable[Row]) -> str:
    """The rows in words, for those who do not see them."""
    return "; ".join(f"{row.label}: {row.text}" for row in rows)
