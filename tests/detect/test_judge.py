"""The stated rule, row by row, and what holds of it for any input."""

from __future__ import annotations

import pytest
from heatbrief.detect import ODDS, RULE, URGENCY_RULE, Criterion, gate_kinds, judge
from heatbrief.detect.judge import SIZE, share_above
from heatbrief.model import Gate, Quantity, Rival
from heatbrief.model.finding import URGENCIES, VERDICTS
from hypothesis import given
from hypothesis import strategies as st

LIMIT = Criterion(1.0, because="test")
CLEAR = Quantity.normal(2.0, "K", 0.1)
SMALL = Quantity.normal(0.5, "K", 0.1)
CLOSE = Quantity.normal(1.0, "K", 0.1)
MET, FAILED, OPEN = (Gate("wind", passed, "asked and given", remedy="wait") for passed in (True, False, None))


def rival(status, name="reflection"):
    return Rival(name, status, "evidence", "a second view" if status == "not testable" else "")


CASES = {
    "gate failed": (CLEAR, (MET, FAILED), (rival("ruled out"),)),
    "nothing measured": (None, (MET,), ()),
    "below": (SMALL, (MET, OPEN), (rival("not ruled out"),)),
    "straddles": (CLOSE, (MET,), (rival("ruled out"),)),
    "unscaled": (Quantity.normal(200, "count", 5), (MET,), ()),
    "gate unknown": (CLEAR, (MET, OPEN), (rival("ruled out"),)),
    "strong rival": (CLEAR, (MET,), (rival("not ruled out"),)),
    "improbable": (Quantity.normal(0.9, "K", 0.1), (MET,), (rival("not ruled out"),)),
    "low probability": (CLEAR, (MET,), tuple(rival("not testable", f"rival {n}") for n in range(5))),
    "above": (
        CLEAR,
        (MET,),
        (rival("ruled out"), rival("not testable", "wet film"), rival("not ruled out", "object edge")),
    ),
}


@pytest.mark.parametrize("row", RULE, ids=lambda row: row.key)
def test_every_row_of_the_rule(row):
    contrast, gates, rivals = CASES[row.key]
    outcome = judge(
        contrast, LIMIT, gates, rivals, severity="energy", strong=("reflection", *(f"rival {n}" for n in range(6)))
    )
    assert outcome.row == row.key
    assert outcome.verdict == row.then.removeprefix("at most ")
    assert row.when in outcome.reason and row.why
    assert outcome.urgency == URGENCY_RULE["energy"][outcome.verdict]


def test_the_rule_covers_all_rows_and_verdicts():
    assert set(CASES) == {row.key for row in RULE}
    assert all(set(row) == set(VERDICTS) and set(row.values()) <= set(URGENCIES) for row in URGENCY_RULE.values())


def test_a_weak_rival_that_survives_does_not_cap_but_a_strong_one_does():
    for strong, verdict in (((), "defect"), (("reflection",), "suspect")):
        assert judge(CLEAR, LIMIT, (MET,), (rival("not ruled out"),), strong=strong).verdict == verdict


def test_a_failed_gate_wins_over_a_small_contrast():
    assert judge(SMALL, LIMIT, (FAILED,)).verdict == "inconclusive"


def test_urgency_follows_severity_and_its_ceiling():
    assert judge(CLEAR, LIMIT, severity="safety").urgency == "now"
    assert judge(CLEAR, LIMIT, severity="safety", at_most="plan").urgency == "plan"
    assert judge(CLEAR, LIMIT, severity="comfort", at_most="now").urgency == "plan"
    assert judge(SMALL, LIMIT, severity="safety").urgency == "none"
    with pytest.raises(ValueError, match="severity"):
        judge(CLEAR, LIMIT, severity="panic")


def test_share_above_is_that_of_a_normal_distribution():
    """Central 95 % lies within 1.96 standard deviations, 97.5 % below the upper bound (normal table, computed)."""
    unit = Quantity.normal(0.0 + 2.0, "K", 1.0)
    assert share_above(unit, 2.0) == pytest.approx(0.5)
    assert share_above(unit, 1.0) == pytest.approx(0.841345, abs=1e-5)
    assert share_above(unit, unit.low) == pytest.approx(0.975, abs=1e-6)
    assert share_above(Quantity.exact(2.0, "K"), 2.0) == 1.0


def test_every_step_of_the_odds_moves_the_probability():
    steps = dict(ODDS)
    plain = judge(CLOSE, LIMIT).probability
    assert plain == pytest.approx(0.5, abs=1e-3)
    assert (
        judge(CLOSE, LIMIT, (OPEN,)).probability < plain
        and judge(CLOSE, LIMIT, (FAILED,)).probability < judge(CLOSE, LIMIT, (OPEN,)).probability
    )
    order = [
        judge(CLOSE, LIMIT, (), (rival(status),), strong=strong).probability
        for status, strong in (
            ("not ruled out", ("reflection",)),
            ("not ruled out", ()),
            ("not testable", ("reflection",)),
            ("not testable", ()),
            ("ruled out", ()),
        )
    ]
    assert order == sorted(order) and len(set(order)) == 5
    assert steps["rival ruled out"] > 0 > max(step for name, step in steps.items() if name != "rival ruled out")


def test_a_spot_about_as_small_as_the_limit_weighs_less_than_unknown_weather():
    """Both cap the verdict at suspect; the size was measured, so it says less against the finding."""
    assert gate_kinds()["spot"].title == SIZE
    small = Gate(SIZE, None, "asked and given", remedy="go nearer")
    outcome = judge(CLEAR, LIMIT, (small,))
    assert (outcome.verdict, outcome.row) == ("suspect", "gate unknown")
    assert judge(CLOSE, LIMIT, (OPEN,)).probability < judge(CLOSE, LIMIT, (small,)).probability
    failed = Gate(SIZE, False, "asked and given", remedy="go nearer")
    assert judge(CLEAR, LIMIT, (failed,)).verdict == "inconclusive"


contrasts = st.builds(Quantity.normal, st.floats(-50, 50), st.just("K"), st.floats(0, 5))
gates = st.lists(st.sampled_from((MET, FAILED, OPEN)), max_size=6)
rivals = st.lists(
    st.builds(rival, st.sampled_from(("ruled out", "not ruled out", "not testable")), st.sampled_from("abcd")),
    max_size=8,
)


@given(
    contrast=contrasts,
    gates=gates,
    rivals=rivals,
    severity=st.sampled_from(sorted(URGENCY_RULE)),
    at_most=st.sampled_from(URGENCIES),
)
def test_what_holds_for_any_input(contrast, gates, rivals, severity, at_most):
    outcome = judge(contrast, LIMIT, gates, rivals, severity=severity, strong=("a", "b"), at_most=at_most)
    assert 0.01 <= outcome.probability <= 0.99
    assert URGENCIES.index(outcome.urgency) >= min(URGENCIES.index(at_most), URGENCIES.index("none"))
    if any(gate.passed is False for gate in gates):
        assert outcome.verdict == "inconclusive"
    if outcome.verdict == "defect":
        assert all(gate.passed for gate in gates) and outcome.probability >= 0.75
        assert not any(one.status == "not ruled out" and one.explanation in "ab" for one in rivals)
    mirrored = Quantity(-contrast.value, "K", -contrast.high, -contrast.low)
    assert judge(mirrored, LIMIT, gates, rivals, severity=severity, strong=("a", "b"), at_most=at_most) == outcome
