"""Charts: what they hold, the same bytes every time, hostile labels as text, numbers elsewhere as a table."""

from __future__ import annotations

import dataclasses
import xml.etree.ElementTree as ElementTree

import pytest
from heatbrief.model import Estimate, Quantity
from heatbrief.site.chart_drawing import TONES, draw_chart
from heatbrief.site.charts import (
    Chart,
    Row,
    all_charts,
    budget_chart,
    cost_chart,
    cost_rows,
    driver_chart,
    group_charts,
    plan_chart,
    work_chart,
    work_rows,
)
from heatbrief.site.plan_page import estimate_data
from heatbrief_site import resource

TEXT = "{http://www.w3.org/2000/svg}text"


def test_equal_charts_are_equal_bytes_and_share_a_file(built, site_of):
    charts = all_charts(site_of(built))
    drawn = {path: draw_chart(one) for path, one in charts.items()}
    assert charts and drawn == {path: draw_chart(one) for path, one in reversed(charts.items())}
    row = Row("a", "1 K", 1.0, 0.5, 1.5)
    assert Chart("bars", (row,), "x", "one").path == Chart("bars", (row,), "x", "other words").path
    assert Chart("bars", (row,), "x", "").path != Chart("points", (row,), "x", "").path


@pytest.mark.parametrize("kind", ["bars", "points", "lanes", "spans"])
@pytest.mark.parametrize("label", ["$x^{", "<script>alert(1)</script>&", "台所 😀", "-", "\\frac"])
def test_any_label_is_drawn_as_text(kind, label):
    rows = (Row(label, "1 K", 1.0, 0.5, 2.0), Row("other", "2 K", 2.0, 1.0, 2.5))
    columns = ("a", "b", "c") if kind == "lanes" else ()
    data = draw_chart(Chart(kind, rows, "axis", "alt", columns))
    drawn = ElementTree.fromstring(data)
    assert label in ["".join(one.itertext()).strip() for one in drawn.iter(TEXT)]
    assert b"<script" not in data and b"<!DOCTYPE" not in data


def test_bars_are_as_long_as_their_values(built, site_of):
    record = next(one for one in built.results.thermograms if one.id == "panel")
    chart = budget_chart(site_of(built), record)
    assert [row.value for row in chart.rows] == sorted((abs(one.effect) for one in record.budget), reverse=True)
    assert chart.from_zero and "Camera accuracy: 1.2 K" in chart.alt.replace("\u00a0", " ")
    us = budget_chart(site_of(built, "us"), record)
    assert us.rows[0].value == pytest.approx(1.8 * chart.rows[0].value)


def test_no_temperature_chart_for_a_picture_without_scale(built, site_of):
    lawn = next(one for one in built.results.thermograms if one.id == "lawn")
    panel = next(one for one in built.results.thermograms if one.id == "panel")
    marked = dataclasses.replace(lawn, budget=panel.budget, regions=panel.regions)
    assert budget_chart(site_of(built), marked) is None and not list(group_charts(site_of(built), marked))


def test_costs_are_ordered_and_of_one_currency(built, site_of):
    site = site_of(built)
    first, second, third = (one.id for one in built.results.findings[:3])
    estimates = tuple(
        Estimate(str(at), key, "yearly-cost", "Cost", {"yearly_cost": Quantity.normal(value, unit, 1)})
        for at, (key, value, unit) in enumerate(
            [(first, 5, "USD/a"), (second, 9, "USD/a"), (first, 7, "USD/a"), (third, 6, "EUR/a")]
        )
    )
    site = dataclasses.replace(site, results=dataclasses.replace(built.results, estimates=estimates))
    assert [(key, quantity.value) for key, _, quantity in cost_rows(site)] == [(second, 9), (first, 7)]
    chart = cost_chart(site)
    assert [row.value for row in chart.rows] == [9, 7] and chart.rows[0].low == pytest.approx(9 - 1.96, abs=1e-3)


