"""Which of a few like parts stand out, at the floor and at twice the floor, group by group."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief_vehicle.few import compare_few, false_alarm, flags, majority

FLOOR = 28.0
"""Least difference between exhaust runners that matters, 25 to 30 K (common practice; a case of 56 K seen)."""


@pytest.mark.parametrize(
    ("values", "middle"),
    [
        ([0, 10, 28, 100], 10.0),  # three of four within the floor itself
        ([0, 10, 28.1, 100], None),
        ([0, 10, 100, 110], None),  # half is no majority
        ([0, 10, 20, 28], 15.0),  # all four
        ([100, 28, 0, 10], 10.0),  # in any order
        ([0, 60, 70, 80], 70.0),
        ([0, 10, 20, 90, 95], 10.0),  # all but two
        ([0, 24, 26, 28, 53], 25.0),  # of equally many the first that are closest together
        ([0, 24, 26, 29, 51], 27.5),
        ([0, 2, 4, 6, 90, 95], 3.0),
        ([0, 2, 4, 90, 95, 99], None),
        ([0, 2, 4, 6, 90, 95, 99], None),  # more than half, but three are off
        ([0, 2, 4, 6, 8, 95, 99], 4.0),
        ([0, 2, 4, 6, 8, 10, 95, 99], 5.0),
        ([0, 2, 4, 6, 8, 90, 95, 99], None),
        ([0, 20, 100], 10.0),
        ([0, 29, 100], None),
    ],
)
def test_the_majority_lies_within_a_floor(values, middle):
    """More than half, and all but two at least (this project's rule); without one the median of all."""
    for sign in (1.0, -1.0):
        x = sign * np.array([values], float)
        found, at = majority(x, FLOOR)
        assert bool(found[0]) is (middle is not None)
        assert at[0] == pytest.approx(sign * (np.median(values) if middle is None else middle))


def test_groups_are_told_apart():
    found, at = majority(np.array([[0, 10, 28, 100], [0, 10, 100, 110], [0, 60, 70, 80]], float), FLOOR)
    assert found.tolist() == [True, False, True] and at.tolist() == [10.0, 55.0, 70.0]


@pytest.mark.parametrize(
    ("last", "flagged"),
    [(66.0, True), (65.9, False), (-46.0, True), (-45.9, False)],
)
def test_twice_the_floor_from_the_median_of_the_majority_stands_out(last, flagged):
    """0, 10 and 20 agree about 10; the modified z of the fourth is 4.1, below the 6.9 of four parts [computed]."""
    found = compare_few([0, 10, 20, last], FLOOR)
    assert found.flagged.tolist() == [False, False, False, flagged] and found.status == "compared"
    assert found.deviation.tolist() == pytest.approx([-10, 0, 10, last - 10])


@pytest.mark.parametrize(("last", "flagged"), [(28.0, True), (27.9, False), (-28.0, True), (-27.9, False)])
def test_one_floor_is_enough_where_the_others_hardly_differ(last, flagged):
    """Off by 0.1 K among themselves, so the modified z is far above 6.9; the floor itself counts."""
    row = [-0.1, 0.0, 0.1, last]
    assert flags(np.array([row]), FLOOR)[0].tolist() == [False, False, False, flagged]
    assert compare_few(row, FLOOR).flagged.tolist() == [False, False, False, flagged]


def test_exactly_equal_ones_leave_any_other_infinitely_far():
    assert flags(np.array([[5.0, 5, 5, 5, 40], [5, 5, 5, 5, 20], [5, 5, 5, 5, 5]]), FLOOR).sum(axis=1).tolist() == [
        1,
        0,
        0,
    ]


@pytest.mark.parametrize(
    ("values", "flagged"),
    [
        ([0, 0, 28], [2]),
        ([0, 0, 27.9], []),
        ([0, 27.9, 80], [2]),
        ([0, 28, 80], []),  # the other two do not agree
        ([-80, 0, 0], [0]),
        ([0, -80, 10], [1]),
        ([5, 5, 5], []),
    ],
)
def test_of_three_only_the_farthest_can_be_named(values, flagged):
    """The floor alone, and only where the other two agree (this project's rule); not compared by the second rule."""
    found = compare_few(values, FLOOR)
    assert (
        np.flatnonzero(found.flagged).tolist() == np.flatnonzero(flags(np.array([values]), FLOOR)).tolist() == flagged
    )
    assert found.status == ("no majority" if values == [0, 28, 80] else "low confidence")


@pytest.mark.parametrize(("values", "status"), [([], "too few"), ([3.0, 90.0], "too few")])
def test_pairs_are_not_compared(values, status):
    assert compare_few(values, FLOOR).status == status


def test_no_majority_leaves_the_plain_comparison():
    """Deviations are then from the median of the others."""
    found = compare_few([0, 20, 40, 60], FLOOR)
    assert found.deviation.tolist() == pytest.approx([-40, -20, 20, 40]) and not found.flagged.any()
    assert found.status == "no majority"
    spread = compare_few([0, 15, 29, 44, 58], FLOOR)
    assert spread.status == "compared" and not spread.flagged.any()
    assert spread.deviation.tolist() == pytest.approx([-36.5, -21.5, -0.5, 22, 36])


def test_half_far_off_is_not_usual():
    """Three of six far off are no few that stand out."""
    assert not flags(np.array([[0, 1, 2, 200, 210, 220]], float), FLOOR).any()


@pytest.mark.parametrize(("scatter", "rate"), [(0.0, 0.0), (0.1, 0.5), (0.2, 1.0), (5.0, None)])
def test_rates_start_from_nothing_and_stay_at_the_last(scatter, rate):
    """Linear from no scatter up to the first stated one."""
    first, last = false_alarm(3, 0.2), false_alarm(3, 1.0)
    assert false_alarm(3, scatter) == pytest.approx(last if rate is None else rate * first)
    assert false_alarm(9, scatter) == false_alarm(8, scatter)
