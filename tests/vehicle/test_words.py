"""Cautions on findings and pages, and whose work a repair is; what holds for the texts of every plugin stands in
`tests/test_plugin_words.py`."""

from __future__ import annotations

import importlib

import pytest
from heatbrief.registry import build_registry, load_registry
from support import FORBIDDEN


@pytest.fixture(scope="module")
def offers():
    return build_registry([("vehicle", "here", lambda: importlib.import_module("heatbrief_vehicle"))])


def test_every_page_of_the_domain_carries_the_cautions_of_the_trade(offers):
    """Engine indoors and carbon monoxide, rotating parts, burn thresholds, coolant, refrigerant law, stands."""
    found = [offers.cautions[key] for key in offers.domains["vehicle"].cautions]
    told = " ".join(
        f"{one.title} {' '.join(one.points)} {' '.join(each.text for each in one.figures)}" for one in found
    )
    for words in (
        "garage",
        "carbon monoxide",
        "fan may start",
        "65 degC",
        "51 degC",
        "coolant under pressure",
        "release on purpose",
    ):
        assert words in told, words
    assert "stands on a jack" in told and "stands of sufficient rating" in told


def test_repairs_are_for_a_workshop(offers):
    assert {action.who for action in offers.actions.values() if action.kind == "repair"} == {"workshop"}


def test_findings_use_known_keys(ask, row, radiator):
    from heatbrief_vehicle.cooling import STEP as COOLING
    from heatbrief_vehicle.exhaust import STEP as EXHAUST

    installed = load_registry()
    core, region = radiator(band=-20.0)
    findings = [*ask(EXHAUST, *row((310, 305, 302, 190))).findings, *ask(COOLING, core, [region]).findings]
    assert len(findings) == 3
    for finding in findings:
        assert (
            set(finding.actions) <= set(installed.actions)
            and set(finding.cautions) <= set(installed.cautions)
            and set(finding.sources) <= set(installed.sources)
        )
        assert (
            not FORBIDDEN.search(f"{finding.title} {finding.summary}") and "vehicle.running-engine" in finding.cautions
        )
