"""Items a report should hold: each has words, a rule and practices that ask for it, and follows the results."""

from __future__ import annotations

import dataclasses

from heatbrief.model import Quantity
from heatbrief.site.completeness import CHECKS, completeness, report_items
from heatbrief.site.words import Words


def state(results, item: str) -> str:
    return CHECKS[item](results)


def test_every_item_has_a_rule_words_and_a_mark():
    # 27 items in the union of EN 13187 / ISO 6781, ASTM C1060, RESNET, ASTM E1186 and ASTM C1153
    # [items of EN 13187 seen in a published report form; the others from memory]
    items = [one["id"] for one in report_items()]
    assert len(items) == len(set(items)) == 27 == len(CHECKS)
    assert set(items) == set(CHECKS) == set(Words().get("completeness.items"))
    for one in report_items():
        assert one["asked"] and set(one["asked"]) <= set(Words().get("completeness.practices"))
        assert set(one["asked"].values()) <= set(Words().get("completeness.marks"))


def test_items_follow_the_results(built):
    results = built.results
    assert state(results, "air") == "given" and state(results, "rain") == "missing"
    dry = {**results.conditions, "hours_without_rain": Quantity.exact(48, "h")}
    assert state(dataclasses.replace(results, conditions=dry), "rain") == "given"
    assert state(results, "client") == "partly"
    named = dataclasses.replace(results, property=dataclasses.replace(results.property, client="somebody"))
    assert state(named, "client") == "given"
    assert state(dataclasses.replace(results, thermograms=()), "pictures") == "missing"
    for item in CHECKS:
        assert state(dataclasses.replace(results, thermograms=(), findings=(), plan=(), conditions={}), item) in (
            "given",
            "partly",
            "missing",
        )


def test_only_for_buildings(built, site_of):
    site = site_of(built)
    assert completeness(site) is not None
    car = dataclasses.replace(built.results, survey=dataclasses.replace(built.results.survey, inspected=("vehicle",)))
    assert completeness(dataclasses.replace(site, results=car)) is None
