"""The stated rule at its edges: exactly at a limit, just beside it, lopsided bounds, and which row is read first.

Shares of a normal distribution are those of scipy.stats; that 95 % lie within 1.96 standard deviations is in any table.
"""

from __future__ import annotations

import math

import pytest
from heatbrief.detect import Criterion, judge
from heatbrief.detect.judge import ODDS, REFLECTION, SIZE, WEIGHT, magnitude, share_above, step_of, step_of_gate
from heatbrief.model import Gate, Quantity, Rival
from scipy.special import expit, logit
from scipy.stats import norm

LIMIT = Criterion(1.0)
CLEAR = Quantity.exact(3.0, "K")
MET, OPEN, FAILED = (Gate("wind", passed, "asked and given") for passed in (True, None, False))
STEPS = dict(ODDS)


def contrast(low, value, high):
    return Quantity(value, "K", low, high)


def rivals(status, count=1, name="rival"):
    return tuple(Rival(f"{name} {number}", status, "evidence") for number in range(count))


def test_a_contrast_that_just_reaches_the_criterion_counts():
    """A check counts a difference as real from the criterion on, so the criterion itself is neither below nor in doubt."""
    assert judge(contrast(0.6, 0.8, 0.999), LIMIT).row == "below"
    assert judge(contrast(0.6, 0.8, 1.0), LIMIT).row != "below"
    assert judge(contrast(0.999, 1.5, 2.0), LIMIT).row == "straddles"
    assert judge(contrast(1.0, 1.5, 2.0), LIMIT).row == "above"
    assert [judge(Quantity.exact(value, "K"), LIMIT).verdict for value in (0.999, 1.0)] == ["normal", "defect"]


@pytest.mark.parametrize(
    ("low", "status", "strong", "row"),
    [
        (1.0, "not ruled out", (), "low probability"),  # all of it counts, and nothing strong is left
        (0.9, "not ruled out", (), "improbable"),  # the interval holds the criterion
        (1.0, "not ruled out", ("rival 0",), "improbable"),  # a strong rival is left
        (1.0, "not testable", ("rival 0",), "low probability"),  # a strong rival that nobody could test
    ],
)
def test_improbable_needs_the_criterion_inside_or_a_strong_rival(low, status, strong, row):
    found = rivals(status, 12)
    outcome = judge(contrast(low, 1.5, 2.0), LIMIT, (MET,), found, strong=strong)
    assert outcome.probability < 0.25 and outcome.row == row


def start_for(probability, *steps):
    """A contrast, 0.2 K wide to each side, that ends at a probability after these steps of the odds."""
    share = expit((logit(probability) - sum(STEPS[one] for one in steps)) / WEIGHT)
    value = 1.0 + 0.2 * norm.ppf(share) / norm.ppf(0.975)
    return contrast(value - 0.2, value, value + 0.2)


@pytest.mark.parametrize(("probability", "row"), [(0.2499, "improbable"), (0.25, "straddles"), (0.2501, "straddles")])
def test_a_quarter_itself_is_not_improbable(probability, row):
    outcome = judge(start_for(probability), LIMIT)
    assert (outcome.probability, outcome.row) == (pytest.approx(probability, abs=1e-9), row)


@pytest.mark.parametrize(("probability", "row"), [(0.8999, "low probability"), (0.9, "above"), (0.9001, "above")])
def test_nine_in_ten_are_enough_for_a_defect(probability, row):
    weak = ("other rival not testable",) * 5
    outcome = judge(start_for(probability, *weak), LIMIT, (), rivals("not testable", 5))
    assert (outcome.probability, outcome.row) == (pytest.approx(probability, abs=1e-9), row)


@pytest.mark.parametrize(
    ("gates", "found", "least", "most"),
    [
        ((), (), 0.9, 1.0),
        ((OPEN,), (), 0.5, 0.9),  # at most suspect, but rather so than not
        ((FAILED,), (), 0.0, 0.25),  # outside its conditions a check says little
        ((), rivals("not ruled out"), 0.9, 1.0),  # one weak rival alone does not stop a defect
        ((), (Rival(REFLECTION, "not ruled out", "it moved"),), 0.25, 0.5),  # rather the reflection, yet not improbable
        ((), (Rival(REFLECTION, "not testable", "one view"),), 0.9, 1.0),  # a second view is missing in most surveys
        ((Gate(SIZE, None, "about the limit"),), (), 0.9, 1.0),  # a size was measured; only the verdict is capped
    ],
)
def test_what_one_thing_alone_does_to_a_clear_contrast(gates, found, least, most):
    """What the verdicts mean: 90 % and more for a defect, below 25 % improbable (this project's rule)."""
    assert least <= judge(CLEAR, LIMIT, gates, found).probability < most


def test_conditions_that_were_met_move_nothing():
    plain = judge(contrast(0.8, 1.1, 1.3), LIMIT)
    assert judge(contrast(0.8, 1.1, 1.3), LIMIT, (MET, MET)).probability == plain.probability
    more = judge(contrast(0.8, 1.1, 1.3), LIMIT, (MET,), rivals("ruled out")).probability
    assert plain.probability < more < plain.probability + 0.1


