"""The list of findings and the page of each, where the finding is argued."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator

from heatbrief.model.finding import URGENCIES, VERDICTS, Finding
from heatbrief.site.context import PROSE, Data, Site
from heatbrief.site.figures import crop_figure, finding_figure, photo_figure
from heatbrief.site.floors import floor_link
from heatbrief.site.narrow import Narrow, View
from heatbrief.site.overview import finding_card
from heatbrief.site.page import Later, Page
from heatbrief.site.parts import parts_of
from heatbrief.site.plan_page import estimate_data, shown_figures
from heatbrief.site.said import reason
from heatbrief.site.words import sentence_case

STATE = {True: "passed", False: "failed", None: "unknown"}


def findings_page(site: Site) -> Page:
    """findings.html"""
    domains = sorted({one.domain for one in site.findings})
    data: Data = {
        "cards": [finding_card(site, one) for one in site.findings],
        "lead": site.words.count("findings.lead", len(site.findings))
        if site.findings
        else site.words.say("findings.empty"),
        "in_order": in_order_rows(site),
        "urgencies": [{"value": one, "text": site.words.say(f"urgency.{one}.word")} for one in URGENCIES],
        "verdicts": [{"value": one, "text": site.words.say(f"verdict.{one}.word")} for one in VERDICTS],
        "rooms": [{"value": one, "text": one} for one in sorted({one.room for one in site.findings if one.room})],
        "domains": [{"value": one, "text": site.label(one)} for one in domains],
    }
    return Page("findings.html", "findings.html", site.words.say("sections.findings"), "findings.html", data)


def in_order_rows(site: Site) -> list[Data]:
    """What was measured and is as it should be, by picture."""
    return [
        {
            "about": site.source_name(one.thermogram),
            "text": site.named(one.message),
            "lang": site.lang_named(one.message),
        }
        for one in site.results.in_order
    ]


def finding_pages(narrow: Narrow) -> Iterator[Page]:
    """One page for each finding, linked in order of urgency."""
    site = narrow.site
    findings, alike = site.findings, _alike(site)
    for index, finding in enumerate(findings):
        beside = (findings[index - 1] if index else None, findings[index + 1] if index + 1 < len(findings) else None)
        record = site.record_by_id.get(finding.thermogram)
        near = (*filter(None, beside), *alike.get(finding.shares, ()))
        view = narrow.view([record] if record else [], told=[finding], beside=near)
        path, data = site.path("findings", finding.id), Later(functools.partial(_page_data, view, finding, beside))
        yield Page(
            path,
            "finding.html",
            site.titles[finding.id],
            "findings.html",
            data,
            view.key_with([one and one.id for one in beside]),
        )


def _alike(site: Site) -> dict[str, list[Finding]]:
    """Findings that describe one thing, by their tag."""
    found: dict[str, list[Finding]] = {}
    for one in site.findings:
        if one.shares:
            found.setdefault(one.shares, []).append(one)
    return found


def _page_data(view: View, finding: Finding, beside: tuple[Finding | None, Finding | None]) -> Data:
    """Everything the page of a finding shows, with the ways to its neighbours."""
    data = finding_data(view.site, finding)
    for name, other in zip(("previous", "next"), beside, strict=True):
        data[name] = view.site.finding_link(other.id) if other else None
    return data


def finding_data(site: Site, finding: Finding) -> Data:
    """Everything the page of a finding shows."""
    record = site.record_by_id.get(finding.thermogram)
    return {
        **argument(site, finding),
        "lang": site.lang(finding.title),
        "floor": floor_link(site, finding),
        "viewer_url": site.path("thermograms", finding.thermogram),
        "figure": finding_figure(site, finding, "picture"),
        "crop": crop_figure(site, finding, "spot"),
        "photo": photo_figure(site, record, finding) if record else None,
        "photo_failed": bool(record and record.id in site.pictures.photo_failures),
        "classes": _classes(site, finding),
        "next_time": [site.prose(one) for one in finding.next_time],
        "next_time_lang": site.langs(finding.next_time),
        "sources": site.source_links((*finding.sources, *(gate.source for gate in finding.gates))),
        "record": _for_the_record(site, finding),
        "shares": _shares(site, finding),
        "parts": parts_of(site, "finding", finding.id),
    }


def argument(site: Site, finding: Finding) -> Data:
    """What a finding says and why, without pictures: what paper shows of it too."""
    return {
        "badge": site.badge(finding),
        "summary": site.sentence(finding.summary),
        "summary_lang": site.lang(finding.summary),
        "place": site.place(finding),
        "unscaled": site.is_unscaled(finding.thermogram),
        "actions": _actions(site, finding),
        "measured": site.quantity_rows(finding.measured),
        "rivals": _rivals(site, finding),
        "gates": [gate_data(site, finding, index) for index in range(len(finding.gates))],
        "estimates": [estimate_data(site, one) for one in site.estimates_of(finding.id)],
        "cautions": [_caution(site, key) for key in finding.cautions],
    }


def gate_data(site: Site, finding: Finding, index: int) -> Data:
    """One condition of a check and whether it was met."""
    gate = finding.gates[index]
    state = STATE[gate.passed]
    return {
        "name": sentence_case(site.prose(gate.name)),
        "lang": site.lang(gate.name),
        "state": state,
        "state_word": site.words.say(f"gate.{state}"),
        "reason": _with_practice(site, site.prose(gate.reason)),
        "reason_lang": site.lang(gate.reason),
        "remedy": "" if gate.passed else site.prose(gate.remedy),
        "remedy_lang": site.lang(gate.remedy),
    }


def _with_practice(site: Site, text: str) -> str:
    """A reason with the name of the practice for its key, as in "at least 10 K (astm-c1060)"."""
    names = site.words.get("practices")
    return re.sub(r"\(([a-z][a-z0-9]*(?:-[a-z0-9]+)+)\)", lambda one: f"({names.get(one[1], one[1])})", text)


def _actions(site: Site, finding: Finding) -> list[Data]:
    planned = {item.action: item for item in site.plan_of(finding.id)}
    rows: list[Data] = []
    for key in dict.fromkeys((*finding.actions, *planned)):
        item = planned.get(key)
        if item is None:
            rows.append(
                {
                    "title": sentence_case(key.rpartition(".")[2]),
                    "lang": PROSE,
                    "who": "",
                    "does": site.words.say("finding.not_planned"),
                    "does_lang": site.words.language,
                    "step": "",
                    "figures": [],
                    "slight": "",
                    "reason": "",
                }
            )
        else:
            rows.append(
                {
                    "title": site.prose(item.title),
                    "lang": site.lang(item.title),
                    "who": site.trade(item.who),
                    "does": site.prose(item.does),
                    "does_lang": site.lang(item.does),
                    "reason": reason(site, item),
                    "step": site.words.say("finding.in_plan", order=item.order),
                    **shown_figures(site, item),
                }
            )
    return rows


def _rivals(site: Site, finding: Finding) -> list[Data]:
    return [
        {
            "explanation": sentence_case(site.prose(one.explanation)),
            "lang": site.lang(one.explanation),
            "status": one.status.replace(" ", "-"),
            "evidence": site.prose(one.evidence),
            "evidence_lang": site.lang(one.evidence),
            "missing": site.prose(one.missing),
            "missing_lang": site.lang(one.missing),
            "word": site.words.get("rival_status")[one.status]["word"],
            "phrase": site.words.get("rival_status")[one.status]["phrase"],
        }
        for one in finding.rivals
    ]


def _classes(site: Site, finding: Finding) -> Data | None:
    """Plain rows of published classes as one table: columns in order of first appearance, by name within a row."""
    columns = list(
        dict.fromkeys(name for row in finding.classes for name in sorted(row, key=lambda name: (name != "table", name)))
    )
    if not columns:
        return None
    return {
        "columns": [sentence_case(site.prose(name)) for name in columns],
        "rows": [
            [site.prose(_source_text(site, name, row.get(name, ""))) for name in columns] for row in finding.classes
        ],
    }


def _source_text(site: Site, column: str, value: str) -> str:
    """A cell; in the column of sources the words behind a key."""
    return next((one.text for one in site.results.sources if one.key == value), value) if column == "source" else value


def _caution(site: Site, key: str) -> Data:
    caution = site.caution_by_key[key]
    points = caution.points[:3]
    return {**site.caution_link(key), "points": [site.prose(one) for one in points], "lang": site.langs(points)}


def _for_the_record(site: Site, finding: Finding) -> list[Data]:
    say = site.words.say
    rows = [
        {
            "name": say("finding.thermogram"),
            **site.link("thermograms", finding.thermogram, site.picture_name(finding.thermogram)),
        },
        {"name": say("finding.region"), "text": finding.region, "url": ""},
        {"name": say("finding.room"), "text": finding.room, "url": ""},
        {"name": say("finding.domain"), "text": site.label(finding.domain), "url": ""},
        {"name": say("finding.check"), **site.step_link(finding.check)},
        {"name": say("finding.identity"), "text": finding.id, "url": ""},
    ]
    return [row for row in rows if row["text"]]


def _shares(site: Site, finding: Finding) -> list[Data]:
    if not finding.shares:
        return []
    return site.finding_links(
        [one.id for one in site.findings if one.shares == finding.shares and one.id != finding.id]
    )
