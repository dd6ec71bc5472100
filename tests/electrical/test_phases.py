"""One phase of three, the neutral, and what currents tell."""

from __future__ import annotations

import pytest
from heatbrief.model import Quantity
from heatbrief_electrical.phases import STEP
from heatbrief_electrical.twins import STEP as TWINS

AIR = {"air_around": Quantity.exact(30.0, "degC")}


def three(panel, rises, loads=(24.0, 24.0, 24.0), rated=40.0, neutral=None, neutral_load=None):
    made = panel(shows="terminal")
    for name, rise, load in zip(("L1", "L2", "L3"), rises, loads, strict=True):
        made.part(f"phase {name}", rise, load, rated if load else None, "supply", phase=name)
    if neutral is not None:
        made.part("neutral", neutral, neutral_load, rated if neutral_load else None, "supply", phase="N")
    return made


def test_one_warm_phase_at_equal_currents_is_a_joint(panel):
    """E16 [CP]: one phase of three warm, currents equal."""
    made = three(panel, (8.0, 8.0, 20.0))
    (finding,) = made.run(STEP, facts=AIR).findings
    assert (
        finding.region == "phase L3"
        and finding.verdict == "defect"
        and "joint or contact in that phase, not with unbalance" in finding.summary
    )
    assert finding.classes[0]["class"] == "probable deficiency" and finding.measured["current unbalance"].value == 0
    assert made.run(TWINS, facts=AIR).findings == (), "the three phases are left to this check"


def test_one_warm_phase_with_more_current_is_unbalance(panel):
    """E16 [CP]: one phase warm, current higher. 8 K at 24 A is 16.6 K at 36 A for n = 1.8."""
    (finding,) = three(panel, (8.0, 8.0, 8.0 * 1.5**1.8), (24.0, 24.0, 36.0)).run(STEP, facts=AIR).findings
    assert (
        finding.region == "phase L3"
        and "unbalanced loads, not with a joint" in finding.summary
        and finding.urgency == "plan"
    )
    assert finding.actions == ("electrical.balance-loads",) and finding.classes == ()
    assert finding.measured["current unbalance"].value == pytest.approx(8 / 28)


def test_more_warmth_than_the_current_explains_is_both(panel):
    (finding,) = three(panel, (8.0, 8.0, 40.0), (24.0, 24.0, 30.0)).run(STEP, facts=AIR).findings
    assert "joint or contact in that phase as well as unbalance" in finding.summary and finding.urgency in (
        "now",
        "soon",
    )


@pytest.mark.parametrize(
    ("loads", "said"),
    [((None, None, None), "currents are not all known"), ((24.0, None, 24.0), "currents are not all known")],
)
def test_without_currents_it_cannot_be_told(panel, loads, said):
    (finding,) = three(panel, (8.0, 8.0, 20.0), loads).run(STEP, facts=AIR).findings
    assert said in finding.summary and finding.classes == () and finding.verdict != "defect"


def test_even_phases_are_noted(panel):
    output = three(panel, (8.0, 8.5, 8.2)).run(STEP, facts=AIR)
    assert output.findings == () and "no phase is 3 K or more" in output.notes[0]


def test_a_warm_neutral_with_balanced_phases(panel):
    """30 % third harmonic: the neutral carries 90 % of the phase current [computed: K14], so it warms by 0.9^1.8 of a
    phase.
    """
    (finding,) = three(panel, (15.0, 15.0, 15.0), neutral=15.0 * 0.9**1.8).run(STEP, facts=AIR).findings
    third, current = (
        finding.measured[one] for one in ("third harmonic that would make it", "current that its warmth suggests")
    )
    assert finding.region == "neutral" and "third harmonics, or a neutral that other circuits share" in finding.summary
    assert (
        third.low < 0.30 < third.high
        and third.value == pytest.approx(0.30, abs=0.02)
        and current.value == pytest.approx(0.9 * 24, rel=0.03)
    )
    assert "electrical.measure-neutral" in finding.actions and finding.urgency == "soon"


def test_a_neutral_warm_by_its_own_unbalance_is_no_finding(panel):
    """60/40/20 A leave 34.6 A in the neutral [computed: K14]; its warmth goes with that."""
    loads = (60.0, 40.0, 20.0)
    rises = [12.0 * (load / 40.0) ** 1.8 for load in loads]
    output = three(panel, rises, loads, 80.0, neutral=12.0 * (34.64 / 40.0) ** 1.8).run(STEP, facts=AIR)
    assert not any(one.region == "neutral" for one in output.findings)


def test_a_neutral_warmer_than_its_recorded_current_explains(panel):
    (finding,) = three(panel, (15.0, 15.0, 15.0), neutral=20.0, neutral_load=8.0).run(STEP, facts=AIR).findings
    assert (
        "poor contact in the neutral itself" in finding.summary
        and "third harmonic that would make it" not in finding.measured
    )
