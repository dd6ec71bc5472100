"""Classes and the limit rule at their edges: loads, probabilities, urgency, and margins of nothing."""

from __future__ import annotations

import pytest
from heatbrief.api import Context
from heatbrief.model import Quantity, Region
from heatbrief.physics import electrical
from heatbrief_electrical import classes, limits
from scipy.stats import norm

Z95 = norm.ppf(0.975)
AIR = Quantity.exact(30.0, "degC")


def kelvin(low, value, high):
    return Quantity(value, "K", low, high)


@pytest.mark.parametrize(
    ("share", "american", "european"),
    [
        (None, "unknown", "unknown"),
        (-0.1, "unknown", "unknown"),
        (0.0, "pattern only", "pattern only"),
        (0.39, "pattern only", "pattern only"),
        (0.4, "low load", "pattern only"),
        (0.49, "low load", "pattern only"),
        (0.5, "classed", "pattern only"),
        (0.74, "classed", "pattern only"),
        (0.75, "classed", "classed"),
        (1.2, "classed", "classed"),
    ],
)
def test_from_which_load_a_table_may_be_used(share, american, european):
    """40 % by summaries of NFPA 70B [seen]; 75 % for the European limits, Rahne [seen: S5]."""
    assert classes.stage(share, "neta-similar") == american
    assert classes.stage(share, "european-phases") == classes.stage(share, "european-ambient") == european


def test_limits_of_the_survey_follow_the_table():
    assert classes.rule_set_for("european-phases") == "european-practice"
    assert classes.rule_set_for("neta-similar") == "default"
    assert (classes.least_load("european-ambient"), classes.least_load("epri")) == (0.75, 0.4)


@pytest.mark.parametrize(("table", "start"), [("neta-similar", 1.0), ("european-phases", 5.0), ("epri", 0.5)])
def test_where_a_table_starts(table, start):
    """Printed beginnings of the first bands [seen; EPRI from memory]."""
    assert classes.first_band(table) == start


def test_shares_of_the_classes_by_the_normal_distribution():
    """14 K, 2 K below and 1 K above it: what lies below 1, 4 and up to 15 K [scipy.stats]; NETA 100.18 [seen]."""
    found = classes.probabilities(kelvin(14 - 2 * Z95, 14.0, 14 + 1 * Z95), "neta-similar")
    below = [norm.cdf((limit - 14) / 2) for limit in (1, 4)] + [norm.cdf(15 - 14)]
    shares = [below[0], below[1] - below[0], below[2] - below[1], 1 - below[2]]
    assert list(found) == [0, 1, 2, 4] and list(found.values()) == pytest.approx(shares, abs=1e-9)


@pytest.mark.parametrize(
    ("exactly", "code"), [(0.99, 0), (1.0, 1), (3.99, 1), (4.0, 2), (15.0, 2), (15.01, 4), (-20.0, 0)]
)
def test_exact_differences_fall_into_one_class(exactly, code):
    """NETA 100.18 prints "over 15": 15 K itself is not major [seen]."""
    found = classes.probabilities(Quantity.exact(exactly, "K"), "neta-similar")
    assert found[code] == 1.0 and sum(found.values()) == 1.0


def test_bounds_below_a_kelvin_still_spread():
    close = kelvin(10 - 0.4 * Z95, 10.0, 10 + 0.2 * Z95)
    assert classes.reached(close, 10.1) == pytest.approx(norm.sf(0.5), abs=1e-9)
    assert classes.reached(close, 9.8) == pytest.approx(norm.cdf(0.5), abs=1e-9)


@pytest.mark.parametrize(
    ("reaching", "severe", "urgency"),
    [(0.21, 4, "now"), (0.19, 2, "plan")],
)
def test_a_class_reached_by_one_in_five_sets_the_urgency(reaching, severe, urgency):
    """A fifth (this project's choice); NETA says of major "at once", of probable "when time allows" [seen]."""
    value = 15.0 + norm.ppf(reaching)
    found = classes.classed(kelvin(value - Z95, value, value + Z95), "neta-similar", "means")
    assert (found.severe, found.urgency) == (severe, urgency)
    assert found.likely == "probable deficiency" and found.probability == pytest.approx(1 - reaching, abs=1e-6)


