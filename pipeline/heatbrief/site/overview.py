"""The brief itself: what is dangerous, what to do first, who does it, what it costs or brings, and how sure that is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from heatbrief.model.finding import URGENCIES, Finding
from heatbrief.model.results import ResultsDocument
from heatbrief.site.charts import chart_data, cost_chart
from heatbrief.site.context import Data, Site
from heatbrief.site.figures import thumbnail
from heatbrief.site.format import is_money
from heatbrief.site.page import Page
from heatbrief.site.parts import parts_of
from heatbrief.site.plan_page import estimate_data, figure_rows, plan_row
from heatbrief.site.prose import typeset
from heatbrief.site.said import sentences
from heatbrief.site.words import Words

MOST_FINDINGS = 40
FIRST_STEPS = 5
MOST_ASKED = 3
LEAST_SUM = 1.0
"""A yearly sum below it is not worth a place beside a finding; its page has it."""


def overview_page(site: Site, changes: bool = False) -> Page:
    """index.html"""
    results, say = site.results, site.words.say
    open_findings = open_of(site.findings)
    shown = open_findings[:MOST_FINDINGS]
    urgent = [one for one in open_findings if one.urgency == "now"]
    ordered = sorted(results.plan, key=lambda one: one.order)
    data: Data = {
        "facts": property_facts(site),
        "calm": "" if urgent else say("overview.calm"),
        "now_lead": site.words.count("overview.now_lead", len(urgent)) if urgent else "",
        "urgent": [
            {
                **site.finding_link(one.id),
                "who": site.who(one),
                "summary": site.sentence(one.summary),
                "summary_lang": site.lang(one.summary),
                "cautions": [site.caution_link(key) for key in one.cautions],
            }
            for one in urgent[:MOST_FINDINGS]
        ],
        "counts": urgency_counts(site.words, open_findings),
        "steps": [plan_row(site, item) for item in ordered[:FIRST_STEPS]],
        "findings": [finding_card(site, one) for one in shown],
        "more": _more(site, len(open_findings) - len(shown)),
        "others": _others(site),
        "has_findings": bool(results.findings),
        "floors": bool(results.floors),
        "changes": changes,
        "estimates": [_short(estimate_data(site, one)) for one in site.estimates_of("") if "drivers" not in one.kind],
        "total": _total(site),
        "cost_chart": chart_data(cost_chart(site)),
        "sure": _sure(site),
        **_brief(site),
        "conditions": site.quantity_rows(results.conditions),
        "cautions": [site.caution_link(key) for key in sorted(site.caution_by_key)],
        "notes": typeset(results.survey.notes),
        "parts": parts_of(site, "index"),
    }
    return Page("index.html", "overview.html", results.property.name, "index.html", data)


def open_of(findings: Iterable[Finding]) -> list[Finding]:
    """Findings that ask something of the reader: defects, suspects, and open questions with an urgency."""
    return [
        one
        for one in findings
        if one.verdict in ("defect", "suspect") or (one.verdict == "inconclusive" and one.urgency != "none")
    ]


def finding_card(site: Site, finding: Finding) -> Data:
    """A finding in a list: picture, words, state."""
    main = _main_figure(site, finding)
    return {
        **site.finding_link(finding.id),
        "badge": site.badge(finding),
        "summary": site.sentence(finding.summary),
        "summary_lang": site.lang(finding.summary),
        "place": site.place(finding),
        "thumb": thumbnail(site, finding),
        "domain": finding.domain,
        "room": finding.room,
        "domain_label": site.label(finding.domain),
        "who": site.who(finding),
        "figure": main,
        "unscaled": site.is_unscaled(finding.thermogram),
    }


def property_facts(site: Site) -> list[str]:
    """The lines under the title."""
    info, survey = site.results.property, site.results.survey
    inspected = ", ".join(site.label(one) for one in survey.inspected)
    return [text for text in (info.address, survey.date, inspected, info.surveyor, info.client) if text]


def urgency_counts(words: Words, findings: list[Finding]) -> list[Data]:
    """How many findings there are of each urgency, the empty ones left out."""
    counts = Counter(one.urgency for one in findings)
    return [
        {"urgency": urgency, "text": words.count(f"overview.counts.{urgency}", counts[urgency])}
        for urgency in URGENCIES
        if counts[urgency]
    ]


def pictures_line(words: Words, results: ResultsDocument) -> str:
    """ "4 pictures were given: 3 analysed, 1 read as brightness only." """
    states = Counter(one.status for one in results.thermograms)
    parts = [
        words.count(f"overview.{state}", states[state])
        for state in ("analysed", "unscaled", "unreadable")
        if states[state]
    ]
    head = words.count("overview.pictures", len(results.thermograms))
    return f"{head}: {', '.join(parts)}." if parts else f"{head}."


def _main_figure(site: Site, finding: Finding) -> Data | None:
    """Money, else an amount in a year, from the finding's estimates, to stand beside it."""
    found = [(name, one.quantities[name]) for one in site.estimates_of(finding.id) for name in sorted(one.quantities)]
    if any(is_money(quantity.unit) and quantity.high < LEAST_SUM for _, quantity in found):
        return None
    for fits in (is_money, lambda unit: unit.endswith("/a")):
        for name, quantity in found:
            if fits(quantity.unit):
                return {"name": site.label(name), "value": site.quantity(quantity)["value"]}
    return None


