"""Which work findings bring, what stands on its line, and which losses are counted."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.estimate.consequences import consequences
from heatbrief.estimate.plan_of_work import most_urgent, plan_from, plan_of_work
from heatbrief.model import Action, Estimate, Quantity, Term
from heatbrief.model.costs import ActionCost, Costs

from .plan_parts import book, exact, facts, finding, keys, loss

LOOK = {"a.look": Action("a.look", "Look", "owner", "does", kind="check")}


@pytest.mark.parametrize(
    ("verdict", "planned"),
    [("defect", ["a.fix", "a.look"]), ("suspect", ["a.fix", "a.look"]), ("inconclusive", ["a.look"]), ("normal", [])],
)
def test_verdicts_bring_their_kinds_of_work(verdict, planned):
    one = finding("f", "a.fix", "a.look", "a.unknown", verdict=verdict)
    assert keys(plan_of_work([one], [], book("a.fix") | LOOK)) == planned


def test_a_line_says_what_for_how_urgent_and_with_which_cautions():
    actions = {
        "a.x": Action("a.x", "X", "workshop", "does x", ("c.own",)),
        "a.y": Action("a.y", "Y", "owner", "does y", ("c.own",), ("a.x",), cautions_complete=True, safety=True),
    }
    one = replace(finding("f", "a.x", "a.y", urgency="watch"), cautions=("c.f", "c.own"))
    two = replace(finding("g", "a.x", urgency="soon"), cautions=("c.g",))
    x, y = plan_of_work([one, two], [], actions)
    assert (x.order, x.title, x.who, x.does, x.kind) == (1, "X", "workshop", "does x", "repair")
    assert x.findings == ("f", "g") and x.urgency == "soon" and x.cautions == ("c.own", "c.f", "c.g")
    assert x.reason == "urgency of its findings: soon" and not x.safety and x.after == () and x.price_origin == ""
    assert (y.order, y.findings, y.urgency, y.cautions, y.after) == (2, ("f",), "watch", ("c.own",), ("a.x",))
    assert y.reason == "safety comes first; after step 1" and y.safety


def test_the_most_urgent_counts():
    found = [finding(one, urgency=one) for one in ("watch", "now", "plan")]
    assert most_urgent(found) == "now" and most_urgent(found[2:]) == "plan" and most_urgent([]) == "none"


def test_the_amount_stands_on_lines_that_are_priced_by_it():
    one = finding("f", "a.x", "a.y", "a.z")
    actions = book("a.x", priced_by="area") | book("a.y") | book("a.z", priced_by="")
    wide = Estimate("e", "f", "k", "t", {"area": exact(3, "m2")})
    items = {item.action: item.quantities for item in plan_of_work([one], [wide], actions, facts())}
    assert items["a.x"] == {"area": exact(3, "m2", "sum, each cause once")}
    assert items["a.y"] == {"pieces": exact(1, "1", "sum, each cause once")} and items["a.z"] == {}


def value(saving, cost):
    """The value of a line with so many kWh a year at 0.2, for a year without interest."""
    one = finding("f", "a.x")
    prices = {} if cost is None else {"a.x": ActionCost(cost=exact(cost, "USD"))}
    money = facts(Costs(actions=prices, discount_rate=exact(0, "1"), years=1))
    found = consequences([one], [loss(one, saving)] if saving else [], money)
    return plan_from(found, [one], book("a.x"), money).lines[0].value


@pytest.mark.parametrize(
    ("saving", "cost", "expected"),
    [(100.0, 15.0, 5.0), (None, 15.0, -15.0), (100.0, None, 20.0), (None, None, 0.0)],
)
def test_the_value_of_a_line_is_what_is_known_of_it(saving, cost, expected):
    assert value(saving, cost) == pytest.approx(expected)


def test_a_saving_without_a_price_is_energy_and_no_money():
    one = finding("f", "a.x")
    made = Estimate("e", "f", "k", "t", terms=(Term("oil", "kWh/a", 9.0), Term("electricity", "kWh/a", 1.0)))
    (item,) = plan_of_work([one], [made], book("a.x"), facts())
    assert item.quantities["yearly_energy"].value == 10.0 and "yearly_saving" not in item.quantities


def test_urgent_work_goes_before_gain_when_money_is_short():
    costs = {key: ActionCost(cost=exact(10, "USD")) for key in ("a.now", "a.soon", "a.plan")}
    found = [finding(one, f"a.{one}", urgency=one) for one in ("now", "soon", "plan")]
    for amount, chosen in ((10, 1), (20, 2), (30, 3)):
        money = facts(Costs(actions=costs, budget=exact(amount, "USD"), discount_rate=exact(0, "1"), years=1))
        plan = plan_of_work(found, [loss(found[2], 500.0)], book(*costs), money)
        inside = [one.action for one in plan if one.within_budget]
        assert len(inside) == chosen and ("a.plan" in inside) is (chosen == 3)


# --- which losses are counted --------------------------------------------------------------


def pair(first, second, **more):
    a, b = finding("a", "a.x", shares="one"), finding("b", "a.x", shares="one", **more)
    return consequences([a, b], [loss(a, **first), loss(b, **second)], facts())


@pytest.mark.parametrize(
    ("first", "second", "from_"),
    [
        ({"kwh": 100.0}, {"kwh": 60.0}, "a"),
        ({"kwh": 60.0}, {"kwh": 100.0}, "b"),
        ({"kwh": 60.0}, {"kwh": 60.0}, "a"),
    ],
    ids=["first", "second", "alike"],
)
def test_of_one_cause_the_largest_loss_counts_and_the_other_says_so(first, second, from_):
    found = pair(first, second)
    (one,) = found.counted
    assert one.finding.id == from_ and one.kind == "energy" and found.terms == one.terms
    notes = {each.finding: each.notes for each in found.estimates}
    assert notes[from_] == () and notes[{"a": "b", "b": "a"}[from_]] == (
        f"Counted once in sums, with `{from_}`, which describes the same cause.",
    )


def test_water_and_energy_of_one_cause_are_two_losses():
    found = pair({"kwh": 60.0, "water": 9.0}, {"kwh": 70.0, "water": 3.0})
    assert {(one.kind, one.finding.id, one.terms[0].unit) for one in found.counted} == {
        ("energy", "b", "kWh/a"),
        ("water", "a", "m3/a"),
    }
    assert len(found.terms) == 2 and all(len(one.notes) == 1 for one in found.estimates)


def test_two_estimates_of_one_finding_need_no_note():
    one = finding("a", "a.x")
    found = consequences([one], [loss(one, 60.0), replace(loss(one, 50.0), id="second")], facts())
    assert len(found.counted) == 1 and [each.notes for each in found.estimates] == [(), ()]


def test_a_loss_of_water_alone_and_one_after_a_normal_finding_count():
    fine, wet = finding("a", "a.x", verdict="normal"), finding("b", "a.x")
    found = consequences([fine, wet], [loss(fine, 9.0), loss(wet, water=3.0)], facts())
    assert [(one.finding.id, one.kind) for one in found.counted] == [("b", "water")]


def test_the_saving_stands_on_the_last_repair_that_is_planned_and_never_on_a_check():
    one = finding("f", "a.x", "a.y", "a.look")
    plan = plan_of_work([one], [loss(one, 100.0)], book("a.x", "a.y") | LOOK, facts())
    assert [item.action for item in plan if "yearly_saving" in item.quantities] == ["a.y"]


@pytest.mark.parametrize("verdict", ["normal", "inconclusive"])
def test_what_is_not_claimed_is_shown_and_not_counted(verdict):
    found = pair({"kwh": 60.0}, {"kwh": 100.0}, verdict=verdict)
    assert [one.finding.id for one in found.counted] == ["a"] and set(found.cause_of) == {"a"}
    assert all(each.quantities["yearly_cost"].value for each in found.estimates)


def test_what_an_estimate_already_said_of_a_year_is_worked_out_again():
    one = finding("a", "a.x")
    given = {"heat_flow": exact(9, "W"), "yearly_cost": exact(999, "USD/a"), "yearly_energy": exact(1, "kWh/a")}
    made = replace(loss(one, 60.0), quantities=given, notes=("own",))
    (shown,) = consequences([one], [made], facts()).estimates
    assert {name: each.value for name, each in shown.quantities.items() if name != "yearly_emissions"} == {
        "heat_flow": 9.0,
        "yearly_energy": 60.0,
        "yearly_cost": pytest.approx(12.0),
    }
    assert shown.notes == ("own",) and shown.terms == ()
    bare = Estimate("e", "a", "k", "t", {"heat_flow": Quantity(9.0, "W", 8.0, 9.0)})
    assert consequences([one], [bare], facts()).estimates == (bare,)
