"""Gates against the published conditions, by number."""

from __future__ import annotations

import pytest
from heatbrief.detect import Case, gate_rules, gate_sources, rule_for, rule_sets, survey_gate
from heatbrief.detect.gates import MARKS
from heatbrief.errors import StepError
from heatbrief.model import Quantity, Region

# envelope dossier 5.1 and domains dossier 1.1 to 1.5; mark beside each value
PUBLISHED = [
    ("difference", "insulation", "astm-c1060", 10, "memory"),
    ("difference", "insulation", "resnet-2010", 10, "memory"),
    ("difference", "insulation", "uk-practice", 10, "seen"),
    ("difference", "insulation", "canada-practice", 10, "seen"),
    ("difference", "air leakage", "resnet-2010", 1.7, "memory"),
    ("difference", "air leakage", "astm-e1186", 5, "memory"),
    ("difference", "air leakage", "us-army", 5.5, "seen"),
    ("steady", "insulation", "astm-c1060", 4, "memory"),
    ("steady", "insulation", "en-13187", 24, "memory"),
    ("steady", "insulation", "uk-practice", 24, "seen"),
    ("sun", "insulation", "astm-c1060", 3, "seen"),
    ("sun", "insulation", "astm-c1060-masonry", 8, "memory"),
    ("sun", "insulation", "en-13187", 12, "memory"),
    ("sun", "insulation", "uk-practice", 2, "seen"),
    ("wind", "insulation", "astm-c1060", 15 * 0.44704, "seen"),
    ("wind", "insulation", "uk-practice", 5, "seen"),
    ("wind", "roof moisture", "astm-c1153", 25 / 3.6, "memory"),
    ("rain", "insulation", "uk-practice", 24, "seen"),
    ("rain", "insulation", "uk-practice-light", 12, "seen"),
    ("rain", "roof moisture", "astm-c1153", 24, "memory"),
    ("rain", "roof moisture", "roof-practice", 48, "seen"),
    ("load", "electrical", "load-40", 0.40, "seen"),
    ("load", "electrical", "load-50", 0.50, "seen"),
    ("load", "electrical", "european-practice", 0.75, "seen"),
    ("spot", "electrical", "common-practice", 3, "common practice"),
    ("spot", "electrical", "budzier-gerlach-2021", 4, "seen"),
    ("spot", "electrical", "pusnik-gersak-2021", 10, "seen"),
    ("emissivity", "electrical", "common-practice", 0.6, "common practice"),
    ("angle", "envelope", "common-practice", 60, "common practice"),
    ("pressure", "air leakage", "us-army", 25, "seen"),
]


@pytest.mark.parametrize(("gate", "purpose", "rule_set", "value", "mark"), PUBLISHED)
def test_limits_are_those_published(gate, purpose, rule_set, value, mark):
    rule = rule_for(gate, purpose, rule_set)
    assert rule.rule_set == rule_set and rule.mark == mark
    assert rule.value == pytest.approx(value, rel=2e-3)


@pytest.mark.parametrize(
    ("gate", "purpose", "default", "strictest"),
    [
        ("difference", "insulation", 10, 10),
        ("steady", "insulation", 24, 24),
        ("sun", "insulation", 12, 12),
        ("wind", "insulation", 5, 5),
        ("rain", "roof moisture", 48, 48),
        ("difference", "air leakage", 5.5, 5.5),
        ("load", "electrical", 0.40, 0.75),
        ("spot", "electrical", 3, 10),
    ],
)
def test_contradictions_go_to_the_stricter_but_for_two_stated_decisions(gate, purpose, default, strictest):
    assert rule_for(gate, purpose).value == default
    assert rule_for(gate, purpose, "strictest").value == strictest


def case(make, purpose="insulation", rule_set="default", region=None, view=None, facts=None, **conditions):
    return Case(
        "envelope.test",
        "envelope",
        make.picture((60, 80)),
        make.context(view=view, facts=facts, **conditions),
        region=region,
        purpose=purpose,
        rule_set=rule_set,
    )


@pytest.mark.parametrize(
    ("inside", "outside", "passed"), [(24, 38, True), (20, 10, True), (20, 12, False), (20, None, None)]
)
def test_inside_outside_difference_counts_in_either_direction(make, inside, outside, passed):
    given = {"inside_air": inside} | ({} if outside is None else {"outside_air": outside})
    gate = survey_gate(case(make, **given), "difference")
    assert gate.passed is passed and "10 K" in gate.reason
    assert bool(gate.remedy) == (passed is not True)


