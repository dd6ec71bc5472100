"""The rule of repairs at its edges, what is promised and gone, and what makes measures comparable."""

from __future__ import annotations

import itertools
from types import SimpleNamespace

import pytest
from heatbrief.compare.amounts import amounts, stated, totals
from heatbrief.compare.kinds import OUTDOORS, SUNNY, kind_of
from heatbrief.compare.rise import _blown
from heatbrief.compare.rule import EDGES, WIDE_EDGES, decide, refused, row
from heatbrief.model import Estimate, Quantity
from heatbrief.model.comparison import ComparedFinding
from scipy.stats import norm

Z95 = norm.ppf(0.975)


def left(low, value, high):
    return Quantity(value, "1", low, high)


@pytest.mark.parametrize(
    ("value", "outcome"),
    [
        (0.3499, "repaired"),
        (0.35, "better"),  # what a row begins with belongs to it
        (0.7999, "better"),
        (0.8, "unchanged"),
        (1.2499, "unchanged"),
        (1.25, "worse"),
        (-0.4999, "repaired"),
        (-0.5, "repaired"),
        (-0.5001, "not comparable"),
    ],
)
def test_exact_shares_fall_into_one_row(value, outcome):
    """Edges 35, 80 and 125 %, reversed below -50 % (this project's rule)."""
    found = decide(Quantity.exact(value, "1"))
    assert found.outcome == outcome
    assert found.row == ("reversed" if outcome == "not comparable" else outcome)
    assert found.probability == (0.0 if outcome == "not comparable" else 0.99)


@pytest.mark.parametrize(
    ("value", "outcome"), [(0.3, "better"), (0.6, "unchanged"), (1.9, "unchanged"), (2.1, "worse")]
)
def test_measures_that_feel_the_weather_have_wider_edges(value, outcome):
    """Half to double is unchanged where nothing was divided by (this project's rule)."""
    assert decide(Quantity.exact(value, "1"), WIDE_EDGES).outcome == outcome
    assert decide(Quantity.exact(0.2, "1"), WIDE_EDGES).outcome == "repaired"


def test_edges_lie_where_the_rule_says():
    """A share that doubles or halves its edges is another outcome for the narrow edges, not for the wide ones."""
    assert all(low < high for low, high in itertools.pairwise(EDGES)) and WIDE_EDGES[0] < EDGES[0]
    assert WIDE_EDGES[1] < EDGES[1] < 1.0 < EDGES[2] < WIDE_EDGES[2]


def test_chances_are_shares_of_each_half_of_the_bounds():
    """Below its value a share spreads by 0.2, above it by 0.4: each side half a normal distribution [scipy.stats]."""
    found = decide(left(0.6 - 0.2 * Z95, 0.6, 0.6 + 0.4 * Z95))
    below = [norm.cdf((0.35 - 0.6) / 0.2), norm.cdf((0.8 - 0.6) / 0.4), norm.cdf((1.25 - 0.6) / 0.4)]
    shares = [below[0], below[1] - below[0], below[2] - below[1], 1 - below[2]]
    assert list(found.chances) == ["repaired", "better", "unchanged", "worse"]
    assert list(found.chances.values()) == pytest.approx(shares, abs=1e-4)
    assert all(round(one, 4) == one for one in found.chances.values())


@pytest.mark.parametrize(("below", "outcome"), [(0.601, "repaired"), (0.6, "repaired"), (0.599, "not comparable")])
def test_an_outcome_needs_sixty_percent(below, outcome):
    """At least 60 % (this project's rule)."""
    value = 0.35 - 0.1 * norm.ppf(below)
    found = decide(left(value - 0.1 * Z95, value, value + 0.1 * Z95))
    assert found.outcome == outcome and found.chances["repaired"] == pytest.approx(below, abs=1e-4)
    assert found.row == ("repaired" if outcome == "repaired" else "too uncertain")
    assert found.probability == (pytest.approx(below, abs=1e-4) if outcome == "repaired" else 0.0)


@pytest.mark.parametrize(("value", "row_key"), [(-0.49, "repaired"), (-0.5, "repaired"), (-0.51, "reversed")])
def test_more_likely_than_not_the_other_way_is_another_effect(value, row_key):
    assert decide(left(value - 0.3, value, value + 0.3)).row == row_key


def test_a_value_at_an_end_of_its_bounds_cannot_lie_beyond_it():
    """All of a share from 35 % upwards is no repair, and none of one up to 35 % but not below it is certain."""
    assert decide(left(0.35, 0.35, 0.5)).chances["repaired"] == 0.0
    assert decide(left(0.2, 0.35, 0.35)).chances["repaired"] == 0.5
    assert decide(left(0.2, 0.3, 0.3)).chances["repaired"] == 1.0


def test_a_defect_that_is_still_found_keeps_its_probability():
    found = decide(left(0.1, 0.2, 0.3), still_found=True)
    plain = decide(left(0.1, 0.2, 0.3))
    assert (found.outcome, found.row) == ("better", "still found") and found.probability == plain.chances["repaired"]
    assert decide(left(0.4, 0.6, 0.7), still_found=True).row == "better"


