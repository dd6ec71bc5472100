"""The ordered plan of work, and estimates as tables."""

from __future__ import annotations

from heatbrief.model.action import PlanItem
from heatbrief.model.estimate import Estimate
from heatbrief.site.charts import chart_data, cost_chart, cost_rows, plan_chart, work_chart, work_rows
from heatbrief.site.context import Data, Site
from heatbrief.site.page import Page


def plan_page(site: Site) -> Page:
    """plan.html"""
    items = sorted(site.results.plan, key=lambda one: one.order)
    data: Data = {
        "rows": [plan_row(site, one) for one in items],
        "example_prices": site.results.brief is not None and site.results.brief.example_prices,
        "estimates": [estimate_data(site, one) for one in site.estimates_of("")],
        "chart": chart_data(plan_chart(site)),
        "cost_chart": chart_data(cost_chart(site)),
        "work_chart": chart_data(work_chart(site)),
        "works": [{"title": title, **site.quantity(quantity)} for _, title, quantity in work_rows(site)],
        "costs": [
            {"finding": site.finding_link(key), **site.quantity(quantity)} for key, _, quantity in cost_rows(site)
        ],
    }
    return Page("plan.html", "plan.html", site.words.say("sections.plan"), "plan.html", data)


def plan_row(site: Site, item: PlanItem) -> Data:
    """One step of the plan."""
    words = site.words.get("urgency").get(item.urgency, {"word": item.urgency, "phrase": ""})
    return {
        "order": str(item.order),
        "title": site.prose(item.title),
        "lang": site.lang(item.title),
        "reason_lang": site.lang(item.reason),
        "does": site.prose(item.does),
        "who": site.trade(item.who),
        "reason": site.prose(item.reason),
        "check": item.kind == "check",
        "urgency": item.urgency,
        "urgency_word": words["word"],
        "urgency_phrase": words["phrase"],
        "figures": site.quantity_rows(item.quantities),
        "findings": site.finding_links(item.findings),
        "cautions": [site.caution_link(key) for key in item.cautions],
    }


def estimate_data(site: Site, estimate: Estimate) -> Data:
    """One estimate with its assumptions and sources."""
    return {
        "title": site.prose(estimate.title),
        "rows": site.quantity_rows(estimate.quantities),
        "notes": [site.prose(one) for one in estimate.notes],
        "assumptions": [
            {"name": site.prose(one.name), "value": site.prose(one.value), "origin": site.prose(one.origin)}
            for one in estimate.assumptions
        ],
        "sources": site.source_links(estimate.sources),
    }
