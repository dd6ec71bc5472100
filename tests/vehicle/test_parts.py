"""Hoses, belts, charging, converter: pictures with known truth."""

from __future__ import annotations

import pytest
from heatbrief.api import Context, View
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import run_step, thermogram
from heatbrief_vehicle import belts, charging, converter, hoses


def run(step, parts, facts=None):
    """parts: {name: (shows, degC, facts)}, side by side in a picture of 40 degC."""
    patches = [((10 + 30 * place, 20, 24, 60), celsius - 40.0) for place, (_, celsius, _) in enumerate(parts.values())]
    subject = thermogram(40.0, patches, emissivity=0.9, width=20 + 30 * len(parts), height=100)
    regions = tuple(
        Region(name, subject.id, "box", ((14 + 30 * place, 26), (30 + 30 * place, 74)), shows, group="one", facts=own)
        for place, (name, (shows, _, own)) in enumerate(parts.items())
    )
    given = Context(
        conditions=Conditions(sun="none", outside_air=Quantity.exact(25, "degC")),
        view=View(thermogram=subject.id, emissivity=Quantity.exact(0.9, "1"), reflected=Quantity.exact(40, "degC")),
        regions=regions,
        facts={"second view": "same place", "same material": "yes", **(facts or {})},
    )
    return run_step(step, subject, given)


def hose(upper, lower, kinds=("upper", "lower")):
    parts = {
        f"{kind} hose": ("radiator hose", value, {"hose": kind})
        for kind, value in zip(kinds, (upper, lower), strict=True)
    }
    return run(hoses.STEP, parts).findings[0]


def test_hoses_with_flow_are_normal():
    finding = hose(88.0, 79.0)
    assert finding.verdict == "normal" and "both carry coolant" in finding.summary


def test_a_cold_lower_hose_is_suspected():
    finding = hose(95.0, 45.0)
    assert finding.verdict == "suspect" and "little flow through the radiator" in finding.summary


def test_coolant_that_enters_below_is_said():
    assert "seems to enter there" in hose(79.0, 88.0).summary


def test_heater_hoses_and_a_cold_engine():
    assert "through the heater" in hose(88.0, 45.0, ("heater inlet", "heater outlet")).summary
    assert hose(50.0, 42.0).verdict == "inconclusive"


def test_a_single_hose_is_noted():
    output = run(hoses.STEP, {"a": ("radiator hose", 80.0, {"hose": "upper"})})
    assert output.findings == () and "hose: lower" in output.notes[0]


STOPPED = {"since_stop": Quantity.exact(60, "s")}


def pulleys(*celsius, belt=None, facts=None):
    parts = {f"pulley {number}": ("idler pulley", value, {}) for number, value in enumerate(celsius, 1)}
    if belt is not None:
        parts["the belt"] = ("drive belt", belt, {})
    return run(belts.STEP, parts, STOPPED if facts is None else facts)


def test_a_hot_pulley_is_named():
    (finding,) = pulleys(60.0, 62.0, 59.0, 120.0).findings
    assert (
        finding.region == "pulley 4"
        and finding.verdict == "defect"
        and finding.urgency == "plan"
        and "bearing" in finding.summary
    )


def test_like_pulleys_are_normal_and_a_hot_belt_is_seen():
    pulley, belt = pulleys(60.0, 62.0, 59.0, belt=95.0).findings
    assert pulley.verdict == "normal" and belt.verdict == "defect" and "slips" in belt.summary


def test_belts_need_the_engine_just_stopped():
    assert pulleys(60.0, 62.0, 59.0, 120.0, facts={}).findings[0].verdict == "suspect"
    late = {"since_stop": Quantity.exact(900, "s")}
    assert pulleys(60.0, 62.0, 59.0, 120.0, facts=late).findings[0].verdict == "inconclusive"


CHARGING = {"current through": "charging"}


def test_a_terminal_warmer_than_its_cable():
    parts = {"clamp": ("battery terminal", 62.0, {}), "cable": ("battery cable", 45.0, {})}
    (finding,) = run(charging.STEP, parts, CHARGING).findings
    assert finding.verdict == "defect" and finding.region == "clamp" and "resistance in that joint" in finding.summary


def test_without_current_a_joint_tells_nothing():
    parts = {"clamp": ("battery terminal", 62.0, {}), "cable": ("battery cable", 45.0, {})}
    assert run(charging.STEP, parts, {"current through": "none"}).findings[0].verdict == "inconclusive"


def test_posts_alike_and_a_terminal_cooler_than_its_cable():
    parts = {"plus": ("battery post", 41.0, {}), "minus": ("battery post", 40.0, {})}
    assert run(charging.STEP, parts, CHARGING).findings[0].verdict == "normal"
    parts = {"clamp": ("battery terminal", 41.0, {}), "cable": ("battery cable", 48.0, {})}
    output = run(charging.STEP, parts, CHARGING)
    assert output.findings == () and "no terminal is warmer" in output.notes[0]


@pytest.mark.parametrize(("celsius", "verdict"), [(95.0, "normal"), (150.0, "defect")])
def test_the_alternators_body(celsius, verdict):
    (finding,) = run(charging.STEP, {"alternator": ("alternator body", celsius, {})}).findings
    assert finding.verdict == verdict


def test_a_warm_cell():
    subject = thermogram(35.0, [((60, 40, 24, 30), 9.0)], emissivity=0.95)
    region = Region("battery", subject.id, "box", ((10, 10), (150, 110)), "battery case")
    view = View(thermogram=subject.id, emissivity=Quantity.exact(0.95, "1"))
    given = Context(view=view, regions=(region,), facts={"second view": "same place", "same material": "yes"})
    (finding,) = charging.STEP.run(subject, charging.STEP.settings(), given.only(charging.STEP.reads)).findings
    assert (
        finding.verdict in ("defect", "suspect")
        and "stop charging" in finding.summary
        and "vehicle.battery" in finding.cautions
    )


@pytest.mark.parametrize("gain", [-40.0, 0.0, 20.0, 60.0, 130.0])
def test_the_converter_is_weak_evidence_whatever_it_reads(gain):
    """Dossier 3.5 and T9: outlet 56 K hotter, 17 K at 2500 rpm, always cooler: three texts that disagree [seen:
    S65a-c]."""
    parts = {"in": ("converter inlet", 300.0, {"shielded": "no"}), "out": ("converter outlet", 300.0 + gain, {})}
    (finding,) = run(converter.STEP, parts).findings
    assert finding.verdict in ("inconclusive", "suspect") and (finding.verdict == "suspect") == (gain > 111)
    assert all(word in finding.summary for word in ("older rule", "newer one", "third opinion", "weak evidence"))
    assert "failed" not in finding.summary