def test_refusals_say_nothing_else():
    found = refused("gate failed")
    assert (found.outcome, found.probability, found.row, found.chances) == ("not comparable", 0.0, "gate failed", {})
    assert [row(key).then for key in ("gate failed", "in order", "still found")] == [
        "not comparable",
        "unchanged",
        "better",
    ]


def yearly(**values):
    return {f"yearly_{name}": Quantity.between(0.8 * one, 1.2 * one, "USD/a") for name, one in values.items()}


def document(estimates=(), findings=()):
    return SimpleNamespace(
        estimates=tuple(
            Estimate(f"e{n}", finding, "yearly", "t", quantities) for n, (finding, quantities) in enumerate(estimates)
        ),
        findings=tuple(SimpleNamespace(id=name, shares=shares) for name, shares in findings),
    )


def compared(finding="a", outcome="better", share=0.25, **more):
    parts = dict.fromkeys(
        ("later", "domain", "check", "title", "room", "region", "picture_before", "picture_after", "row", "reason"), ""
    )
    known = None if share is None else left(share - 0.1, share, share + 0.1)
    return ComparedFinding(finding=finding, outcome=outcome, probability=0.9, left=known, **parts, **more)


BEFORE = document([("a", yearly(cost=100.0)), ("b", yearly(cost=7.0)), ("a", yearly(cost=900.0, energy=5.0))])


def test_the_first_statement_of_a_finding_counts():
    found = stated("a", BEFORE)
    assert {name: one.value for name, one in found.items()} == {"yearly_cost": 100.0, "yearly_energy": 5.0}
    other = document([("a", {"heat_flow": Quantity.exact(3.0, "W"), **yearly(water=2.0)})])
    assert set(stated("a", other)) == {"yearly_water"}, "a flow is no yearly amount"


def test_what_is_gone_of_what_was_promised():
    """A quarter is left, so three quarters of 100 USD a year are gone."""
    finding, later = SimpleNamespace(id="a"), SimpleNamespace(id="z")
    found = amounts(compared(), finding, later, BEFORE, document([("z", yearly(cost=20.0))]))
    gone = found.realised["yearly_cost"]
    assert (gone.value, gone.unit) == (75.0, "USD/a") and gone.low < 65.0 and gone.high > 85.0
    assert found.promised["yearly_cost"].value == 100.0 and found.remaining["yearly_cost"].value == 20.0
    assert amounts(compared(), finding, None, BEFORE, BEFORE).remaining == {}


@pytest.mark.parametrize("unknown", [{"outcome": "not comparable"}, {"share": None}])
def test_nothing_is_gone_where_the_outcome_or_the_share_is_unknown(unknown):
    found = amounts(compared(**unknown), SimpleNamespace(id="a"), None, BEFORE, BEFORE)
    assert found.realised == {} and found.promised["yearly_cost"].value == 100.0


def kept(finding, promised, realised):
    return compared(finding, promised=yearly(cost=promised), realised=yearly(cost=realised) if realised else {})


def sums(*rows, shares=()):
    found = totals(rows, document(findings=shares))
    return [one["yearly_cost"].value if "yearly_cost" in one else None for one in found]


def test_findings_of_one_cause_count_once_by_their_largest_amount():
    rows = kept("a", 100.0, 50.0), kept("b", 30.0, 30.0), kept("c", 40.0, 10.0)
    assert sums(*rows) == [170.0, 90.0]
    assert sums(*rows, shares=[("b", "draught"), ("c", "draught"), ("a", "")]) == [140.0, 60.0]
    alike = kept("a", 100.0, 50.0), kept("b", 100.0, 20.0)
    assert sums(*alike, shares=[("a", "draught"), ("b", "draught")]) == [100.0, 50.0], "the first of equal ones"


def test_rows_without_both_amounts_and_mixed_units_are_not_summed():
    assert sums(kept("a", 100.0, 50.0), kept("b", 30.0, None)) == [100.0, 50.0]
    assert sums(kept("a", 100.0, None)) == [None, None] and sums() == [None, None]
    euros = compared("b", promised={"yearly_cost": Quantity.exact(1.0, "EUR/a")}, realised=yearly(cost=1.0))
    assert sums(kept("a", 100.0, 50.0), euros) == [None, None]


@pytest.mark.parametrize(
    ("winds", "said"), [((4.0, 1.0), None), ((1.0, 4.1), "less than 4 m/s"), ((1.0, None), "wind in both surveys")]
)
def test_rises_outdoors_are_not_compared_in_wind(winds, said):
    """4 to 5 m/s and more (common practice, no source)."""
    looks = [
        SimpleNamespace(
            record=SimpleNamespace(title="solar connectors", room=""),
            region=None,
            facts={} if wind is None else {"wind": Quantity.exact(wind, "m/s")},
        )
        for wind in winds
    ]
    found = _blown(*looks)
    assert (said is None and found[0] <= found[1] <= found[2]) or said in found.words[0]


def test_measures_that_feel_sun_and_words_for_outside():
    spoiled = {
        check: kind_of(check).key in SUNNY
        for check in ("envelope.window", "plumbing.wet_ground", "pool.patches", "electrical.twins", "vehicle.brakes")
    }
    assert list(spoiled.values()) == [True, True, True, False, False]
    assert {"roof", "carport", "solar"} <= set(OUTDOORS)
