"""The list of pictures and the page of each."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping

from heatbrief.model.quantity import Quantity
from heatbrief.model.results import ThermogramRecord
from heatbrief.site.changes import Earlier
from heatbrief.site.charts import budget_chart, chart_data, effect_text, group_charts
from heatbrief.site.context import TEMPERATURE_UNITS, Data, Site
from heatbrief.site.figures import photo_figure, record_figure, record_thumbnail
from heatbrief.site.format import number_of, two_digits
from heatbrief.site.narrow import Narrow, View
from heatbrief.site.page import Later, Page
from heatbrief.site.viewer import before_data, others, viewer_panel


def thermograms_page(site: Site) -> Page:
    """thermograms.html"""
    records = site.results.thermograms
    cards = [
        {
            **site.link("thermograms", one.id, site.picture_name(one.id)),
            "thumb": record_thumbnail(site, one),
            "room": one.room,
            "status": one.status,
            "status_word": site.words.say(f"status.{one.status}"),
            "findings": len(_findings(site, one)),
        }
        for one in records
    ]
    lead = site.words.count("thermograms.lead", len(records)) if records else site.words.say("thermograms.empty")
    return Page(
        "thermograms.html",
        "thermograms.html",
        site.words.say("sections.thermograms"),
        "thermograms.html",
        {"cards": cards, "lead": lead},
    )


def thermogram_pages(narrow: Narrow, earlier: Earlier | None = None) -> Iterator[Page]:
    """One page for each picture, in the order of the results."""
    site = narrow.site
    records = site.results.thermograms
    for index, record in enumerate(records):
        beside = (records[index - 1] if index else None, records[index + 1] if index + 1 < len(records) else None)
        near = (*filter(None, beside), *others(site, record))
        view = narrow.view([record], near, told=site.findings_on.get(record.id, ()))
        yield Page(
            site.path("thermograms", record.id),
            "thermogram.html",
            site.picture_name(record.id),
            "thermograms.html",
            Later(functools.partial(_page_data, view, record, beside, earlier)),
            view.key_with(([one and one.id for one in beside], before_data(site, record, earlier))),
        )


def _page_data(
    view: View,
    record: ThermogramRecord,
    beside: tuple[ThermogramRecord | None, ThermogramRecord | None],
    earlier: Earlier | None = None,
) -> Data:
    """Everything the page of a picture shows, with the ways to its neighbours."""
    data, site = thermogram_data(view.site, record, earlier), view.site
    for name, other in zip(("previous", "next"), beside, strict=True):
        data[name] = site.link("thermograms", other.id, site.picture_name(other.id)) if other else None
    return data


def thermogram_data(site: Site, record: ThermogramRecord, earlier: Earlier | None = None) -> Data:
    """Everything the page of a picture shows. No temperature stands on the page of a picture without a scale."""
    unscaled = record.status == "unscaled"
    keep = _without_temperatures if unscaled else dict
    return {
        "figure": record_figure(site, record, "picture"),
        "photo": photo_figure(site, record),
        "viewer": viewer_panel(site, record, earlier),
        "unscaled": unscaled,
        "photo_failed": record.id in site.pictures.photo_failures,
        "unreadable": record.status == "unreadable",
        "statistics": site.quantity_rows(record.statistics),
        "regions": _regions(site, record),
        "conditions": site.quantity_rows(keep(record.conditions)),
        "settings": [
            {**row, "text": site.prose(row.get("text", ""))} for row in site.quantity_rows(keep(record.settings))
        ],
        "budget": [] if unscaled else _budget(site, record),
        "budget_chart": chart_data(budget_chart(site, record)),
        "group_charts": [chart_data(one) for one in group_charts(site, record)],
        "findings": _findings(site, record),
        "notes": list(record.notes),
        "masked": site.words.count("thermograms.masked", record.masked) if record.masked else "",
        "record": _for_the_record(site, record),
    }


def _without_temperatures(facts: Mapping[str, Quantity | str]) -> dict[str, Quantity | str]:
    return {
        name: fact
        for name, fact in facts.items()
        if not (isinstance(fact, Quantity) and fact.unit in TEMPERATURE_UNITS)
    }


def _regions(site: Site, record: ThermogramRecord) -> Data | None:
    """All regions as one table; statistics as columns."""
    if not record.regions:
        return None
    names = sorted({name for one in record.regions for name in one.statistics})
    rows = [
        {
            "name": one.name,
            "about": [text for text in (one.shows, one.room, one.material) if text],
            "notes": list(one.notes),
            "cells": [
                site.quantity(one.statistics[name], name)["value"] if name in one.statistics else "" for name in names
            ],
        }
        for one in record.regions
    ]
    return {"columns": [site.label(name) for name in names], "rows": rows}


def _budget(site: Site, record: ThermogramRecord) -> list[Data]:
    lines = sorted(record.budget, key=lambda one: (-abs(one.effect), one.name))
    rows = []
    for line in lines:
        unit = "K" if line.unit == "degC" else line.unit
        rows.append(
            {
                "name": site.label(line.name),
                "standard": site.numerals(two_digits(abs(line.standard), unit, site.units)),
                "effect": effect_text(site, record, line.effect),
                "common": site.words.say("site.yes" if line.correlated else "site.no"),
            }
        )
    return rows


def _findings(site: Site, record: ThermogramRecord) -> list[Data]:
    return [{**site.finding_link(one.id), "badge": site.badge(one)} for one in site.findings_on.get(record.id, ())]


def _for_the_record(site: Site, record: ThermogramRecord) -> list[Data]:
    say = site.words.say
    size = f"{number_of(record.width, 6)} × {number_of(record.height, 6)} {say('site.pixels')}"
    rows = [
        (say("thermograms.file"), record.source),
        (say("thermograms.taken"), record.taken),
        (say("thermograms.room"), record.room),
        (say("thermograms.size"), size if record.width else ""),
        (say("thermograms.status"), say(f"status.{record.status}")),
        (say("thermograms.digest"), record.sha256),
    ]
    return [{"name": name, "text": text, "url": ""} for name, text in rows if text]
