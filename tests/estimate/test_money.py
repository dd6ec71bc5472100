"""Costs, payback and present worth of plan lines against published examples and numpy-financial."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.estimate.line_costs import LineCost, amounts, line_cost, present_worth, worth
from heatbrief.estimate.terms import total
from heatbrief.model import Action, Factor, Finding, Quantity, Term
from heatbrief.model.costs import ActionCost, Costs, MoneyFacts
from heatbrief.physics.economics import internal_rate_of_return, uniform_present_worth_factor
from hypothesis import given, settings
from hypothesis import strategies as st

exact = Quantity.exact


def finding(name="f", **measured):
    return Finding(name, "d", "c", "t", "r", "title", "s", "defect", "plan", 0.9, measured=measured)


def facts(entry: ActionCost, rate=0.03, growth=0.0, **labour):
    costs = Costs(
        labour=labour, actions={"a.fix": entry}, discount_rate=exact(rate, "1"), price_growth=exact(growth, "1")
    )
    return MoneyFacts(costs=costs, listed=frozenset({"actions.a.fix", "labour.contractor"}))


def action(priced_by="piece", who="contractor", **more):
    return Action("a.fix", "Fix", who, "does", priced_by=priced_by, **more)


def money_of(cost, saving, rate, years, growth=0.0):
    entry = ActionCost(cost=exact(cost, "USD"), life=years)
    line = line_cost(action(), (), facts(entry, rate, growth))
    return worth(action(), line, (Term("money", "USD/a", saving),), facts(entry, rate, growth)).quantities


@pytest.mark.parametrize(
    ("cost", "saving", "years", "rate", "payback", "npv", "ratio"),
    [
        (2000.0, 250.0, 15, 0.03, 8.0, 984.48, 1.4922),
        (2000.0, 250.0, 15, 0.05, 8.0, 594.91, None),
        (902.0, 117.72, 20, 0.03, 7.6621, 849.40, None),
        (902.0, 117.72, 20, 0.07, 7.6621, 345.15, None),
    ],
    ids=["EX-10.5", "EX-10.5b", "EX-10.4", "EX-10.4b"],
)
def test_worked_examples(cost, saving, years, rate, payback, npv, ratio):
    """Envelope dossier EX-10.4 (cost and saving of EX-6.2, an attic; payback seen) and EX-10.5; values computed
    there."""
    found = money_of(cost, saving, rate, years)
    assert found["payback"].value == pytest.approx(payback, abs=1e-3)
    assert found["net_present_value"].value == pytest.approx(npv, abs=0.08 if saving == 117.72 else 0.005)
    if ratio:
        assert found["savings_to_investment"].value == pytest.approx(ratio, abs=1e-4)


def test_an_attic_from_r_values_to_payback():
    """EX-6.2: 1894 ft2 from R-16 to R-28, 6000 degF d, gas at 14.1 USD per million Btu, 0.875: 7.66 years (seen as
    7.7)."""
    from heatbrief.physics.degree_days import insulation_saving

    r = 0.1761101838
    joules = insulation_saving(1894 * 0.09290304, 16 * r, 28 * r, 6000 / 1.8, 0.875)
    saving = float(joules) / 1055.05585262e6 * 14.1
    assert money_of(902.0, saving, 0.03, 20)["payback"].value == pytest.approx(7.66, abs=0.005)


@settings(deadline=None, max_examples=40)
@given(
    cost=st.floats(50, 5000),
    saving=st.floats(60, 900),
    rate=st.floats(0.0, 0.12),
    growth=st.floats(-0.02, 0.06),
    years=st.integers(1, 40),
)
def test_present_worth_against_the_reference_library(cost, saving, rate, growth, years):
    npf = pytest.importorskip(
        "numpy_financial", reason="numpy-financial, the reference for money over time, is not installed"
    )
    found = money_of(cost, saving, rate, years, growth)["net_present_value"]
    flows = [-cost, *(saving * (1 + growth) ** t for t in range(1, years + 1))]
    assert found.value == pytest.approx(npf.npv(rate, flows), rel=1e-9, abs=1e-6)
    if growth == 0.0 and saving * years > cost:
        assert internal_rate_of_return(cost, saving, years) == pytest.approx(npf.irr(flows), abs=1e-7)


@pytest.mark.parametrize(("rate", "growth"), [(0.03, 0.0), (0.03, 0.03), (0.0, 0.0), (0.10, 0.07)])
def test_the_closed_form_is_the_sum_of_the_table(rate, growth):
    """NIST HB 135 factors as sums (physics.economics); equal growth and interest give the number of years."""
    found = present_worth(facts(ActionCost(), rate, growth), 25)
    assert found.best == pytest.approx(uniform_present_worth_factor(rate, 25, growth)) and np.allclose(
        found.values, found.best
    )


def test_doubt_about_the_interest_reaches_every_line():
    entry = ActionCost(cost=exact(100.0, "USD"), life=20)
    given_ = MoneyFacts(costs=Costs(actions={"a.fix": entry}, discount_rate=Quantity.between(0.01, 0.05, "1")))
    found = worth(action(), line_cost(action(), (), given_), (Term("money", "USD/a", 10.0),), given_).quantities[
        "net_present_value"
    ]
    ends = [10 * uniform_present_worth_factor(rate, 20) - 100 for rate in (0.05, 0.01)]
    assert (found.low, found.high) == pytest.approx(ends, rel=1e-3)


def test_cost_of_a_line_by_hand():
    """2 m2 at 10 USD/m2, 1 h and 2 x 0.5 h at 50 USD/h, 30 USD for coming: 150 USD and 2 h."""
    entry = ActionCost(
        fixed=exact(30, "USD"), material=exact(10, "USD/m2"), hours=exact(1, "h"), hours_per_unit=exact(0.5, "h")
    )
    given_ = facts(entry, contractor=exact(50, "USD/h"))
    amount = amounts(action("area"), [finding(area=exact(2.0, "m2"))], {}, {})
    line = line_cost(action("area"), amount, given_)
    assert total(line.money).best == pytest.approx(150.0) and total(line.hours).best == pytest.approx(2.0)
    assert line.origin == "given in the survey"


def test_amounts_count_every_cause_once():
    pair = [
        finding("a", area=exact(1.0, "m2")),
        finding("b", area=exact(3.0, "m2")),
        finding("c", area=exact(5.0, "m2")),
    ]
    cause = {"a": "a", "b": "a", "c": "c"}
    assert total(amounts(action("area"), pair, {}, cause)).best == 8.0
    assert total(amounts(action("piece"), pair, {}, cause)).best == 2.0
    assert total(amounts(action(""), pair, {}, cause)).best == 1.0
    assert amounts(action("length"), pair, {}, cause) == ()


@pytest.mark.parametrize(
    ("entry", "who", "labour", "known"),
    [
        (None, "contractor", {}, False),
        (ActionCost(hours=exact(1, "h")), "contractor", {}, False),
        (ActionCost(hours=exact(1, "h")), "owner", {}, True),
        (ActionCost(hours=exact(1, "h")), "contractor", {"contractor": exact(50, "USD/h")}, True),
        (ActionCost(cost=exact(5, "USD")), "contractor", {}, True),
        (ActionCost(material=exact(9, "USD/m2")), "contractor", {}, False),
    ],
)
def test_a_price_is_known_or_said_to_be_unknown(entry, who, labour, known):
    given_ = MoneyFacts(costs=Costs(labour=labour, actions={} if entry is None else {"a.fix": entry}))
    line = line_cost(action("area", who), (), given_)
    assert isinstance(line, LineCost) and line.known is known


def test_prices_of_the_example_book_are_said_to_be_such():
    entry = ActionCost(hours=exact(1, "h"))
    labour = {"contractor": exact(50, "USD/h")}
    for listed, origin in (
        (set(), "example price book"),
        ({"actions.a.fix"}, "example price book"),
        ({"actions.a.fix", "labour.contractor"}, "given in the survey"),
    ):
        given_ = MoneyFacts(costs=Costs(labour=labour, actions={"a.fix": entry}), listed=frozenset(listed))
        assert line_cost(action(), (), given_).origin == origin


def test_safety_has_no_payback_and_a_century_is_none():
    entry = ActionCost(cost=exact(100.0, "USD"))
    saving = (Term("money", "USD/a", 10.0),)
    given_ = facts(entry)
    assert set(worth(action(safety=True), line_cost(action(), (), given_), saving, given_).quantities) == {"cost"}
    small = (Term("money", "USD/a", 0.5),)
    assert "payback" not in worth(action(), line_cost(action(), (), given_), small, given_).quantities


def test_one_area_is_drawn_once_for_cost_and_saving():
    """Cost and saving both go with the same measured area, so the payback does not depend on it."""
    area = Factor("area of f", Quantity.between(0.5, 1.5, "m2"))
    given_ = facts(ActionCost(material=exact(40, "USD/m2")))
    line = line_cost(action("area"), (Term("area", "m2", 1.0, (area,)),), given_)
    found = worth(action("area"), line, (Term("money", "USD/a", 5.0, (area,)),), given_).quantities
    assert found["cost"].half_width == pytest.approx(20.0, rel=0.01)
    assert found["payback"].value == found["payback"].low == pytest.approx(found["payback"].high) == pytest.approx(8.0)
