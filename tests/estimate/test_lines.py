"""What one line costs and when it pays, with numbers that are worked out in the head."""

from __future__ import annotations

import pytest
from heatbrief.estimate.line_costs import LineCost, amounts, line_cost, present_worth, worth
from heatbrief.estimate.terms import total
from heatbrief.model import Action, Estimate, Factor, Quantity, Term
from heatbrief.model.costs import ActionCost, Costs, MoneyFacts

from .plan_parts import exact, finding


def action(priced_by="piece", who="contractor", **more):
    return Action("a.fix", "Fix", who, "does", priced_by=priced_by, **more)


def money(entry=None, listed=(), labour=None, **more):
    costs = Costs(labour=labour or {}, actions={} if entry is None else {"a.fix": entry}, **more)
    return MoneyFacts(costs=costs, listed=frozenset(listed))


# --- how much there is to do ---------------------------------------------------------------


def sizes(terms):
    return [(one.buys, one.unit, total([one]).best, one.factors[0].name) for one in terms]


def test_of_each_cause_the_largest_measure_counts_wherever_it_stands():
    found = [
        finding("a", area=exact(2, "m2"), length=exact(7, "m")),
        finding("b", area=exact(5, "m2")),
        finding("c", area=exact(5, "m2")),
        finding("d", area=exact(900, "cm2")),
    ]
    measured = {"c": [Estimate("e", "c", "k", "t", {"area": exact(6, "m2")})]}
    cause = {"b": "a"}
    assert sizes(amounts(action("area"), found, measured, cause)) == [
        ("area", "m2", 5.0, "area of b"),
        ("area", "m2", 6.0, "area of c"),
    ]
    assert sizes(amounts(action("length"), found, {}, cause)) == [("length", "m", 7.0, "length of a")]
    equal = [finding("a", area=exact(5, "m2")), finding("b", area=exact(5, "m2"))]
    assert sizes(amounts(action("area"), equal, {}, {"b": "a"}))[0][3] == "area of a", "the first of equal ones"


@pytest.mark.parametrize(("priced_by", "pieces"), [("piece", 2.0), ("", 1.0)])
def test_pieces_are_causes_and_what_has_no_price_is_one(priced_by, pieces):
    found = [finding("a"), finding("b"), finding("c")]
    (term,) = amounts(action(priced_by), found, {}, {"b": "a"})
    assert (term.buys, term.unit, term.constant, term.factors) == ("pieces", "1", pieces, ())


# --- what it costs -------------------------------------------------------------------------

RATE = {"contractor": exact(50, "USD/h")}
THREE = (Term("area", "m2", 1.0, (Factor("area of f", exact(3, "m2")),)),)


@pytest.mark.parametrize(
    ("entry", "amount", "cost", "hours"),
    [
        (ActionCost(cost=exact(99, "USD"), fixed=exact(5, "USD"), hours=exact(1, "h")), THREE, 99.0, 0.0),
        (ActionCost(fixed=exact(30, "USD")), THREE, 30.0, 0.0),
        (ActionCost(material=exact(10, "USD/m2")), THREE, 30.0, 0.0),
        (ActionCost(hours=exact(2, "h")), THREE, 100.0, 2.0),
        (ActionCost(hours=exact(2, "h")), (), 100.0, 2.0),
        (ActionCost(hours_per_unit=exact(0.5, "h")), THREE, 75.0, 1.5),
        (
            ActionCost(
                fixed=exact(7, "USD"),
                material=exact(10, "USD/m2"),
                hours=exact(2, "h"),
                hours_per_unit=exact(0.5, "h"),
            ),
            THREE,
            7.0 + 30.0 + 3.5 * 50.0,
            3.5,
        ),
    ],
)
def test_sums_material_and_work(entry, amount, cost, hours):
    line = line_cost(action("area"), amount, money(entry, labour=RATE))
    assert line.known and not line.free
    assert total(line.money).best == pytest.approx(cost) and total(line.hours).best == pytest.approx(hours)
    assert {one.unit for one in line.money} == {"USD"} and {one.unit for one in line.hours} <= {"h"}


@pytest.mark.parametrize(
    "entry", [ActionCost(material=exact(9, "USD/m2")), ActionCost(fixed=exact(9, "USD"), hours_per_unit=exact(1, "h"))]
)
def test_without_the_amount_there_is_no_price(entry):
    assert line_cost(action("area"), (), money(entry, labour=RATE)) == LineCost()


def test_work_without_a_rate_has_no_price_but_the_owners_costs_nothing():
    entry = ActionCost(hours=exact(2, "h"), fixed=exact(9, "USD"))
    assert line_cost(action(), (), money(entry)) == LineCost()
    own = line_cost(action(who="owner"), (), money(entry))
    assert total(own.money).best == 9.0 and total(own.hours).best == 2.0 and not own.free
    alone = line_cost(action(who="owner"), (), money(ActionCost(hours=exact(2, "h"))))
    assert alone.money == () and alone.free and alone.known and alone.origin == ""
    paid = line_cost(action(who="owner"), (), money(entry, labour={"owner": exact(10, "USD/h")}))
    assert total(paid.money).best == 29.0