def test_a_pattern_of_unknown_size_starts_from_even_odds():
    """Neither for nor against: half, whether nothing was measured or in another unit than the criterion's."""
    for unknown in (None, Quantity.exact(400.0, "count"), Quantity.exact(0.1, "count")):
        assert judge(unknown, LIMIT).probability == 0.5


def test_probabilities_have_four_decimals():
    found = judge(contrast(0.8, 1.1, 1.3), LIMIT).probability
    whole = expit(WEIGHT * logit(norm.cdf(0.1 / (0.3 / norm.ppf(0.975)))))
    assert found == round(whole, 4) and abs(found * 1000 - round(found * 1000)) > 0.05


@pytest.mark.parametrize(
    ("low", "value", "high", "limit", "share"),
    [
        (1.0, 2.0, 4.0, 3.0, norm.sf(1.0, scale=2.0 / norm.ppf(0.975))),  # upwards half as steep
        (1.0, 2.0, 4.0, 1.5, norm.cdf(0.5, scale=1.0 / norm.ppf(0.975))),
        (-4.0, -2.0, -1.0, 3.0, norm.sf(1.0, scale=2.0 / norm.ppf(0.975))),  # a cold one, mirrored
        (2.0, 2.0, 4.0, 2.0, 1.0),  # never below its value
        (2.0, 2.0, 4.0, 1.9, 1.0),
        (1.0, 2.0, 2.0, 2.1, 0.0),
        (1.0, 2.0, 2.0, 2.0, 0.5),
        (2.0, 2.0, 2.0, 2.1, 0.0),
    ],
)
def test_each_side_of_the_bounds_is_half_a_normal_distribution(low, value, high, limit, share):
    assert share_above(contrast(low, value, high), limit) == pytest.approx(share, abs=1e-9)


@pytest.mark.parametrize(
    ("given", "turned"),
    [
        ((-0.7, -0.5, -0.2), (0.5, 0.2, 0.7)),
        ((-3.0, -2.0, 1.0), (2.0, -1.0, 3.0)),
        ((0.2, 0.5, 0.7), (0.5, 0.2, 0.7)),
        ((-1.0, 0.0, 2.0), (0.0, -1.0, 2.0)),
    ],
)
def test_cold_contrasts_are_turned_over_with_their_bounds(given, turned):
    assert magnitude(contrast(*given)) == turned


@pytest.mark.parametrize(
    ("name", "status", "strong", "step"),
    [
        (REFLECTION, "not ruled out", False, "reflection not ruled out"),
        (REFLECTION, "not testable", True, "strong rival not testable"),
        (REFLECTION, "ruled out", True, "rival ruled out"),
        ("wet film", "not ruled out", True, "strong rival not ruled out"),
        ("wet film", "not ruled out", False, "other rival not ruled out"),
        ("wet film", "not testable", False, "other rival not testable"),
        ("wet film", "ruled out", False, "rival ruled out"),
    ],
)
def test_only_a_reflection_that_was_seen_has_a_step_of_its_own(name, status, strong, step):
    assert step_of(Rival(name, status, "evidence"), strong) == step and step in STEPS


@pytest.mark.parametrize(
    ("name", "passed", "step"),
    [
        (SIZE, None, "size not known"),
        (SIZE, False, "gate failed"),
        ("wind", None, "gate not known"),
        ("wind", False, "gate failed"),
    ],
)
def test_the_size_has_a_step_of_its_own_where_it_is_in_doubt(name, passed, step):
    assert step_of_gate(Gate(name, passed, "asked and given")) == step and step in STEPS


def test_rows_are_read_from_the_top():
    """Failed conditions before nothing measured, before below; unscaled before unknown conditions before strong rivals."""
    strong = rivals("not ruled out")
    counts = Quantity.exact(400.0, "count")
    assert judge(None, LIMIT, (FAILED,)).row == "gate failed"
    assert judge(counts, LIMIT, (OPEN,), strong, strong=("rival 0",)).row == "unscaled"
    assert judge(CLEAR, LIMIT, (OPEN,), strong, strong=("rival 0",)).row == "gate unknown"
    assert judge(CLEAR, LIMIT, (), strong, strong=("rival 0",)).row == "strong rival"
    assert judge(contrast(0.9, 1.5, 2.0), LIMIT, (OPEN,)).row == "straddles"
    assert judge(Quantity.exact(0.5, "K"), LIMIT, (OPEN,), strong, strong=("rival 0",)).row == "below"


def test_probability_keeps_away_from_certainty():
    """It never leaves 0.01 to 0.99 (this project's rule)."""
    sure = judge(Quantity.exact(50.0, "K"), LIMIT, (), rivals("ruled out", 12))
    lost = judge(Quantity.exact(0.1, "K"), LIMIT, (FAILED, OPEN), rivals("not ruled out", 12))
    assert (sure.probability, lost.probability) == (0.99, 0.01)
    assert math.isfinite(judge(Quantity.exact(0.0, "K"), LIMIT).probability)
