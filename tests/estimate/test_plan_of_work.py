"""Order, dependencies, causes counted once, the best set for a budget, totals, drivers, bill and first page."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
from heatbrief.estimate.budget import Choice, best_set
from heatbrief.estimate.causes import causes, overlap
from heatbrief.estimate.plan_of_work import plan_of_work
from heatbrief.estimate.whole import whole_brief
from heatbrief.model import Action, Bill, Estimate, Factor, Quantity, Term
from heatbrief.model.costs import ActionCost, Costs
from hypothesis import given, settings
from hypothesis import strategies as st

from .plan_parts import book, exact, facts, finding, keys, loss, square

# --- savings and causes --------------------------------------------------------------------


def test_a_saving_stands_on_the_repair_that_brings_it_and_nowhere_else():
    actions = book("a.seal", "a.fill") | {"a.look": Action("a.look", "Look", "owner", "does", kind="check")}
    one = finding("f", "a.look", "a.seal", "a.fill")
    items = {item.action: item.quantities for item in plan_of_work([one], [loss(one, 100.0)], actions, facts())}
    assert items["a.fill"]["yearly_saving"].value == pytest.approx(20.0)
    assert "yearly_saving" not in items["a.look"] and "yearly_saving" not in items["a.seal"]


def test_a_loss_of_something_normal_does_not_hide_the_next_one():
    well, bad = finding("a", "a.fill", verdict="normal"), finding("b", "a.seal")
    whole = whole_brief([well, bad], [loss(well, 100.0), loss(bad, 60.0)], book("a.fill", "a.seal"), facts())
    assert whole.brief.total["yearly_saving"].value == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("first", "second", "costs"),
    [
        ({"shares": "one"}, {"shares": "one"}, Costs()),
        ({"polygon": square(0, 0)}, {"polygon": square(3, 0)}, Costs()),
        (
            {"region": "supply duct", "picture": "q"},
            {"region": "study ceiling"},
            Costs(same_cause=(("supply duct", "study ceiling"),)),
        ),
    ],
    ids=["tag", "area", "stated"],
)
def test_one_cause_is_counted_once_with_its_largest_loss(first, second, costs):
    """An air leak and the cold patch it makes; a duct gain and the room it overheats."""
    a, b = finding("a", "a.fill", **first), finding("b", "a.seal", **second)
    whole = whole_brief([a, b], [loss(a, 100.0), loss(b, 60.0)], book("a.fill", "a.seal"), facts(costs))
    assert whole.brief.total["yearly_saving"].value == pytest.approx(20.0)
    quantities = {item.action: item.quantities for item in whole.plan}
    assert "yearly_saving" in quantities["a.fill"] and "yearly_saving" not in quantities["a.seal"]
    (told,) = (one for one in whole.estimates if one.finding == "b")
    assert "`a`" in told.notes[-1] and told.quantities["yearly_cost"].value == pytest.approx(12.0)
    apart = whole_brief(
        [a, replace(b, shares="", outline=None, region="")],
        [loss(a, 100.0), loss(b, 60.0)],
        book("a.fill", "a.seal"),
        facts(),
    )
    assert apart.brief.total["yearly_saving"].value == pytest.approx(32.0)


def test_energy_and_water_of_one_cause_are_both_counted():
    one, two = finding("a", "a.fix", shares="x"), finding("b", "a.fix", shares="x")
    total = whole_brief([one, two], [loss(one, 100.0), loss(two, water=5.0)], book("a.fix"), facts()).brief.total
    assert total["yearly_saving"].value == pytest.approx(30.0) and total["yearly_water"].value == pytest.approx(5.0)


@pytest.mark.parametrize(("shift", "share"), [(0.0, 1.0), (5.0, 0.5), (10.0, 0.0), (30.0, 0.0)])
def test_overlap_of_two_squares(shift, share):
    assert overlap(finding("a", polygon=square(0, 0)), finding("b", polygon=square(shift, 0))) == pytest.approx(
        share, abs=0.01
    )
    assert overlap(finding("a", polygon=square(0, 0, 40)), finding("b", polygon=square(5, 5))) == pytest.approx(1.0), (
        "of the smaller one"
    )


def test_areas_of_two_pictures_are_two_causes():
    found = causes([finding("a", polygon=square(0, 0)), finding("b", polygon=square(0, 0), picture="q")])
    assert found == {"a": "a", "b": "b"}


def test_normal_findings_bring_no_work_and_inconclusive_ones_only_checks():
    actions = book("a.fix") | {"a.look": Action("a.look", "Look", "owner", "does", kind="check")}
    found = [finding("n", "a.fix", "a.look", verdict="normal"), finding("i", "a.fix", "a.look", verdict="inconclusive")]
    assert keys(plan_of_work(found, [], actions)) == ["a.look"]


# --- order ---------------------------------------------------------------------------------


def test_safety_then_urgency_then_value():
    actions = book("a.little", "a.much", "a.soon") | book("a.safe", safety=True)
    found = [
        finding("l", "a.little"),
        finding("m", "a.much"),
        finding("s", "a.soon", urgency="soon"),
        finding("z", "a.safe", urgency="watch"),
    ]
    estimates = [loss(found[0], 10.0), loss(found[1], 500.0)]
    assert keys(plan_of_work(found, estimates, actions, facts())) == ["a.safe", "a.soon", "a.much", "a.little"]


def test_value_is_what_is_left_after_the_cost():
    costs = Costs(actions={"a.dear": ActionCost(cost=exact(5000, "USD")), "a.cheap": ActionCost(cost=exact(50, "USD"))})
    found = [finding("d", "a.dear"), finding("c", "a.cheap")]
    assert keys(
        plan_of_work(found, [loss(found[0], 900.0), loss(found[1], 200.0)], book("a.dear", "a.cheap"), facts(costs))
    ) == ["a.cheap", "a.dear"]


def test_what_a_safety_action_needs_comes_right_before_it():
    actions = book("a.fix") | book("a.other") | book("a.safe", safety=True, after=("a.look",))
    actions |= {"a.look": Action("a.look", "Look", "owner", "does", kind="check")}
    found = [finding("s", "a.look", "a.safe", urgency="plan"), finding("o", "a.other", urgency="soon")]
    items = plan_of_work(found, [], actions)
    assert keys(items) == ["a.look", "a.safe", "a.other"]
    assert items[1].after == ("a.look",) and items[1].reason.endswith("after step 1")


def test_drying_and_sealing_come_before_closing_in_one_room():
    """Across plugins that do not know each other: dry before closing, air-seal before insulating."""
    actions = {
        "e.fill": Action("e.fill", "Fill", "contractor", "d", role="close"),
        "p.dry": Action("p.dry", "Dry", "contractor", "d", role="dry"),
        "e.seal": Action("e.seal", "Seal", "contractor", "d", role="seal"),
    }
    fill = finding("f", "e.fill", urgency="soon", room="bath")
    found = [fill, finding("w", "p.dry", room="bath"), finding("s", "e.seal", room="bath")]
    assert keys(plan_of_work(found, [], actions))[-1] == "e.fill"
    elsewhere = [fill, finding("w", "p.dry", room="attic"), finding("s", "e.seal", room="hall")]
    assert keys(plan_of_work(elsewhere, [], actions))[0] == "e.fill"


def test_a_ring_of_dependencies_does_not_hang():
    actions = {
        "a.x": Action("a.x", "X", "owner", "d", after=("a.y",)),
        "a.y": Action("a.y", "Y", "owner", "d", after=("a.x",)),
    }
    assert sorted(keys(plan_of_work([finding("f", "a.x", "a.y")], [], actions))) == ["a.x", "a.y"]


# --- budget --------------------------------------------------------------------------------


def wish(chosen):
    return (sum(one.safety for one in chosen), sum(one.urgent for one in chosen), sum(one.value for one in chosen))


def best_by_hand(choices, budget):
    """Every subset."""
    best = ()
    for size in range(len(choices) + 1):
        for chosen in combinations(choices, size):
            names = {one.key for one in chosen}
            fits = sum(one.cost for one in chosen if one.cost is not None) <= budget and all(
                one.cost is not None for one in chosen
            )
            if fits and all(set(one.after) <= names for one in chosen) and (not best or wish(chosen) > best[0]):
                best = (wish(chosen), names)
    return best


@st.composite
def problems(draw):
    count = draw(st.integers(1, 9))
    whole = st.integers(0, 60)
    return [
        Choice(
            str(n),
            draw(st.none() | whole.map(float)),
            float(draw(st.integers(-50, 200))),
            draw(st.booleans()),
            draw(st.booleans()),
            tuple(str(m) for m in range(n) if draw(st.integers(0, 4)) == 0),
        )
        for n in range(count)
    ]


@settings(deadline=None, max_examples=60)
@given(choices=problems(), budget=st.integers(0, 200))
def test_the_best_set_is_that_of_trying_all_sets(choices, budget):
    chosen = best_set(choices, float(budget))
    members = [one for one in choices if one.key in chosen]
    assert sum(one.cost for one in members) <= budget and all(set(one.after) <= chosen for one in members)
    assert wish(members) == best_by_hand(choices, budget)[0]
    assert best_set(choices, float(budget)) == chosen


def test_lines_say_whether_they_are_within_the_budget():
    costs = Costs(
        budget=exact(100, "USD"),
        actions={"a.x": ActionCost(cost=Quantity.between(80, 100, "USD")), "a.y": ActionCost(cost=exact(60, "USD"))},
    )
    found = [finding("x", "a.x"), finding("y", "a.y"), finding("z", "a.z")]
    whole = whole_brief(found, [loss(found[0], 900.0), loss(found[1], 300.0)], book("a.x", "a.y", "a.z"), facts(costs))
    assert {one.action: one.within_budget for one in whole.plan} == {"a.x": True, "a.y": False, "a.z": False}
    (told,) = (one for one in whole.estimates if one.kind == "budget")
    assert told.quantities["cost"].value == 90.0 and told.quantities["chance_within_budget"].value == pytest.approx(
        0.975, abs=0.002
    )
    assert "no price is known: a.z" in " ".join(told.notes)
    assert all(one.within_budget is None for one in plan_of_work(found, [], book("a.x", "a.y", "a.z"), facts()))


# --- totals, drivers, bill -----------------------------------------------------------------


def test_the_total_is_the_sum_of_the_lines_and_shares_what_they_share():
    price = Factor("hours of the season", Quantity.between(0.8, 1.2, "1"))
    found = [finding("x", "a.x"), finding("y", "a.y")]
    estimates = [loss(found[0], 100.0, common=(price,)), loss(found[1], 300.0, common=(price,))]
    whole = whole_brief(found, estimates, book("a.x", "a.y"), facts())
    lines = [one.quantities["yearly_saving"] for one in whole.plan]
    total = whole.brief.total["yearly_saving"]
    assert total.value == pytest.approx(sum(one.value for one in lines)) == 80.0
    assert total.half_width == pytest.approx(16.0, rel=1e-3), "one season for both: bounds add straight"


def test_the_widest_driver_is_the_input_with_the_widest_bounds():
    found = [finding("x", "a.x"), finding("y", "a.y")]
    estimates = [loss(found[0], 100.0, spread=0.5), loss(found[1], 300.0, spread=0.1)]
    (bars,) = (
        one for one in whole_brief(found, estimates, book("a.x", "a.y"), facts()).estimates if one.kind == "drivers"
    )
    assert bars.quantities["loss of title of x"].half_width == pytest.approx(10.0)
    assert bars.quantities["loss of title of y"].half_width == pytest.approx(6.0)
    assert {one.value for one in bars.quantities.values()} == {80.0}


@pytest.mark.parametrize(
    ("bill", "beyond"),
    [
        (Bill(year=exact(90, "kWh")), True),
        (Bill(year=exact(900, "kWh")), False),
        (Bill(months=(exact(5, "kWh"),) * 12), True),
    ],
)
def test_claims_beyond_the_bill_are_flagged_and_kept(bill, beyond):
    one = finding("x", "a.x")
    whole = whole_brief(
        [one], [loss(one, 100.0)], book("a.x"), facts(bill={"electricity": bill}), manifest="survey.yaml"
    )
    assert bool(whole.brief.flags) is beyond and [flag.code for flag in whole.flagged] == ["claim-beyond-bill"] * beyond
    assert whole.brief.total["yearly_energy"].value == 100.0, "the claim itself stays"
    (told,) = (each for each in whole.estimates if each.kind == "bill")
    assert told.quantities["electricity claimed"].value == 100.0


def test_a_bill_in_cubic_metres_goes_through_the_heat_content():
    """10.608 kWh per m3 of gas: US EIA 1025 Btu per ft3 (seen)."""
    one = finding("x", "a.x")
    estimate = Estimate("e", "x", "k", "t", terms=(Term("gas", "kWh/a", 50.0),))
    whole = whole_brief([one], [estimate], book("a.x"), facts(bill={"gas": Bill(volume=exact(10, "m3"))}))
    (told,) = (each for each in whole.estimates if each.kind == "bill")
    assert told.quantities["gas billed"].value == pytest.approx(106.08, rel=1e-3) and not whole.flagged


@pytest.mark.parametrize(
    "entry",
    [{}, {"months": (exact(1, "kWh"),) * 5}, {"months": (exact(1, "kWh"),) * 12, "temperatures": (exact(1, "degC"),)}],
)
def test_bills_that_say_too_little_are_refused(entry):
    with pytest.raises(ValueError):
        Bill(**entry)


# --- the first page ------------------------------------------------------------------------


def test_the_first_page_says_what_is_dangerous_who_and_what_next():
    actions = {"a.safe": Action("a.safe", "Test it", "licensed electrician", "d", safety=True), **book("a.x")}
    danger = replace(finding("s", "a.safe", urgency="now", room="garage"), next_time=("Note the load.",))
    other = replace(finding("x", "a.x"), next_time=("Use foil.", "Note the load."))
    brief = whole_brief([danger, other], [loss(other, 100.0)], actions, facts()).brief
    assert [(one.ref, one.who) for one in brief.dangers] == [("s", "licensed electrician")]
    assert [one.ref for one in brief.first] == ["a.safe", "a.x"]
    assert brief.next_time == ("Note the load.", "Use foil.") and not brief.example_prices
    assert any("saves 20 USD a year" in line for line in brief.how_sure)


def test_nothing_found_gives_an_empty_page_and_no_totals():
    whole = whole_brief([], [], {}, facts())
    assert whole.plan == () and whole.estimates == () and whole.brief.total == {} and whole.brief.dangers == ()