def _more(site: Site, count: int) -> str:
    return site.words.count("overview.more", count) if count > 0 else ""


def _others(site: Site) -> list[str]:
    counts = Counter(one.verdict for one in site.findings)
    return [
        site.words.count(f"overview.{verdict}", counts[verdict])
        for verdict in ("normal", "inconclusive")
        if counts[verdict]
    ]


def _brief(site: Site) -> Data:
    """The sentences of the brief: what does not fit, how sure the sums are, what to photograph next time."""
    brief = site.results.brief
    if brief is None:
        return {"flags": [], "sums": [], "next_time": [], "dangers": [], "example_prices": False}
    return {
        "flags": sentences(site, brief.flagged, brief.flags),
        "sums": sentences(site, brief.sure, brief.how_sure),
        "next_time": [_next_time(site, one) for one in brief.next_time],
        "dangers": [
            {**site.finding_link(one.ref), "who": site.trade(one.who)}
            for one in brief.dangers
            if one.ref in site.finding_by_id and site.finding_by_id[one.ref].urgency != "now"
        ],
        "example_prices": brief.example_prices,
    }


def _next_time(site: Site, text: str) -> Data:
    """What to photograph or note next time, and for which findings."""
    asked = [one.id for one in site.findings if text in one.next_time]
    body = text.removeprefix("Worth having: ").removesuffix(".")
    return {
        "text": f"{site.sentence(body)}.",
        "lang": site.lang(body),
        "findings": site.finding_links(asked, MOST_ASKED),
    }


def _short(estimate: Data) -> Data:
    """A table of page one: without how it was worked out, which the plan's page has."""
    rows = [{**row, "method": ""} for row in estimate["rows"]]
    return {**estimate, "rows": rows, "assumptions": [], "sources": []}


def _total(site: Site) -> list[Data]:
    """What the whole plan costs and saves."""
    total = next((one.quantities for one in site.estimates_of("") if one.kind == "total"), {})
    return figure_rows(site, {name: total[name] for name in ("cost", "yearly_saving") if name in total})


def _sure(site: Site) -> list[Data]:
    skipped = len(site.results.not_analysed)
    line = site.words.count("overview.skipped", skipped) if skipped else site.words.say("overview.nothing_skipped")
    return [
        {"text": pictures_line(site.words, site.results), "url": "thermograms.html"},
        {"text": line, "url": "not-analysed.html"},
    ]
