"""Cautions, conditions, what was not analysed, method, sources and words."""

from __future__ import annotations

from collections.abc import Iterator

from heatbrief.model.caution import Caution
from heatbrief.model.finding import URGENCIES, VERDICTS
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import SettingRecord, StepRecord
from heatbrief.site.completeness import completeness
from heatbrief.site.context import Data, Site
from heatbrief.site.finding_page import gate_data
from heatbrief.site.page import Page
from heatbrief.site.parts import parts_of
from heatbrief.site.terms import entries
from heatbrief.site.words import capital, sentence_case


def cautions_page(site: Site) -> Page:
    """cautions.html"""
    rows = [
        {
            **site.caution_link(key),
            "applies": _applies(site, site.caution_by_key[key]),
            "lang": site.lang(site.caution_by_key[key].applies),
        }
        for key in sorted(site.caution_by_key)
    ]
    return _page(site, "cautions", {"rows": rows})


def caution_pages(site: Site) -> Iterator[Page]:
    """One page for each caution, by key."""
    keys = sorted(site.caution_by_key)
    for index, key in enumerate(keys):
        data = caution_data(site, site.caution_by_key[key])
        data["previous"] = site.caution_link(keys[index - 1]) if index else None
        data["next"] = site.caution_link(keys[index + 1]) if index + 1 < len(keys) else None
        yield Page(
            site.path("cautions", key),
            "caution.html",
            site.prose(site.caution_by_key[key].title),
            "cautions.html",
            data,
        )


def conditions_page(site: Site) -> Page:
    """conditions.html: the facts, and every condition of a check that was not met."""
    unmet = [
        {"finding": site.finding_link(one.id), **gate_data(site, one, index)}
        for one in site.findings
        for index, gate in enumerate(one.gates)
        if gate.passed is not True
    ]
    return _page(
        site,
        "conditions",
        {
            "rows": site.quantity_rows(site.results.conditions),
            "unmet": unmet,
            "completeness": completeness(site),
            "shared": [{"path": one.path, "digest": one.sha256} for one in site.results.survey.shared],
            "origins": [
                {"setting": one.setting, "path": one.path, "over": ", ".join(one.over)}
                for one in site.results.survey.origins
            ],
            "parts": parts_of(site, "conditions"),
        },
    )


def not_analysed_page(site: Site) -> Page:
    """not-analysed.html"""
    rows = [
        {
            "about": site.source_name(one.source),
            "source": one.source,
            "code": one.code,
            "message": site.named(one.message),
            "lang": site.lang_named(one.message),
            "remedy": site.prose(one.remedy),
            "remedy_lang": site.lang(one.remedy),
            "step": capital(site.step_title(one.step)),
        }
        for one in site.results.not_analysed
    ]
    return _page(site, "not-analysed", {"rows": rows})


def method_page(site: Site) -> Page:
    """method.html: the rules, and the steps that took part with their settings."""
    words = site.words
    steps = [
        {
            "id": site.step_anchors[one.name],
            "name": one.name,
            "title": capital(site.step_title(one.name)) if one.title else "",
            "stage": words.get("method.stages").get(one.stage, one.stage),
            "version": str(one.version),
            "plugin": one.plugin,
            "summary": site.prose(one.summary),
            "lang": site.lang(one.summary),
            "settings": _settings(site, one),
        }
        for one in site.results.run.steps
    ]
    data = {
        "rule": words.get("method.rule"),
        "verdicts": [{"code": one, **words.get("verdict")[one]} for one in VERDICTS],
        "urgencies": [{"code": one, **words.get("urgency")[one]} for one in URGENCIES],
        "rivals": [{"code": code.replace(" ", "-"), **entry} for code, entry in words.get("rival_status").items()],
        "steps": steps,
        "parts": parts_of(site, "method"),
    }
    return _page(site, "method", data)


def _settings(site: Site, step: StepRecord) -> list[Data]:
    """The settings of a step by name; those that were left open last."""
    given = step.explained or tuple(SettingRecord(name, step.settings[name]) for name in sorted(step.settings))
    rows = []
    for one in given:
        if isinstance(one.value, Quantity):
            text = site.quantity(one.value)["value"]
        else:
            known = {"yes": "site.yes", "no": "site.no", "": "method.left_open", "null": "method.left_open"}
            text = site.words.say(known[one.value]) if one.value in known else site.prose(one.value)
        open_ = one.value in ("", "null")
        rows.append({"name": sentence_case(one.name), "value": text, "help": site.prose(one.help), "open": open_})
    return sorted(rows, key=lambda row: (row["open"], row["name"]))


def sources_page(site: Site) -> Page:
    """sources.html: the sources of the document, and a line for every other key that is quoted."""
    given = {one.key: one for one in site.results.sources}
    rows = []
    for key in sorted(site.source_anchors):
        source = given.get(key)
        rows.append(
            {
                "id": site.source_anchors[key],
                "key": key,
                "text": site.prose(source.text) if source else site.words.say("sources.missing"),
                "mark": mark_text(site, source.mark) if source else "",
                "address": source.url if source else "",
            }
        )
    words_of = {
        meaning: word for word, meaning in site.words.get("mark").items()
    }  # "CP" is short for "common practice"
    marks = [{"word": word, "meaning": meaning} for meaning, word in words_of.items()]
    return _page(site, "sources", {"rows": rows, "marks": marks})


def words_page(site: Site) -> Page:
    """words.html: a short glossary."""
    return _page(site, "words", {"entries": entries(site.words.get("words.entries"))})


def mark_text(site: Site, mark: str) -> str:
    """A mark in words; an unknown mark as it stands."""
    return str(site.words.get("mark").get(mark.strip("[]"), mark))


def _page(site: Site, section: str, data: Data) -> Page:
    path = f"{section}.html"
    return Page(path, path, site.words.say(f"sections.{section}"), path, data)


def _applies(site: Site, caution: Caution) -> str:
    """When a caution applies, as a sentence; without a translation the bare English."""
    if not caution.applies or site.lang(caution.applies) != site.words.language:
        return site.sentence(caution.applies)
    return site.words.say("shots.applies", when=site.prose(caution.applies))


def caution_data(site: Site, caution: Caution) -> Data:
    """A caution in full."""
    figures = [
        {
            "text": site.prose(one.text),
            "mark": mark_text(site, one.mark),
            "source": next(iter(site.source_links([one.source])), None),
        }
        for one in caution.figures
    ]
    return {
        "key": caution.key,
        "lang": site.lang(caution.title),
        "applies": _applies(site, caution),
        "applies_lang": site.lang(caution.applies),
        "points": [site.prose(one) for one in caution.points],
        "points_lang": site.langs(caution.points),
        "figures": figures,
        "defer": [site.prose(one) for one in caution.defer],
        "used": site.finding_links([one.id for one in site.findings if caution.key in one.cautions]),
    }