def test_rows_are_ordered_by_probability_and_leave_out_the_unlikely():
    """Below 1 % nothing is said (this project's choice)."""
    found = classes.classed(kelvin(15.5 - Z95, 15.5, 15.5 + Z95), "neta-similar", "means", "low load")
    assert [row["class"] for row in found.rows] == ["major discrepancy", "probable deficiency"]
    assert [row["probability"] for row in found.rows] == ["69 %", "31 %"]
    assert found.rows[0] == {
        "table": "NETA table 100.18, similar part under similar load",
        "compares": "means",
        "class": "major discrepancy",
        "probability": "69 %",
        "printed advice": "repair at once",
        "note": "low load",
    }
    plain = classes.classed(kelvin(17.4 - Z95, 17.4, 17.4 + Z95), "neta-similar", "means")
    assert len(plain.rows) == 1 and "note" not in plain.rows[0] and plain.rows[0]["probability"] == "above 99 %"


@pytest.mark.parametrize("table", classes.URGENCY_OF_CLASS)
def test_every_class_is_urgent_and_the_higher_ones_more(table):
    """A difference just inside each band; what a table prints beside its most severe class is never "watch" [seen]."""
    bands = electrical.class_table(table).bands
    found = [classes.classed(Quantity.exact(band.start + 0.1, "K"), table, "means") for band in bands]
    assert [one.severe for one in found] == [band.code for band in bands]
    order = [("watch", "plan", "soon", "now").index(one.urgency) for one in found]
    assert order == sorted(order) and order[-1] >= 2


def test_nothing_reached_has_no_urgency():
    found = classes.classed(Quantity.exact(0.2, "K"), "neta-similar", "means")
    assert (found.likely, found.severe, found.urgency) == ("not classed", 0, "none")


@pytest.mark.parametrize(
    ("share", "said"), [(0.991, "above 99 %"), (1.0, "above 99 %"), (0.99, "99 %"), (0.5, "50 %"), (0.004, "0 %")]
)
def test_no_probability_is_called_certain(share, said):
    assert classes.percent(share) == said


@pytest.mark.parametrize(
    ("urgency", "more"), [("now", "now"), ("soon", "now"), ("plan", "soon"), ("watch", "plan"), ("none", "watch")]
)
def test_one_step_more_urgent(urgency, more):
    assert classes.more_urgent(urgency) == more


def test_full_load_by_the_published_exponents():
    """18 K at half load: 54.6 to 72 K at full load with 1.6 to 2.0, 62.7 K with 1.8 (`load-exponent`, seen) [computed]."""
    found = classes.at_full_load(Quantity.exact(18.0, "K"), 0.5)
    assert (found.low, found.value, found.high) == pytest.approx((54.57, 62.68, 72.0), abs=0.01)


def test_sources_of_a_class_are_its_table_and_the_load_rules():
    assert classes.table_sources("epri") == ("epri-guide", "load-gate", "rated-rise", "load-exponent")


def part(**facts):
    return Region("part", "panel", "box", ((0, 0), (9, 9)), "terminal", facts=facts)


@pytest.mark.parametrize(("air", "rise"), [(59.4, 0.6), (60.0, None), (60.4, None), (61.0, None)])
def test_insulation_without_room_over_the_air_sets_no_limit(air, rise):
    """TW: 60 degC [seen: S13]."""
    found = limits.limit_for(part(insulation="TW"), Context(), Quantity.exact(air, "degC"))
    assert (found is None) is (rise is None) and (rise is None or found.rise.value == pytest.approx(rise))


def test_bounds_of_the_air_turn_over_in_the_limit():
    air = Quantity.between(28.0, 35.0, "degC", 30.0)
    found = limits.limit_for(part(insulation="TW"), Context(), air)
    assert (found.rise.low, found.rise.value, found.rise.high) == (25.0, 30.0, 32.0)


def test_what_is_not_stated_sets_no_limit():
    plain = limits.stated_rise(40.0)
    assert limits.limit_for(part(), Context(), AIR) is None and limits.limit_for(None, Context(), AIR, plain) is plain
    assert limits.limit_for(part(insulation="TW"), Context(), None) is None
    assert limits.limit_for(part(insulation="wool", termination="glue"), Context(), AIR, plain) is plain
    assert limits.limit_for(part(termination="full-rated breaker"), Context(), AIR, plain).rise.value == 60.0
    assert limits.insulation_rating(part(insulation="TW"), Context()) == 60.0
    assert limits.insulation_rating(part(insulation="wool"), Context()) is None
    assert limits.insulation_rating(part(insulation=True), Context()) is None


