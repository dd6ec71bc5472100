"""The stated rule: what is left decides, with its bounds."""

from __future__ import annotations

import pytest
from heatbrief.compare.rule import EDGES, LEAST_SURE, RULE, decide, row
from heatbrief.model import Quantity
from hypothesis import given
from hypothesis import strategies as st


def left(value: float, half: float) -> Quantity:
    return Quantity(value, "1", value - half, value + half)


@pytest.mark.parametrize(
    ("value", "half", "outcome"),
    [
        (0.05, 0.1, "repaired"),
        (0.55, 0.1, "better"),
        (1.0, 0.15, "unchanged"),
        (1.7, 0.3, "worse"),
        (0.35, 0.8, "not comparable"),
        (-1.0, 0.2, "not comparable"),
        (-0.1, 0.2, "repaired"),
    ],
)
def test_what_is_left_decides(value, half, outcome):
    assert decide(left(value, half)).outcome == outcome


def test_a_defect_that_is_still_found_is_no_repair():
    found = decide(left(0.05, 0.05), still_found=True)
    assert (found.outcome, found.row) == ("better", "still found")


@given(st.floats(-1, 3), st.floats(0, 2))
def test_chances_are_shares_of_one_and_carry_the_outcome(value, half):
    found = decide(left(value, half))
    assert sum(found.chances.values()) == pytest.approx(1.0, abs=2e-4)
    if found.outcome != "not comparable":
        assert found.chances[found.outcome] >= LEAST_SURE or found.row == "still found"
    assert row(found.row) in RULE


@given(st.floats(0.01, 0.3), st.floats(-0.2, 1.9))
def test_more_left_never_reads_better(half, value):
    order = ("repaired", "better", "unchanged", "worse")
    one, two = decide(left(value, half)).outcome, decide(left(value + 0.2, half)).outcome
    if "not comparable" not in (one, two):
        assert order.index(one) <= order.index(two)


def test_exact_amounts_fall_on_their_side_of_the_edges():
    exact = [decide(Quantity.exact(edge - 0.01, "1")).outcome for edge in EDGES] + [
        decide(Quantity.exact(EDGES[2] + 0.01, "1")).outcome
    ]
    assert exact == ["repaired", "better", "unchanged", "worse"]


def test_every_row_says_what_and_why_and_has_a_key_of_its_own():
    assert len({one.key for one in RULE}) == len(RULE)
    assert all(
        one.when and one.why and one.then in ("repaired", "better", "unchanged", "worse", "not comparable")
        for one in RULE
    )
