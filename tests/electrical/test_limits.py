"""The limit rule: lowest of terminal and insulation, at the measured load and at full load."""

from __future__ import annotations

import pytest
from heatbrief.api import Context
from heatbrief.model import Quantity, Region
from heatbrief.physics import electrical
from heatbrief_electrical import classes, limits
from heatbrief_electrical.parts import ALUMINIUM_YEARS, YEAR_WIRED, house_wiring

AIR = Quantity.exact(30.0, "degC")


def part(**facts):
    return Region("part", "panel", "box", ((0, 0), (9, 9)), "terminal", facts=facts)


@pytest.mark.parametrize(
    ("termination", "rise", "mark"),
    [
        ("standard breaker", 50, "seen"),
        ("full-rated breaker", 60, "seen"),
        ("assembly terminal", 70, "seen"),
        ("bolted bare", 50, "seen"),
        ("bolted tinned", 65, "seen"),
        ("bolted silvered", 75, "seen"),
        ("switchgear terminal bare", 50, "seen"),
        ("switchgear terminal coated", 65, "seen"),
        ("bare copper terminal", 60, "memory"),
        ("brass terminal", 65, "memory"),
        ("plated terminal", 70, "memory"),
        ("iec breaker", 80, "memory"),
        ("connecting device", 45, "seen"),
        ("silvered joint", 65, "memory"),
        ("bare copper joint", 30, "memory"),
    ],
)
def test_printed_rises(termination, rise, mark):
    """E3 UL 489 [seen: S12], E4 IEC 60694 [seen: S9], E5 IEC 61439/60947 [seen: S11, else memory], C37.20.1
    [memory].
    """
    found = limits.limit_for(part(termination=termination), Context(), AIR)
    assert (found.rise.value, found.mark) == (rise, mark) and ("from memory" in found.said) == (mark == "memory")
    assert len(limits.TERMINATIONS) == 15, "every termination has its row above"


@pytest.mark.parametrize(
    ("insulation", "most"),
    [
        ("TW", 60),
        ("THWN", 75),
        ("THHN", 90),
        ("NM-B", 60),
        ("PVC", 70),
        ("XLPE", 90),
        ("rubber", 60),
        ("NEC up to 100 A", 60),
        ("NEC above 100 A", 75),
    ],
)
def test_insulation_counts_over_the_air(insulation, most):
    """E5, E6: 60/75 degC columns [seen: S13, S13b], rubber [seen: S5], the rest [memory]."""
    assert limits.limit_for(part(insulation=insulation), Context(), AIR).rise.value == most - 30


def test_the_lowest_counts():
    """90 degC insulation on a 50 K breaker at 30 degC: the breaker; 60 degC insulation: the insulation."""
    assert (
        "standard-rated"
        in limits.limit_for(part(termination="standard breaker", insulation="THHN"), Context(), AIR).part
    )
    assert limits.limit_for(part(termination="standard breaker", insulation="TW"), Context(), AIR).rise.value == 30


def test_margins_at_both_loads():
    """E10: 100 A part, 50 K, 60 A; 12 K measured: allowed 18.0 to 22.1 K, 12 K becomes 27.2 to 33.3 K at full load
    [computed: K1].
    """
    found = limits.held(Quantity.exact(12.0, "K"), 0.6, limits.stated_rise(50.0))
    assert (found.allowed.low, found.allowed.high) == pytest.approx((18.0, 22.08), abs=0.01)
    assert (found.full.low, found.full.high) == pytest.approx((12 / 0.6**1.6, 12 / 0.6**2))
    assert (found.margin_full.low, found.margin_full.high) == pytest.approx((50 - 33.33, 50 - 27.17), abs=0.01)
    assert found.over < 0.01 and {row["class"].split(" by ")[0] for row in limits.rows(found)} == {"below it"}


def test_same_exponent_at_both_loads():
    """E10 note: the sign of the margin is the same at both loads for any one exponent, since one is the other
    over r^n.
    """
    for rise in (10.0, 25.0):
        found = limits.held(Quantity.exact(rise, "K"), 0.6, limits.stated_rise(50.0))
        assert (found.margin.value > 0) == (found.margin_full.value > 0)


@pytest.mark.parametrize("share", [None, 0.2, 0.39])
def test_nothing_is_said_below_40_percent(share):
    assert limits.held(Quantity.exact(12.0, "K"), share, limits.stated_rise(50.0)) is None


def test_above_the_limit_is_urgent():
    found = limits.held(Quantity.exact(30.0, "K"), 0.6, limits.stated_rise(50.0))
    assert limits.raised("plan", found) == "now" and "above what the limit allows" in limits.rows(found)[0]["class"]
    assert limits.raised("plan", None) == "plan"


@pytest.mark.parametrize(
    ("value", "low", "high", "start", "share"),
    [
        (10.0, 10.0, 10.0, 10.0, 1.0),
        (9.9, 9.9, 9.9, 10.0, 0.0),
        (12.0, 12.0, 14.0, 10.0, 1.0),
        (9.0, 7.0, 9.0, 10.0, 0.0),
        (10.0, 10.0, 12.0, 10.0, 1.0),
        (10.0, 8.0, 13.0, 10.0, 0.5),
        (8.0, 7.0, 10.0, 10.0, 0.025),
        (12.0, 10.0, 15.0, 10.0, 0.975),
    ],
)
def test_a_limit_is_reached_with_the_share_beyond_it(value, low, high, start, share):
    """Bounds of 95 % leave 2.5 % on each side of a normal distribution (common practice)."""
    assert classes.reached(Quantity(value, "K", low, high), start) == pytest.approx(share, abs=1e-6)


def test_aluminium_wiring_is_thought_of_in_the_years_it_was_used():
    """`cpsc-516` (seen) speaks of houses wired before 1972, `cpsc-1974` (seen) ends it; from 1965 by a trade text (seen)."""
    first, last = ALUMINIUM_YEARS
    assert first <= 1965 and 1972 <= last <= 1974
    for year, possible in ((first - 1, False), (first, True), (last, True), (last + 1, False)):
        outlet = part(**{YEAR_WIRED.name: Quantity.exact(year, "1")})
        assert house_wiring(Context(), outlet) is possible
    assert house_wiring(Context(), part()) and house_wiring(Context(), None)


@pytest.mark.parametrize("table", classes.URGENCY_OF_CLASS)
def test_every_class_of_a_table_has_an_urgency_that_rises_with_it(table):
    steps, codes = classes.URGENCY_OF_CLASS[table], [band.code for band in electrical.class_table(table).bands]
    assert list(steps) == codes == sorted(set(codes))
    order = [("watch", "plan", "soon", "now").index(steps[code]) for code in codes]
    assert order == sorted(order)