def test_the_standard_rise_is_the_one_of_the_breaker_standard():
    """UL 489: 50 K at the terminals of a standard-rated breaker [seen: S12]; any other figure is the user's own."""
    printed, own = limits.stated_rise(50.0), limits.stated_rise(51.0)
    assert (printed.part, printed.mark) == ("termination, standard-rated breaker", "seen")
    assert (own.part, own.mark) == ("rated rise given in the settings", "")
    assert printed.said == "termination, standard-rated breaker (50 K at rated load)"


def test_chances_of_lying_above_the_limit():
    """At full load a rise of 51 K +- 2 K lies above 50 K with 69 %, the part of a normal distribution beyond half a
    standard deviation; below it the exponents 1.6 to 2.0 alone spread the rise at full load [scipy.stats].
    """
    full = limits.held(Quantity.normal(51.0, "K", 2.0), 1.0, limits.stated_rise(50.0))
    assert full.over == full.over_full == pytest.approx(norm.cdf(0.5), abs=1e-6)
    part_load = limits.held(Quantity.exact(19.0, "K"), 0.6, limits.stated_rise(50.0))
    spread = 50 * (0.6**1.8 - 0.6**2.0), 19 * (0.6**-2.0 - 0.6**-1.8)
    left = 50 * 0.6**1.8 - 19, 50 - 19 * 0.6**-1.8
    expected = [norm.sf(one * Z95 / side) for one, side in zip(left, spread, strict=True)]
    assert [part_load.over, part_load.over_full] == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("share", [0.4, 0.5, 1.0])
def test_the_limit_rule_holds_from_forty_percent(share):
    assert limits.held(Quantity.exact(1.0, "K"), share, limits.stated_rise(50.0)) is not None
    assert limits.held(None, share, limits.stated_rise(50.0)) is None
    assert limits.held(Quantity.exact(1.0, "K"), share, None) is None


def test_a_load_beyond_all_numbers_says_nothing():
    assert limits.held(Quantity.exact(12.0, "K"), 1e300, limits.stated_rise(50.0)) is None


def about(over, over_full, margin=-1.0, margin_full=-1.0):
    rise, zero = Quantity.exact(12.0, "K"), Quantity.exact(0.0, "K")
    margins = [Quantity.exact(one, "K") for one in (margin, margin_full)]
    return limits.Held(limits.stated_rise(50.0), rise, zero, margins[0], zero, margins[1], over, over_full)


@pytest.mark.parametrize(
    ("over", "over_full", "before", "after"),
    [
        (0.2, 0.0, "watch", "now"),  # above it at this load, by one chance in five
        (0.19, 0.2, "watch", "soon"),  # above it at full load only
        (0.19, 0.19, "watch", "watch"),
        (0.19, 0.19, "none", "none"),
        (0.0, 0.9, "now", "now"),  # what the class says already wins
        (0.9, 0.9, "soon", "now"),
    ],
)
def test_the_limit_rule_may_raise_the_urgency(over, over_full, before, after):
    assert limits.raised(before, about(over, over_full)) == after


@pytest.mark.parametrize(
    ("margin", "words", "probability"),
    [
        (-0.5, "above what the limit allows, by 0.5 K", "75 %"),
        (0.0, "below it by 0 K", "25 %"),
        (0.5, "below it by 0.5 K", "25 %"),
        (-12.0, "above what the limit allows, by 12 K", "75 %"),
    ],
)
def test_margins_in_words(margin, words, probability):
    """The probability is that of what is said: beyond the limit, or within it."""
    now, full = limits.rows(about(0.75, 0.4, margin, 3.0))
    assert (now["class"], now["probability"]) == (words, probability)
    assert (full["class"], full["probability"]) == ("below it by 3 K", "60 %") and "full load" in full["compares"]


def test_tables_name_the_least_severe_first():
    assert all(
        [band.start for band in electrical.class_table(key).bands]
        == sorted(band.start for band in electrical.class_table(key).bands)
        for key in electrical.class_table_keys()
    )