def test_bounds_that_hold_the_limit_leave_a_gate_open(make):
    about = case(make, inside_air=20)
    given = about.conditions
    object.__setattr__(given, "outside_air", Quantity.between(9.5, 10.5, "degC"))
    assert survey_gate(about, "difference").passed is None


@pytest.mark.parametrize(("u_value", "limit"), [(0.15, 20), (0.2, 15), (0.3, 10), (0.5, 6), (0.6, 5), (1.0, 5)])
def test_en_13187_asks_for_three_over_u(make, u_value, limit):
    """EX-5.1 of the envelope dossier: max(5, 3/U) [computed on memory: EN 13187]."""
    facts = {"u_value": Quantity.exact(u_value, "W/m2/K")}
    for given, passed in ((limit + 0.01, True), (limit - 0.01, False)):
        gate = survey_gate(case(make, rule_set="en-13187", facts=facts, inside_air=given, outside_air=0), "difference")
        assert gate.passed is passed and f"{limit} K" in gate.reason


@pytest.mark.parametrize(
    ("rule_set", "conditions", "passed"),
    [
        ("default", {"sun": "none", "hours_without_sun": 11}, False),
        ("default", {"hours_without_sun": 12}, True),
        ("astm-c1060", {"hours_without_sun": 3}, True),
        ("astm-c1060", {"sun": "direct", "hours_without_sun": 9}, False),
        ("astm-c1060", {"sun": "none"}, None),
        ("astm-c1060", {}, None),
    ],
)
def test_sun(make, rule_set, conditions, passed):
    assert survey_gate(case(make, rule_set=rule_set, **conditions), "sun").passed is passed


def test_electrical_gates_of_the_dossier(make):
    """Domains dossier 1.5: load known and at least 40 %, emissivity at least 0.6, 3 x 3 px,
    wind at most 4 to 5 m/s, no sun on the part.
    """

    def gate(name, region=None, **conditions):
        return survey_gate(case(make, "electrical", region=region, **conditions), name)

    def loaded(amperes):
        return Region(
            "breaker",
            "north-wall",
            "box",
            ((10, 10), (12, 20)),
            facts={"load": Quantity.exact(amperes, "A"), "rated": Quantity.exact(20, "A")},
        )

    assert gate("load").passed is None
    assert gate("load", loaded(7.9)).passed is False
    assert gate("load", loaded(8)).passed is True and "low load" in gate("load", loaded(8)).reason
    assert "low load" not in gate("load", loaded(12)).reason
    assert "40 %" in gate("load", loaded(7)).reason and "licensed" in gate("load", loaded(7)).remedy
    assert gate("spot", loaded(8)).passed is False and gate("spot").passed is True
    assert gate("emissivity").passed is True
    bright = Region("lug", "north-wall", "box", ((10, 10), (30, 30)), emissivity=Quantity.exact(0.3, "1"))
    assert gate("emissivity", bright).passed is False
    assert gate("wind", wind=4).passed is True and gate("wind", wind=4.5).passed is False
    assert gate("sun", sun="none").passed is True and gate("sun", sun="direct").passed is False


def test_other_gates(make):
    assert survey_gate(case(make, view=make.View(tilt=make.exact(61, "deg"))), "angle").passed is False
    assert survey_gate(case(make, "air leakage", pressure_difference=-25), "pressure").passed is True
    # above 80 % the absence of a cold spot proves nothing (domains dossier P5 c, computed)
    assert survey_gate(case(make, "moisture", humidity=0.81), "humidity").passed is False
    assert survey_gate(case(make, hours_without_rain=23), "rain").passed is False
    assert survey_gate(case(make, hours_steady=24), "steady").passed is True


def test_names_are_checked_and_sources_exist():
    with pytest.raises(StepError, match="moonlight"):
        rule_for("wind", "insulation", "moonlight")
    with pytest.raises(ValueError, match="steady"):
        rule_for("steady", "vehicle")
    assert rule_for("rain", "insulation", "astm-c1060").rule_set == "uk-practice"
    keys = {source.key for source in gate_sources()}
    for rule in gate_rules():
        assert rule.mark in MARKS and (rule.source in keys or (not rule.source and rule.mark == "common practice"))
    assert rule_sets("electrical")[:2] == ("default", "strictest")
