"""Everything that belongs on paper in one page: brief, plan, findings, conditions, cautions, sources."""

from __future__ import annotations

from heatbrief.site.completeness import completeness
from heatbrief.site.context import Data, Site
from heatbrief.site.figures import crop_figure, finding_figure
from heatbrief.site.finding_page import argument, in_order_rows
from heatbrief.site.floors import floors_data
from heatbrief.site.overview import overview_page
from heatbrief.site.page import Page
from heatbrief.site.plan_page import plan_page
from heatbrief.site.reference_pages import caution_data, not_analysed_page, sources_page


def print_page(site: Site) -> Page:
    """print.html"""
    brief = overview_page(site).data
    data: Data = {
        "facts": brief["facts"],
        "calm": brief["calm"],
        "now_lead": brief["now_lead"],
        "urgent": brief["urgent"],
        "counts": brief["counts"],
        "notes": brief["notes"],
        "floors": floors_data(site),
        "plan": plan_page(site).data,
        "findings": [_finding(site, number) for number in range(len(site.findings))],
        "conditions": site.quantity_rows(site.results.conditions),
        "completeness": completeness(site),
        "in_order": in_order_rows(site),
        "not_analysed": not_analysed_page(site).data["rows"],
        "cautions": [
            {"title": site.prose(site.caution_by_key[key].title), **caution_data(site, site.caution_by_key[key])}
            for key in sorted(site.caution_by_key)
        ],
        "sources": sources_page(site).data["rows"],
        "verdicts": site.words.get("verdict"),
    }
    return Page("print.html", "print.html", site.words.say("sections.print"), "print.html", data)


def _finding(site: Site, index: int) -> Data:
    """A finding with pictures of ids of their own."""
    finding = site.findings[index]
    return {
        **argument(site, finding),
        "number": str(index + 1),
        "title": site.titles[finding.id],
        "figure": finding_figure(site, finding, f"picture-{index + 1}"),
        "crop": crop_figure(site, finding, f"spot-{index + 1}"),
    }
