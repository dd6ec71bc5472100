"""Cautions on findings and pages, and whose work a repair is; what holds for the texts of every plugin stands in
`tests/test_plugin_words.py`."""

from __future__ import annotations

import importlib

import pytest
from heatbrief.model import Quantity
from heatbrief.registry import build_registry, load_registry
from support import FORBIDDEN


@pytest.fixture(scope="module")
def offers():
    return build_registry([("electrical", "here", lambda: importlib.import_module("heatbrief_electrical"))])


def test_whatever_needs_an_open_cover_is_licensed_work(offers):
    for action in offers.actions.values():
        if action.kind == "repair" or "electrical.arc-flash" in action.cautions:
            assert action.who == "licensed electrician", action.key


def test_findings_use_known_keys(panel):
    installed = load_registry()
    from heatbrief_electrical.circuits import STEP as CIRCUITS
    from heatbrief_electrical.twins import STEP as TWINS

    made = (
        panel(look="solar connectors")
        .part("a", 9.0, 32, 40, "pair", "connector")
        .part("b", 30.0, 32, 40, "pair", "connector")
        .part("c", 30.0, 12, 20, "", "breaker")
    )
    findings = [*made.run(TWINS).findings, *made.run(CIRCUITS).findings]
    assert findings
    for finding in findings:
        assert (
            set(finding.actions) <= set(installed.actions)
            and set(finding.cautions) <= set(installed.cautions)
            and set(finding.sources) <= set(installed.sources)
        )
        assert not FORBIDDEN.search(f"{finding.title} {finding.summary}") and "electrical.panels" in finding.cautions
    assert any("electrical.photovoltaics" in finding.cautions for finding in findings)


def test_every_finding_carries_the_cautions(panel):
    """Covers, arc flash and shock, who may work and whom to call: on every finding. The direct-current side where it is,
    aluminium where the house's own circuits are.
    """
    from heatbrief_electrical import circuits, inverters, joint, motors, phases, single, twins

    air = {"air_around": Quantity.exact(30.0, "degC")}
    made = (
        panel()
        .part("a", 9.0, 32, 40, "pair")
        .part("b", 30.0, 32, 40, "pair")
        .part("c", 40.0, 12, 20)
        .part("spare", 9.0, 0.0, 20)
    )
    made.part("lug", 40.0, 60, 100, shows="lug").part("m1", 9.0, 8, 10, "m", "motor").part(
        "m2", 20.0, 8, 10, "m", "motor"
    )
    made.part("left", 9.0, 8, 10, "i", "inverter").part("right", 25.0, 8, 10, "i", "inverter")
    three = (
        panel("terminal")
        .part("x", 9.0, 8, 10, "t", phase="L1")
        .part("y", 9.0, 8, 10, "t", phase="L2")
        .part("z", 25.0, 8, 10, "t", phase="L3")
    )
    found = [
        one
        for module in (circuits, inverters, joint, motors, single, twins)
        for one in made.run(module.STEP, facts=air).findings
    ]
    found += three.run(phases.STEP, facts=air).findings
    assert {one.check.partition(".")[2] for one in found} >= {
        "circuits",
        "inverters",
        "motors",
        "single",
        "twins",
        "phases",
    }
    common = {"electrical.panels", "electrical.arc-flash", "electrical.qualified-persons"}
    assert all(common <= set(one.cautions) for one in found)
    solar = {one.region for one in found if "electrical.photovoltaics" in one.cautions}
    house = {one.region for one in found if "electrical.aluminium-wiring" in one.cautions}
    assert solar & {"left", "right"} and not solar & {"a", "b", "c", "lug", "m1", "m2", "x", "y", "z"}
    assert house & {"a", "b", "c"} and not house & {"left", "right", "m1", "m2"}


@pytest.mark.parametrize(("year", "said"), [(None, True), (1968.0, True), (1999.0, False)])
def test_aluminium_is_said_unless_the_house_was_wired_in_other_years(panel, year, said):
    """1965 to 1973 [seen: S21]; a house of unknown age may have it."""
    from heatbrief_electrical import twins

    facts = {} if year is None else {"year wired": Quantity.exact(year, "1")}
    made = panel().part("a", 9.0, 32, 40, "pair").part("b", 30.0, 32, 40, "pair")
    (one, *_) = made.run(twins.STEP, facts={"air_around": Quantity.exact(30.0, "degC"), **facts}).findings
    assert ("electrical.aluminium-wiring" in one.cautions) is said


def test_every_page_of_the_domain_and_every_check_carries_them(offers):
    from heatbrief_electrical.parts import ALWAYS

    assert set(ALWAYS) <= set(offers.domains["electrical"].cautions)
    assert all(set(ALWAYS) <= set(step.cautions) for step in offers.steps.values() if step.stage == "detect")
    said = " ".join(point for key in ALWAYS for point in offers.cautions[key].points).casefold()
    assert all(
        word in said
        for word in (
            "licensed electrician",
            "emergency service",
            "utility",
            "installer",
            "direct-current",
            "outlet",
            "dead front",
        )
    )


def test_every_class_row_names_its_table(panel):
    from heatbrief_electrical.twins import STEP as TWINS

    made = (
        panel()
        .part("a", 9.0, 32, 40, "pair", termination="standard breaker")
        .part("b", 30.0, 32, 40, "pair", termination="standard breaker")
    )
    (finding,) = made.run(TWINS, facts={"air_around": Quantity.exact(30.0, "degC")}).findings
    assert all(row["table"] and row["probability"] for row in finding.classes)
    assert {row["table"].split(",")[0].split(":")[0] for row in finding.classes} == {"NETA table 100.18", "limit"}, (
        "all three rules stand side by side"
    )
