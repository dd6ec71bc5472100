"""What the plugin's texts must never say, and what every offer refers to."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import heatbrief_vehicle
import pytest
from heatbrief.registry import build_registry, load_registry
from support import plugin_texts

STEPS = heatbrief_vehicle.heatbrief_steps()
FOLDER = Path(heatbrief_vehicle.__file__).parent
FORBIDDEN = re.compile(
    r"\b(safe|safely|passed|code[- ]compliant|compliant|will fail|fire will|catch fire|certif(y|ied) as)\b",
    re.IGNORECASE,
)
"""Domains dossier 1.5: never "safe", "passed", "code-compliant", "will fail", "fire will"."""
OPENING = re.compile(
    r"\b(cap|lift|jack|open|opens|opened|opening|remove|removes|unscrew|take off|cover|covers|unplug|loosen|tighten|"
    r"reach|touch|pull)\b",
    re.IGNORECASE,
)
REFUSAL = re.compile(
    r"\b(not|never|no|nobody|leave|keep|closed|outside|without|licensed|hazard|neither|means stop|in a workshop)\b",
    re.IGNORECASE,
)


def test_forbidden_words_never_appear():
    found = [f"{where}: {text}" for where, text in plugin_texts(FOLDER) if FORBIDDEN.search(text)]
    assert not found and len(list(plugin_texts(FOLDER))) > 200


def test_the_pattern_would_catch_them():
    assert all(
        FORBIDDEN.search(one) for one in ("this is safe", "It passed.", "code-compliant", "it will fail", "fire will")
    )
    assert not FORBIDDEN.search("safety first")


@pytest.fixture(scope="module")
def offers():
    return build_registry([("vehicle", "here", lambda: importlib.import_module("heatbrief_vehicle"))])


def test_nothing_is_refused(offers):
    assert offers.refused == () and set(offers.steps) == {step.name for step in STEPS} and "vehicle" in offers.domains


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


def test_owners_are_never_told_to_open_or_touch(offers):
    sentences = [
        (action.key, one)
        for action in offers.actions.values()
        if action.who == "owner"
        for one in re.split(r"(?<=[.;])\s", f"{action.title}. {action.does}")
    ]
    sentences += [
        (caution.key, one)
        for caution in offers.cautions.values()
        for point in caution.points
        for one in re.split(r"(?<=[.;])\s", point)
    ]
    assert sentences and not [
        f"{key}: {one}" for key, one in sentences if OPENING.search(one) and not REFUSAL.search(one)
    ]


def test_repairs_are_for_a_workshop(offers):
    assert {action.who for action in offers.actions.values() if action.kind == "repair"} == {"workshop"}


def test_every_key_exists(offers):
    installed = load_registry()
    known = set(offers.sources) | set(installed.sources)
    for step in offers.steps.values():
        assert set(step.sources) <= known and set(step.cautions) <= set(offers.cautions), step.name
    for caution in offers.cautions.values():
        assert {one.source for one in caution.figures} <= known and caution.defer, caution.key
        for one in caution.figures:
            assert (
                one.mark in ("seen", "memory", "computed", "common practice")
                and one.mark == {**installed.sources, **offers.sources}[one.source].mark
            )
    for action in offers.actions.values():
        assert set(action.cautions) <= set(offers.cautions) and set(action.after) <= set(offers.actions), action.key
    assert set(offers.domains["vehicle"].cautions) <= set(offers.cautions)


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
