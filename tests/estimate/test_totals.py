"""Sums, drivers, budget and bill of plans with numbers that are worked out in the head."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.estimate.totals import billed_of
from heatbrief.estimate.whole import whole_brief
from heatbrief.model import Action, Bill, Estimate, Factor, Quantity, Term
from heatbrief.model.costs import ActionCost, Costs
from heatbrief.model.results import NotAnalysed

from .plan_parts import book, exact, facts, finding, loss


def whole(found, estimates, actions, costs=None, **more):
    return whole_brief(found, estimates, actions, facts(costs, **more), manifest="survey.yaml")


def of_kind(given, kind):
    return next((one for one in given.estimates if one.kind == kind), None)


def two(costs=None, **more):
    """x saves 100 kWh and costs 90, y saves 300 kWh and 5 m3 and costs 60; the kWh is 0.2, the m3 2."""
    found = [finding("x", "a.x"), finding("y", "a.y")]
    prices = {"a.x": ActionCost(cost=exact(90, "USD")), "a.y": ActionCost(cost=exact(60, "USD"))}
    costs = replace(costs or Costs(), actions=prices, discount_rate=exact(0, "1"), years=1)
    return whole(found, [loss(found[0], 100.0), loss(found[1], 300.0, water=5.0)], book("a.x", "a.y"), costs, **more)


# --- totals --------------------------------------------------------------------------------


def test_everything_together():
    one = of_kind(two(), "total")
    values = {name: quantity.value for name, quantity in one.quantities.items()}
    assert values.pop("yearly_emissions") == pytest.approx(400 * 0.367, rel=2e-3)
    assert values == {
        "cost": 150.0,
        "yearly_saving": pytest.approx(90.0),
        "yearly_energy": 400.0,
        "yearly_water": 5.0,
        "net_present_value": pytest.approx(-60.0),
    }
    units = {name: quantity.unit for name, quantity in one.quantities.items()}
    assert units["cost"] == units["net_present_value"] == "USD" and units["yearly_saving"] == "USD/a"
    assert [said.code for said in one.said] == ["counted-once", "net-of"]


def test_interest_growth_and_years_are_stated():
    costs = Costs(discount_rate=Quantity(0.03, "1", 0.02, 0.045), price_growth=exact(0.0125, "1"), years=15)
    one = finding("x", "a.x")
    told = of_kind(whole([one], [loss(one, 9.0)], book("a.x"), costs), "total").assumptions
    assert [row.value for row in told] == ["2 to 4.5 %", "1.25 %", "15, or the life of the measure"]


def test_what_has_no_price_is_named_only_beside_a_cost():
    found = [finding("x", "a.x"), finding("y", "a.y")]
    costs = Costs(actions={"a.x": ActionCost(cost=exact(90, "USD"))})
    both = of_kind(whole(found, [loss(found[0], 9.0)], book("a.x", "a.y"), costs), "total")
    assert "Without a price: a.y." in both.notes and both.quantities["cost"].value == 90.0
    none = of_kind(whole(found, [loss(found[0], 9.0)], book("a.x", "a.y")), "total")
    assert [said.code for said in none.said] == ["counted-once"] and "cost" not in none.quantities


def test_the_net_value_leaves_out_what_is_for_safety():
    found = [finding("x", "a.x"), finding("y", "a.y")]
    prices = {key: ActionCost(cost=exact(10, "USD")) for key in ("a.x", "a.y")}
    costs = Costs(actions=prices, discount_rate=exact(0, "1"), years=1)
    actions = book("a.x") | book("a.y", safety=True)
    one = of_kind(whole(found, [loss(found[0], 100.0), loss(found[1], 900.0)], actions, costs), "total")
    assert one.quantities["net_present_value"].value == pytest.approx(10.0) and one.quantities["cost"].value == 20.0


def test_a_plan_without_any_figure_has_no_totals():
    given = whole([finding("x", "a.x")], [], book("a.x"))
    assert given.estimates == () and [one.action for one in given.plan] == ["a.x"]


# --- drivers -------------------------------------------------------------------------------


def driven(*factors, actions=None, titles=None):
    """One finding for each factor; each loses 100 kWh times it."""
    found = [replace(finding(f"f{n}", "a.x"), title=(titles or {}).get(n, f"t{n}")) for n in range(len(factors))]
    made = [
        Estimate(f"e{n}", f"f{n}", "k", "t", terms=(Term("electricity", "kWh/a", 100.0, (factor,)),))
        for n, factor in enumerate(factors)
    ]
    return of_kind(whole(found, made, book("a.x")), "drivers")


def part(name, low, high, power=1):
    return Factor(name, Quantity(1.0, "1", low, high), power)


def test_each_input_moves_alone_from_the_total():
    bars = driven(part("film", 0.5, 1.2), part("season", 0.9, 1.1), part("yield", 0.5, 1.0, -1)).quantities
    assert {name: (one.low, one.value, one.high) for name, one in bars.items()} == {
        "yield": pytest.approx((60.0, 60.0, 80.0)),
        "film": pytest.approx((50.0, 60.0, 64.0)),
        "season": pytest.approx((58.0, 60.0, 62.0)),
    }
    assert list(bars) == ["yield", "film", "season"] and {one.unit for one in bars.values()} == {"USD/a"}


def test_an_input_that_stands_twice_moves_both():
    (bar,) = driven(part("film", 0.5, 1.5), part("film", 0.5, 1.5)).quantities.values()
    assert (bar.low, bar.value, bar.high) == pytest.approx((20.0, 40.0, 60.0))


def test_ten_inputs_are_shown_and_no_sure_one():
    bars = driven(*(part(f"i{n:02}", 0.9, 1.1 + n / 100) for n in range(11))).quantities
    assert list(bars) == [f"i{n:02}" for n in range(10, 0, -1)]
    assert driven(part("film", 1.0, 1.0)) is None


def test_inputs_are_named_by_titles_unless_two_would_be_alike():
    bars = driven(part("area of f0", 0.5, 1.5), part("surface coefficient, up, 7.1", 0.9, 1.1)).quantities
    assert list(bars) == ["area of t0", "surface coefficient, up"]
    alike = {0: "same", 1: "same"}
    bars = driven(part("area of f0", 0.5, 1.5), part("area of f1", 0.9, 1.1), titles=alike).quantities
    assert list(bars) == ["area of f0", "area of f1"]


def test_an_input_that_may_be_nothing_has_no_bar():
    assert list(driven(part("film", 0.5, 1.5)).quantities) == ["film"]


def test_the_cost_has_drivers_of_its_own():
    found = [finding("x", "a.x")]
    costs = Costs(actions={"a.x": ActionCost(cost=Quantity(90.0, "USD", 80.0, 120.0))})
    bars = of_kind(whole(found, [], {"a.x": Action("a.x", "Seal it", "contractor", "d")}, costs), "cost-drivers")
    (name, bar) = next(iter(bars.quantities.items()))
    assert (name, bar.low, bar.high, bar.unit) == ("cost of Seal it", 80.0, 120.0, "USD")


# --- budget --------------------------------------------------------------------------------


def budget(amount):
    return of_kind(two(Costs(budget=None if amount is None else exact(amount, "USD"))), "budget")


@pytest.mark.parametrize(
    ("amount", "cost", "saving", "codes"),
    [
        (59.0, 0.0, None, ["budget-none", "budget-later", "budget-rule"]),
        (60.0, 60.0, 70.0, ["budget-for", "budget-later", "budget-rule"]),
        (150.0, 60.0, 70.0, ["budget-for", "budget-later", "budget-rule"]),
    ],
)
def test_what_is_done_for_the_budget(amount, cost, saving, codes):
    """x brings 20 for 90 and is never worth it; y brings 70 for 60."""
    one = budget(amount)
    assert one.quantities["cost"].value == cost and one.quantities["budget"].value == amount
    assert ("yearly_saving" in one.quantities) is (saving is not None)
    if saving:
        assert one.quantities["yearly_saving"].value == pytest.approx(saving)
    assert [said.code for said in one.said] == codes
    assert one.quantities["chance_within_budget"].value == 0.999, "never said to be certain"


def test_without_a_budget_nothing_is_said():
    assert budget(None) is None and {one.within_budget for one in two().plan} == {None}


def test_the_chance_counts_the_draws_within():
    found = [finding("x", "a.x", urgency="now")]
    prices = {"a.x": ActionCost(cost=Quantity(100.0, "USD", 80.0, 120.0))}
    for amount, chance in ((100.0, 0.5), (110.0, 0.8365)):
        given = whole(found, [], book("a.x"), Costs(actions=prices, budget=exact(amount, "USD")))
        told = of_kind(given, "budget").quantities["chance_within_budget"].value
        assert told == pytest.approx(chance, abs=0.002), "10 over is 0.98 standard deviations of a normal distribution"


# --- bill ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "bill", "expected"),
    [
        ("water", Bill(volume=exact(120, "m3")), (120.0, "m3/a")),
        ("water", Bill(year=exact(120, "kWh")), None),
        ("gas", Bill(year=exact(120, "kWh"), volume=exact(9, "m3")), (120.0, "kWh/a")),
        ("gas", Bill(volume=exact(10, "m3")), (106.1, "kWh/a")),
        ("electricity", Bill(volume=exact(10, "m3")), None),
        ("electricity", Bill(months=(exact(73, "kWh"),), days=(73.0,)), (365.0, "kWh/a")),
        ("electricity", Bill(months=(exact(10, "kWh"),) * 12), (120.0, "kWh/a")),
    ],
)
def test_bills_in_the_unit_of_claims(name, bill, expected):
    """106.1: 1025 Btu per cubic foot of gas (US EIA, seen)."""
    found = billed_of(name, bill)
    assert expected == (None if found is None else (pytest.approx(found.value, rel=1e-3), found.unit))


@pytest.mark.parametrize(("year", "beyond", "share"), [(399.0, True, 1.0), (400.0, False, 1.0), (800.0, False, 0.5)])
def test_a_claim_of_all_of_the_bill_is_not_beyond_it(year, beyond, share):
    given = two(bill={"electricity": Bill(year=exact(year, "kWh"))})
    one = of_kind(given, "bill")
    assert bool(given.flagged) is beyond and one.said[0].values["share"].value == share
    assert [said.code for said in one.said] == ["bill-beyond" if beyond else "bill-share"]
    assert one.quantities["electricity claimed"].value == 400.0 and one.quantities["electricity billed"].value == year
    assert [(flag.source, flag.code, flag.failed) for flag in given.flagged] == [
        ("survey.yaml", "claim-beyond-bill", False)
    ] * beyond


def test_a_bill_that_cannot_be_read_is_said_to_be_and_one_that_nobody_claims_is_not_shown():
    wood, gas, water = Bill(volume=exact(3, "m3")), Bill(year=exact(9, "kWh")), Bill(volume=exact(50, "m3"))
    one = of_kind(two(bill={"ash": wood, "gas": gas, "water": water}), "bill")
    assert list(one.quantities) == ["water claimed", "water billed"]
    assert [said.code for said in one.said] == ["bill-unclear", "bill-share"]
    assert of_kind(two(bill={"gas": gas}), "bill") is None and of_kind(two(), "bill") is None
    assert of_kind(two(bill={"wood": wood}), "bill").quantities == {}


def test_the_first_page_has_totals_widest_inputs_and_flags():
    found = [finding("x", "a.x")]
    broken = NotAnalysed("p", "c", "m", failed=True)
    given = whole_brief(
        found,
        [loss(found[0], 100.0, spread=0.5)],
        book("a.x"),
        facts(bill={"electricity": Bill(year=exact(9, "kWh"))}),
        (broken,),
    )
    codes = [said.code for said in given.brief.sure]
    assert codes == ["verdicts", "saving", "doubt", "failed"] and [one.code for one in given.brief.flagged] == [
        "bill-beyond"
    ]
    assert given.brief.total["yearly_energy"].value == 100.0
