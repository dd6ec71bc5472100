"""A panel: loaded and warm is normal, the ranking, and the limit at the measured and at full load."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.model import Quantity
from heatbrief.physics.electrical import normalised_rise
from heatbrief_electrical.circuits import STEP

AIR = {"air_around": Quantity.exact(30.0, "degC")}


def full_panel(panel, **changed):
    """Six circuits with the rises that 20 K at rated load and exponent 1.8 give."""
    loads = {
        "kitchen": (16, 20),
        "oven": (32, 40),
        "laundry": (10, 20),
        "bath": (12, 15),
        "lights": (2, 15),
        "garage": (9, 15),
    }
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
    assert "1. laundry" in finding.summary.split("Ranked by the rise each would have at full load, counted from ")[1]
    places = [row["circuit"] for row in finding.classes]
    assert places[0] == "1. laundry" and any(one.endswith(". oven") for one in places[1:])


def test_a_few_ampere_never_lead_the_ranking(panel):
    """E17: 3.0 K at 4 A would be 'worst' by a plain quotient; below 40 % load or 3 K it is not ranked [computed:
    K14].
    """
    made = panel()
    for name, rise, load in zip(
        "abcdefg", (3.0, 9.5, 2.1, 14.0, 6.0, 11.0, 1.0), (4, 12, 3, 12, 9, 16, 2), strict=True
    ):
        made.part(name, rise, load, 20)
    finding = made.run(STEP, facts=AIR).findings[0]
    ranked = finding.summary.split("at full load, counted from ")[1].split(": ", 1)[1].split("Not ranked")[0]
    assert ranked.startswith("1. d,") and not any(f" {name}," in ranked for name in "acg")


def test_a_circuit_that_stands_out_without_a_twin_is_at_most_suspect(panel):
    output = full_panel(panel, oven=28.0).run(STEP, facts=AIR)
    (finding,) = named(output, "oven")
    assert (
        finding.verdict == "suspect"
        and "No comparison part" in finding.summary
        and "NETA table 100.18, above ambient air" in finding.summary
    )
    assert finding.classes[0]["class"] == "monitor" and "electrical.restore-connection" in finding.actions


def test_the_limit_at_the_measured_load(panel):
    """100 A part, 50 K rated rise, 60 A: 18.0 to 22.1 K (n 2.0 to 1.6), 52.08, 49.94, 48.00 degC at 30 degC [computed:
    K1, E10].
    """
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
    assert (
        "kitchen"
        not in finding.summary.split("at full load, counted from ")[1].split(": ", 1)[1].split("Not ranked")[0]
    )


def test_e17_ratios_and_why_small_loads_are_left_out():
    """E17: rise over I^1.8 to its median is 1.55, 0.68, 1.82, 1.00, 0.72, 0.47, 1.80 [computed: K14]; 2 to 4 A would
    lead.
    """
    rises, amps = np.array([3.0, 9.5, 2.1, 14.0, 6.0, 11.0, 1.0]), np.array([4, 12, 3, 12, 9, 16, 2])
    ratio = normalised_rise(rises, amps)
    ratio = ratio / np.median(ratio)
    assert ratio == pytest.approx([1.55, 0.68, 1.82, 1.00, 0.72, 0.47, 1.80], abs=0.006)
    assert set(amps[np.argsort(-ratio)[:3]]) == {2, 3, 4}


def rows(finding):
    return {row["circuit"].rpartition(". ")[2]: row for row in finding.classes}


def test_the_owner_can_read_which_circuits_run(panel):
    found = rows(full_panel(panel).run(STEP, facts=AIR).findings[0])
    assert "which is normal" in found["oven"]["says"] and found["lights"]["says"] == "running at low load"
    assert found["oven"]["load"] == "32 A, 80 % of its rating" and "not a published class" in found["oven"]["table"]
    assert "Most current was recorded on oven (32 A)" in full_panel(panel).run(STEP, facts=AIR).findings[0].summary


def test_unrecorded_circuits_are_read_by_their_warmth(panel):
    (finding,) = panel().part("kitchen", 12.0).part("hall", 0.2).part("oven", 16.0).run(STEP, facts=AIR).findings
    found = rows(finding)
    assert "probably running" in found["oven"]["says"] and "idle or little load" in found["hall"]["says"]
    assert "the warmest drawing most: oven, kitchen" in finding.summary and finding.urgency != "now"


def test_an_idle_warm_breaker_is_referred(panel):
    """E16 [CP]: warm at idle is electronics or neighbour heat; else refer."""
    (finding,) = named(
        full_panel(panel).part("spare", 9.0, 0.0, 20).part("dryer", 0.1, 0.0, 30).run(STEP, facts=AIR), "spare"
    )
    assert finding.verdict == "suspect" and finding.urgency == "plan" and "electronics" in finding.summary
    assert finding.actions == ("electrical.identify-breaker",) and finding.classes == ()


@pytest.mark.parametrize(
    ("facts", "above", "said"), [({"electronics": "yes"}, 5.0, "electronics, as stated"), ({}, 20.0, "parts beside it")]
)
def test_an_idle_warm_breaker_that_is_explained(panel, facts, above, said):
    made = panel().part("oven", above, 32, 40).part("spare", 9.0, 0.0, 20, **facts)
    output = made.run(STEP, facts=AIR)
    assert not named(output, "spare") and said in rows(output.findings[0])["spare"]["says"]


def test_idle_breakers_are_the_zero_of_the_ranking(panel):
    """A panel 4 K warmer inside and a camera 2 K off leave the ranking as it is: both are in the idle breakers too."""

    def ranked(offset):
        made = panel(offset=offset)
        for name, load, warmth in (("low", 9.0, 20.0), ("high", 19.0, 24.0), ("idle", 0.0, 0.0)):
            made.part(name, warmth * (load / 20.0) ** 1.8, load, 20.0)
        return [row["circuit"] for row in made.run(STEP, facts=AIR).findings[0].classes]

    assert ranked(0.0)[:2] == ranked(6.0)[:2] == ["1. high", "2. low"]


def test_the_lowest_limit_counts_for_a_circuit(panel):
    """60 degC insulation at 30 degC air leaves 30 K, not 50 K: at 80 % 20.1 K (n 1.8), so 26 K is above it."""
    output = panel().part("heater", 26.0, 16, 20, insulation="TW").run(STEP, facts=AIR)
    (finding,) = named(output, "heater")
    assert "insulation TW" in finding.summary and finding.measured["allowed rise at this load"].value == pytest.approx(
        30 * 0.8**1.8, abs=0.1
    )
    assert not named(panel().part("heater", 26.0, 16, 20).run(STEP, facts=AIR), "heater")


def test_the_ambient_table_can_be_chosen(panel):
    (finding,) = named(full_panel(panel, oven=28.0).run(STEP, facts=AIR, ambient_table="mil-std-2194"), "oven")
    assert "MIL-STD-2194" in finding.summary and finding.classes[0]["class"] == "failure probable"
