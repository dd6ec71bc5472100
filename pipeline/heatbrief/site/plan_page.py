"""The ordered plan of work, and estimates as tables."""

from __future__ import annotations

from collections.abc import Mapping

from heatbrief.model.action import PlanItem
from heatbrief.model.estimate import Estimate
from heatbrief.model.quantity import Quantity
from heatbrief.site.charts import (
    chart_data,
    cost_chart,
    cost_rows,
    driver_chart,
    driver_rows,
    is_drivers,
    plan_chart,
    work_chart,
    work_rows,
)
from heatbrief.site.context import Data, Site
from heatbrief.site.format import percent_text
from heatbrief.site.page import Page, safe_names
from heatbrief.site.parts import parts_of
from heatbrief.site.said import input_label, phrase, reason, sentences

SAVED = ("yearly_energy", "yearly_water", "yearly_emissions")
WORTH = ("yearly_saving", "payback", "net_present_value", "savings_to_investment", *SAVED)
"""Figures that say nothing where the saving is no reason for the work."""
ORDER = ("budget", "cost", "chance_within_budget", *WORTH[:4], "hours", *SAVED)


def plan_page(site: Site) -> Page:
    """plan.html"""
    items = sorted(site.results.plan, key=lambda one: one.order)
    data: Data = {
        "rows": [plan_row(site, one, here=True) for one in items],
        "cautions": plan_cautions(site),
        "example_prices": site.results.brief is not None and site.results.brief.example_prices,
        "estimates": [estimate_data(site, one) for one in site.estimates_of("")],
        "chart": chart_data(plan_chart(site)),
        "cost_chart": chart_data(cost_chart(site)),
        "work_chart": chart_data(work_chart(site)),
        "works": [{"title": title, **site.quantity(quantity)} for _, title, quantity in work_rows(site)],
        "parts": parts_of(site, "plan"),
        "costs": [
            {"finding": site.finding_link(key), **site.quantity(quantity)} for key, _, quantity in cost_rows(site)
        ],
    }
    return Page("plan.html", "plan.html", site.words.say("sections.plan"), "plan.html", data)


def plan_cautions(site: Site) -> list[Data]:
    """The cautions of all steps in full, each once, in the order in which the steps name them."""
    used = dict.fromkeys(key for item in sorted(site.results.plan, key=lambda one: one.order) for key in item.cautions)
    anchors = caution_anchors(site)
    return [
        {
            **site.caution_link(key),
            "anchor": anchors[key],
            "points": [site.prose(point) for point in site.caution_by_key[key].points],
            "lang": site.langs(site.caution_by_key[key].points),
        }
        for key in used
    ]


def caution_anchors(site: Site) -> dict[str, str]:
    """Where the full text of a caution stands on the page of the plan."""
    return {key: f"caution-{name}" for key, name in safe_names(sorted(site.caution_by_key)).items()}


def shown_figures(site: Site, item: PlanItem) -> Data:
    """The figures of a step, and a line in place of a saving that is no reason for it."""
    if not item.slight_saving:
        return {"figures": figure_rows(site, item.quantities), "slight": ""}
    left = {name: one for name, one in item.quantities.items() if name not in WORTH}
    line = site.words.say("plan.slight_safety" if item.safety else "plan.slight")
    return {"figures": figure_rows(site, left), "slight": line}


def figure_rows(site: Site, quantities: Mapping[str, Quantity]) -> list[Data]:
    """Figures of money and work in the order an owner asks for them; a single piece is not worth a word."""
    names = [one for one in ORDER if one in quantities] + sorted(set(quantities) - set(ORDER))
    chance = quantities.get("chance_within_budget")
    if chance is not None:
        whole = Quantity.exact(float(percent_text(chance.value)) / 100.0, "1", chance.method)
        quantities = {**quantities, "chance_within_budget": whole}
    return [
        row
        for name in names
        if name != "pieces" or quantities[name].high > 1.0
        for row in site.quantity_rows({name: quantities[name]})
    ]


def plan_row(site: Site, item: PlanItem, here: bool = False) -> Data:
    """One step of the plan. `here`: its cautions stand in full on the same page."""
    anchors = caution_anchors(site) if here else {}
    words = site.words.get("urgency").get(item.urgency, {"word": item.urgency, "phrase": ""})
    return {
        "order": str(item.order),
        "title": site.prose(item.title),
        "lang": site.lang(item.title),
        "reason_lang": site.lang(item.reason),
        "does": site.prose(item.does),
        "does_lang": site.lang(item.does),
        "who": site.trade(item.who),
        "reason": reason(site, item),
        "check": item.kind == "check",
        "urgency": item.urgency,
        "urgency_word": words["word"],
        "urgency_phrase": words["phrase"],
        **shown_figures(site, item),
        "findings": site.finding_links(item.findings),
        "cautions": [
            {**site.caution_link(key), **({"url": f"plan.html#{anchors[key]}"} if here else {})}
            for key in item.cautions
        ],
    }


def estimate_data(site: Site, estimate: Estimate) -> Data:
    """One estimate with its assumptions and sources."""
    rows = (
        [{"name": input_label(site, name), **site.quantity(quantity)} for name, quantity in driver_rows(estimate)]
        if is_drivers(estimate)
        else [{**row, "method": phrase(site, row["method"])} for row in figure_rows(site, estimate.quantities)]
    )
    return {
        "title": phrase(site, estimate.title),
        "rows": rows,
        "drivers": is_drivers(estimate),
        "chart": chart_data(driver_chart(site, estimate)),
        "notes": sentences(site, estimate.said, estimate.notes),
        "assumptions": [
            {"name": phrase(site, one.name), "value": phrase(site, one.value), "origin": phrase(site, one.origin)}
            for one in estimate.assumptions
        ],
        "step": site.step_link(estimate.step),
        "sources": site.source_links(estimate.sources),
    }