@pytest.mark.parametrize(
    ("who", "priced_by", "free"), [("owner", "", True), ("owner", "piece", False), ("contractor", "", False)]
)
def test_without_an_entry_only_what_an_owner_does_without_material_is_free(who, priced_by, free):
    assert line_cost(action(priced_by, who), (), money()) == LineCost(free=free)


@pytest.mark.parametrize(
    ("entry", "labour", "listed", "own"),
    [
        (ActionCost(cost=exact(9, "USD")), RATE, {"actions.a.fix"}, True),
        (ActionCost(cost=exact(9, "USD")), RATE, {"labour.contractor"}, False),
        (ActionCost(fixed=exact(9, "USD")), RATE, {"actions.a.fix"}, True),
        (ActionCost(hours=exact(9, "h")), RATE, {"actions.a.fix"}, False),
        (ActionCost(hours=exact(9, "h")), RATE, {"actions.a.fix", "labour.contractor"}, True),
        (ActionCost(hours=exact(9, "h")), RATE, {"labour.contractor"}, False),
    ],
)
def test_prices_are_the_surveys_own_when_all_that_enters_is(entry, labour, listed, own):
    line = line_cost(action(), (), money(entry, listed, labour))
    assert line.origin == ("given in the survey" if own else "example price book")


# --- when it pays --------------------------------------------------------------------------


def pays(cost, saving, years=10, *, rate=0.0, **more):
    entry = ActionCost(cost=None if cost is None else exact(cost, "USD"), life=years)
    facts = money(entry, discount_rate=exact(rate, "1"))
    line = LineCost() if cost is None else line_cost(action(), (), facts)
    saved = saving if isinstance(saving, Quantity) else exact(saving, "USD/a")
    return worth(action(**more), line, (Term("money", "USD/a", 1.0, (Factor("saving", saved),)),), facts)


@pytest.mark.parametrize(("saving", "payback"), [(1.001, 99.9), (1.0, 100.0), (0.999, None), (-5.0, None)])
def test_a_payback_is_told_up_to_a_century(saving, payback):
    found = pays(100.0, saving, 20).quantities
    assert ("payback" in found) is (payback is not None)
    if payback:
        assert found["payback"].value == pytest.approx(payback, abs=0.01)


@pytest.mark.parametrize(
    ("cost", "saving", "slight"),
    [
        (1000.0, 4.99, True),
        (1000.0, 5.01, False),
        (1000.0, Quantity(4.0, "USD/a", 1.0, 6.0), False),
        (1000.0, Quantity(2.0, "USD/a", 1.0, 4.9), True),
        (None, 0.99, True),
        (None, 1.0, False),
        (0.0, 0.99, True),
        (0.0, 1.01, False),
    ],
)
def test_a_saving_is_slight_below_a_twentieth_of_the_cost_or_below_one_a_year(cost, saving, slight):
    """Ten years without interest: 4.99 a year is 49.9, a twentieth of 1000 is 50."""
    assert pays(cost, saving).slight is slight


def test_net_value_and_ratio_of_ten_years_without_interest():
    found = pays(100.0, 30.0).quantities
    assert found["net_present_value"].value == 200.0 and found["savings_to_investment"].value == 3.0
    assert found["cost"] == exact(100.0, "USD", found["cost"].method)


@pytest.mark.parametrize(("cost", "more"), [(100.0, {"safety": True}), (0.0, {}), (None, {})])
def test_no_payback_for_safety_for_nothing_and_for_an_unknown_cost(cost, more):
    found = pays(cost, 30.0, **more)
    assert set(found.quantities) == ({"cost"} if cost is not None else set())
    assert (found.net is None) is (cost is None) and found.saving.best == 30.0


def test_without_a_saving_there_is_a_cost_and_nothing_else():
    facts = money(ActionCost(cost=exact(100, "USD")))
    found = worth(action(), line_cost(action(), (), facts), (), facts)
    assert set(found.quantities) == {"cost"} and found.saving is None and found.net is None and not found.slight


def test_the_life_of_the_measure_wins_over_the_years_of_the_survey():
    facts = money(ActionCost(cost=exact(100, "USD")), years=5, discount_rate=exact(0.0, "1"))
    found = worth(action(), line_cost(action(), (), facts), (Term("money", "USD/a", 30.0),), facts)
    assert found.net.best == 50.0
    assert pays(100.0, 30.0, 7).net.best == 110.0


@pytest.mark.parametrize(
    ("rate", "growth", "years", "factor"),
    [
        (0.03, 0.0, 10, 8.5302),
        (0.03, 0.0, 1, 1 / 1.03),
        (0.02, 0.02, 25, 25.0),
        (0.0, 0.0, 7, 7.0),
        (0.05, 0.1, 1, 1.1 / 1.05),
    ],
)
def test_present_worth_of_one_a_year(rate, growth, years, factor):
    """8.530 is the uniform factor of 3 % and 10 years in every table (NIST HB 135, from memory); the others by hand."""
    facts = money(discount_rate=exact(rate, "1"), price_growth=exact(growth, "1"))
    found = present_worth(facts, years)
    assert found.best == pytest.approx(factor, abs=5e-5) and found.values == pytest.approx(found.best)
    near = money(discount_rate=exact(rate, "1"), price_growth=exact(rate + 1e-9, "1"))
    assert present_worth(near, 3).best == pytest.approx(3.0, abs=1e-8), "no digits are lost near equal rates"
