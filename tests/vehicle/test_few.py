"""Small groups with known scatter: the stated rates of false alarms, two bad ones, and agreement of the two forms."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from heatbrief.physics.small_groups import compare_group, dixon_rejects
from heatbrief_vehicle.few import FALSE_ALARM, SCATTERS, compare_few, false_alarm, flags


@pytest.mark.parametrize("n", range(3, 9))
@pytest.mark.parametrize("scatter", [0.35, 0.5, 1.0])
def test_stated_rates_are_met_by_other_draws(n, scatter):
    """100 000 sound groups; the standard error of a rate is at most 0.16 points."""
    values = 28.0 * scatter * np.random.default_rng([n, 7]).standard_normal((100_000, n))
    assert flags(values, 28.0).any(axis=1).mean() == pytest.approx(false_alarm(n, scatter), abs=0.01)


def test_the_rate_is_interpolated_and_refuses_pairs():
    assert false_alarm(6, 0.425) == pytest.approx((FALSE_ALARM[6][1] + FALSE_ALARM[6][2]) / 2)
    assert false_alarm(12, 0.5) == FALSE_ALARM[8][2] and false_alarm(4, 9.0) == FALSE_ALARM[4][-1]
    assert all(len(row) == len(SCATTERS) for row in FALSE_ALARM.values())
    with pytest.raises(ValueError, match="3 parts"):
        false_alarm(2, 0.5)


@pytest.mark.parametrize("n", range(3, 9))
def test_one_group_and_many_groups_agree(n):
    random = np.random.default_rng(n)
    values = 15.0 * random.standard_normal((300, n)) - 70.0 * (random.random((300, n)) < 0.2)
    many = flags(values, 28.0)
    for row, expected in zip(values, many, strict=True):
        found = compare_few(row, 28.0)
        if found.status == "no majority":
            assert not found.flagged.any()
        else:
            assert found.flagged.tolist() == expected.tolist()


@pytest.mark.parametrize("n", range(3, 9))
def test_whatever_the_rule_without_scale_flags_is_flagged(n):
    random = np.random.default_rng(n + 50)
    values = 5.0 * random.standard_normal((200, n)) - 90.0 * (np.arange(n) == 1)
    for row in values:
        assert not np.any(compare_group(row, 28.0).flagged & ~compare_few(row, 28.0).flagged)


def test_two_bad_ones_do_not_hide_each_other():
    """410 402 398 405 300 295: Dixon keeps both, Q .043 (dossier V4, masking) [computed: K4]."""
    assert not dixon_rejects([410, 402, 398, 405, 300, 295])
    assert compare_few([410, 402, 398, 405, 300, 295], 28).flagged.tolist() == [False] * 4 + [True] * 2
    assert compare_few([410, 390, 398, 300, 295], 28).flagged.tolist() == [False] * 3 + [True] * 2


def test_four_with_one_far_away_where_the_scale_free_rule_is_blind():
    values = [300.0, 300.5, 322.0, 210.0]
    assert not compare_group(values, 28).flagged.any()
    assert compare_few(values, 28).flagged.tolist() == [False, False, False, True]


def test_half_and_half_names_nobody():
    assert compare_few([400, 402, 300, 298], 28).status == "no majority"
    assert compare_few([280, 276], 28).status == "too few"
    assert compare_few([280, 276, 205], 28).status == "low confidence"


def test_more_scatter_gives_more_false_alarms():
    for row in FALSE_ALARM.values():
        assert list(row) == sorted(row) and row[0] >= 0.0 and row[-1] <= 1.0
        assert max(b - a for a, b in itertools.pairwise(row)) < 0.25
