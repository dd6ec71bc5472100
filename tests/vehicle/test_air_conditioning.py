"""Vents and refrigerant against the factory table (dossier V5) [seen: S66], and saturation from CoolProp."""

from __future__ import annotations

import pytest
from heatbrief.api import Context, View
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import run_step, thermogram
from heatbrief_vehicle import ac_lines, vent_check
from heatbrief_vehicle.vents import (
    AMBIENTS_C,
    HIGH_C,
    LOW_C,
    expected_drop,
    expected_saturation,
    expected_vent,
)

TABLE = [
    (20, 0.55, 6.0, 8.0), (25, 0.55, 8.4, 10.9), (30, 0.55, 14.5, 17.5),
    (20, 0.65, 7.1, 9.1), (25, 0.65, 10.9, 13.4), (30, 0.65, 17.5, 20.5),
]  # fmt: skip
LOW_KPA = ((171.0, 209.0), (196.0, 240.0), (229.0, 280.0), (292.0, 357.0))
HIGH_KPA = ((1204.0, 1471.0), (1300.0, 1590.0), (1500.0, 1820.0), (1870.0, 2285.0))
"""The table's gauge pressures [kPa] at 50 to 70 % humidity by ambient [seen: S66]."""


@pytest.mark.parametrize(("inlet", "humidity", "low", "high"), TABLE)
def test_the_table_is_met(inlet, humidity, low, high):
    found = expected_vent(inlet, humidity)
    assert (found.low, found.high) == pytest.approx((low, high))
    drop = expected_drop(inlet, humidity)
    assert (drop.low, drop.high) == pytest.approx((inlet - high, inlet - low))


def test_there_is_no_fixed_drop_of_20_k():
    """Implied drops are 9.5 to 16.6 K [computed: K14]; none reaches 20 K, and they differ by 7 K."""
    drops = [expected_drop(inlet, humidity) for inlet, humidity, *_ in TABLE]
    assert max(one.high for one in drops) == pytest.approx(16.6) and min(one.low for one in drops) == pytest.approx(9.5)


@pytest.mark.parametrize(("inlet", "humidity"), [(19, 0.6), (31, 0.6), (25, 0.4), (25, 0.8)])
def test_outside_the_table_nothing_is_expected(inlet, humidity):
    assert expected_vent(inlet, humidity) is None and expected_drop(inlet, humidity) is None


@pytest.mark.parametrize("place", range(4))
def test_saturation_is_that_of_a_reference_library(place):
    """R134a from CoolProp at gauge pressure plus 101.325 kPa; printed to 0.1 K."""
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    for kpa, celsius in ((LOW_KPA, LOW_C), (HIGH_KPA, HIGH_C)):
        for pressure, expected in zip(kpa[place], celsius[place], strict=True):
            found = coolprop.PropsSI("T", "P", (pressure + 101.325) * 1e3, "Q", 1, "R134a") - 273.15
            assert found == pytest.approx(expected, abs=0.06)
    low, high = expected_saturation(AMBIENTS_C[place])
    assert (low.low, high.high) == (LOW_C[place][0], HIGH_C[place][1])
    assert expected_saturation(10.0) is None


def run(step, celsius, shows, facts=None, air=25.0, humidity=0.55):
    subject = thermogram(25.0, [((40, 30, 60, 40), celsius - 25.0)], emissivity=0.95)
    region = Region("the part", subject.id, "box", ((45, 35), (95, 65)), shows)
    given = Context(
        conditions=Conditions(
            outside_air=Quantity.exact(air, "degC"), outside_humidity=Quantity.exact(humidity, "1"), sun="none"
        ),
        view=View(thermogram=subject.id, emissivity=Quantity.exact(0.95, "1")),
        regions=(region,),
        facts={
            "ac_running": Quantity.exact(10, "min"),
            "second view": "same place",
            "same material": "yes",
            **(facts or {}),
        },
    )
    return run_step(step, subject, given)


@pytest.mark.parametrize(("celsius", "verdict"), [(9.5, "normal"), (24.0, "suspect")])
def test_vents(celsius, verdict):
    (finding,) = run(vent_check.STEP, celsius, "air conditioning vent").findings
    assert finding.verdict == verdict
    assert finding.measured["expected vent temperature"].low == pytest.approx(8.4)
    assert "8.4 to 10.9 degC" in finding.summary


@pytest.mark.parametrize("more", [{"air": 35.0}, {"humidity": 0.3}])
def test_a_vent_outside_the_table_is_open(more):
    (finding,) = run(vent_check.STEP, 20.0, "air conditioning vent", **more).findings
    assert finding.verdict == "inconclusive" and finding.next_time


@pytest.mark.parametrize(
    ("kind", "celsius", "verdict"),
    [("suction", 8.0, "normal"), ("suction", 26.0, "suspect"), ("liquid", 45.0, "normal"), ("liquid", 24.0, "suspect")],
)
def test_lines(kind, celsius, verdict):
    (finding,) = run(ac_lines.STEP, celsius, f"{kind} line").findings
    assert finding.verdict == verdict and finding.actions == (
        () if verdict == "normal" else ("vehicle.check-air-conditioning",)
    )


def test_a_line_of_no_known_kind_is_noted():
    output = run(ac_lines.STEP, 8.0, "refrigerant line")
    assert output.findings == () and "line: suction" in output.notes[0]
    (finding,) = run(ac_lines.STEP, 8.0, "refrigerant line", {"line": "suction"}).findings
    assert "as usual" in finding.title


def test_a_cool_patch_of_the_condenser_is_never_a_defect():
    subject = thermogram(50.0, [((60, 50, 30, 12), -9.0)], emissivity=0.95)
    region = Region("condenser", subject.id, "box", ((10, 10), (150, 110)), "air conditioning condenser")
    given = Context(view=View(thermogram=subject.id, emissivity=Quantity.exact(0.95, "1")), regions=(region,))
    (finding,) = ac_lines.STEP.run(subject, ac_lines.STEP.settings(), given.only(ac_lines.STEP.reads)).findings
    assert finding.verdict == "suspect" and "ordinary end of the condenser" in finding.summary