def test_steps_reach_to_their_time(built, site_of):
    chart = plan_chart(site_of(built))
    assert [row.label.split(". ")[0] for row in chart.rows] == [
        str(one.order) for one in sorted(built.results.plan, key=lambda one: one.order)
    ]
    assert chart.rows[0].value == 1.0 and "today" in chart.columns[0]


def drivers(*rows):
    return Estimate("plan-drivers", "", "drivers", "What decides the bounds of the yearly saving", dict(rows))


def test_the_tornado_has_the_widest_input_on_top_across_one_total(built, site_of):
    """Bars lie between the totals at the bounds of each input, one line at the total itself."""
    site = site_of(built)
    one = drivers(
        ("area of Ceiling", Quantity(80.0, "USD/a", 75.0, 86.0)),
        ("price of electricity", Quantity(80.0, "USD/a", 60.0, 100.0)),
        ("cooling efficiency", Quantity(80.0, "USD/a", 78.0, 90.0)),
    )
    chart = driver_chart(site, one)
    assert chart.kind == "spans" and "USD" in chart.axis
    assert [row.label for row in chart.rows] == ["Price of electricity", "Efficiency of the cooling", "Area: Ceiling"]
    assert [(row.low, row.value, row.high) for row in chart.rows] == [(60, 80, 100), (78, 80, 90), (75, 80, 86)]
    said = chart.alt.replace("\u00a0", " ")
    assert "Price of electricity: 60 to 100 USD a year" in said
    assert driver_chart(site, dataclasses.replace(one, kind="total")) is None
    assert driver_chart(site, drivers(("price of electricity", Quantity(8.0, "USD/a", 6.0, 9.0)))) is None
    data = draw_chart(chart)
    texts = ["".join(found.itertext()).strip() for found in ElementTree.fromstring(data).iter(TEXT)]
    assert texts.index("Price of electricity") < texts.index("Area: Ceiling")


def test_the_numbers_of_the_tornado_stand_in_a_table_too(built, site_of):
    site = site_of(built)
    one = drivers(
        ("area of Ceiling", Quantity(80.0, "USD/a", 75.0, 86.0)), ("discount rate", Quantity(80.0, "USD/a", 79.0, 82.0))
    )
    data = estimate_data(site, one)
    assert data["drivers"] and data["chart"]["src"] == driver_chart(site, one).path
    assert [(row["name"], row["between"].replace("\u00a0", " ")) for row in data["rows"]] == [
        ("Area: Ceiling", "75 to 86 USD a year"),
        ("Discount rate", "79 to 82 USD a year"),
    ]
    with_it = dataclasses.replace(site, results=dataclasses.replace(built.results, estimates=(one,)))
    assert driver_chart(site, one).path in all_charts(with_it)


def test_colours_are_those_of_the_style():
    style = resource("theme/css/site.css").read_text("utf-8")
    light, dark = style.split("@media screen and (prefers-color-scheme: dark)")[:2]
    for name, (day, night) in TONES.items():
        assert f"--{name}: {day}" in light and f"--{name}: {night}" in dark, name


def test_works_are_charted_in_their_order_with_their_bounds(built, site_of):
    first, second, *_ = sorted(built.results.plan, key=lambda one: one.order)
    priced = tuple(
        dataclasses.replace(one, quantities={"cost": Quantity.normal(cost, "USD", 10)})
        for one, cost in ((first, 120), (second, 450))
    )
    site = dataclasses.replace(site_of(built), results=dataclasses.replace(built.results, plan=priced))
    chart = work_chart(site)
    assert [(row.value, round(row.high - row.low, 1)) for row in chart.rows] == [(120, 39.2), (450, 39.2)]
    assert [key for key, _, _ in work_rows(site)] == [str(first.order), str(second.order)]
    assert "Cost" not in chart.axis and "USD" in chart.axis
