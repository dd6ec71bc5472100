"""A panel: loaded and warm is normal, the ranking, and the limit at the measured and at full load."""

from __future__ import annotations

import pytest
from heatbrief.model import Quantity
from heatbrief_electrical.circuits import STEP

AIR = {"air_around": Quantity.exact(30.0, "degC")}


def full_panel(panel, **changed):
    """Six circuits with the rises that 20 K at rated load and exponent 1.8 give."""
    loads = {"kitchen": (16, 20), "oven": (32, 40), "laundry": (10, 20), "bath": (12, 15), "lights": (2, 15), "garage": (9, 15)}
    made = panel()
    for name, (load, rated) in loads.items():
        made.part(name, changed.get(name, 20 * (load / rated) ** 1.8), load, rated)
    return made


def named(output, name):
    return [one for one in output.findings if one.region == name]


def test_a_warm_loaded_panel_is_normal(panel):
    output = full_panel(panel).run(STEP, facts=AIR)
    (finding,) = output.findings
    assert finding.verdict == "normal" and finding.urgency == "none" and "Loaded and warm is normal" in finding.summary
    assert "Not ranked, because the load was below 40 % or not recorded: lights" in finding.summary


def test_the_ranking_is_by_rise_at_full_load_not_by_temperature(panel):
    """A 10 A circuit with 8 K (27.9 K at 20 A) ranks above a 32 A circuit with 13.4 K (20 K at 40 A)."""
    finding = full_panel(panel, laundry=8.0).run(STEP, facts=AIR).findings[0]
    ranked = finding.summary.split("Ranked by the rise each would have at full load: ")[1]
    assert ranked.index("1. laundry") < ranked.index("oven")


def test_a_few_ampere_never_lead_the_ranking(panel):
    """E17: 3.0 K at 4 A would be 'worst' by a plain quotient; below 40 % load or 3 K it is not ranked [computed: K14]."""
    made = panel()
    for name, rise, load in zip("abcdefg", (3.0, 9.5, 2.1, 14.0, 6.0, 11.0, 1.0), (4, 12, 3, 12, 9, 16, 2), strict=True):
        made.part(name, rise, load, 20)
    finding = made.run(STEP, facts=AIR).findings[0]
    ranked = finding.summary.split("full load: ")[1].split("Not ranked")[0]
    assert ranked.startswith("1. d,") and not any(f" {name}," in ranked for name in "acg")


def test_a_circuit_that_stands_out_without_a_twin_is_at_most_suspect(panel):
    output = full_panel(panel, oven=28.0).run(STEP, facts=AIR)
    (finding,) = named(output, "oven")
    assert finding.verdict == "suspect" and "No comparison part" in finding.summary and "NETA table 100.18, above ambient air" in finding.summary
    assert finding.classes[0]["class"] == "monitor" and "electrical.restore-connection" in finding.actions


def test_the_limit_at_the_measured_load(panel):
    """100 A part, 50 K rated rise, 60 A: 18.0 to 22.1 K (n 2.0 to 1.6), 52.08, 49.94, 48.00 degC at 30 degC [computed: K1, E10]."""
    finding = panel().part("heat pump", 15.0, 60, 100).run(STEP, facts=AIR).findings[0]
    allowed = finding.measured["allowed rise at this load"]
    assert (allowed.low, allowed.value, allowed.high) == pytest.approx((18.0, 19.94, 22.08), abs=0.02)
    assert finding.verdict == "normal"
    over = panel().part("heat pump", 30.0, 60, 100).run(STEP, facts=AIR)
    (hot,) = named(over, "heat pump")
    assert hot.verdict in ("defect", "suspect") and hot.measured["margin at full load"].value < 0


def test_unknown_loads_give_no_verdict_of_normal(panel):
    (finding,) = panel().part("a", 9.0).part("b", 12.0).run(STEP, facts=AIR).findings
    assert finding.verdict == "inconclusive" and finding.urgency in ("watch", "plan") and finding.next_time


def test_a_load_above_the_rating_is_said(panel):
    finding = panel().part("heat pump", 15.0, 60, 50).run(STEP, facts=AIR).findings[0]
    assert "Recorded above its rating: heat pump" in finding.summary


def test_the_odd_twin_is_left_to_the_twins(panel):
    made = full_panel(panel).part("upper", 14.0, 32, 40, "charger").part("lower", 25.0, 32, 40, "charger")
    output = made.run(STEP, facts=AIR)
    assert not named(output, "lower") and "Reported by themselves: lower" in output.findings[0].summary
    assert output.findings[0].verdict == "normal"


def test_a_small_rise_is_not_referred_to_full_load(panel):
    finding = full_panel(panel, kitchen=2.0).run(STEP, facts=AIR).findings[0]
    assert "kitchen" not in finding.summary.split("full load: ")[1].split("Not ranked")[0]
