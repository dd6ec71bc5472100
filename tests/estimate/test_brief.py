"""The first page: what stands on it, in what order, and how much of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.estimate.brief import brief_of
from heatbrief.model import Quantity
from heatbrief.model.action import PlanItem
from heatbrief.model.results import NotAnalysed

from .plan_parts import exact, finding

COST, SAVING, PAYBACK, HOURS = exact(90, "USD"), exact(3, "USD/a"), exact(30, "a"), exact(2, "h")


def item(key, *findings, who="contractor", **more):
    return PlanItem(1, key, f"title of {key}", "repair", who, "does", findings, "plan", **more)


def page(findings=(), plan=(), total=None, drivers=None, failed=()):
    return brief_of(findings, plan, total or {}, drivers or {}, failed, [])


# --- what is dangerous ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("verdict", "urgency", "safety", "there"),
    [
        ("defect", "now", False, True),
        ("suspect", "now", False, True),
        ("inconclusive", "now", False, False),
        ("normal", "now", True, False),
        ("defect", "soon", False, False),
        ("defect", "watch", True, True),
        ("suspect", "none", True, True),
    ],
)
def test_dangers_are_urgent_now_or_a_matter_of_safety(verdict, urgency, safety, there):
    one = finding("f", verdict=verdict, urgency=urgency)
    assert [line.ref for line in page([one], [item("a", "f", safety=safety)]).dangers] == ["f"] * there


def test_who_may_look_is_who_makes_it_safe_else_who_comes_first():
    plan = [
        item("a", "f", "g", who="owner"),
        item("b", "f", who="licensed electrician", safety=True),
        item("c", "f", who="workshop", safety=True),
        item("d", "g", who="surveyor"),
    ]
    found = [finding(name, urgency="now", room=room) for name, room in (("f", "hall"), ("g", ""), ("h", ""))]
    assert [(one.text, one.who, one.ref) for one in page(found, plan).dangers] == [
        ("title of f (hall)", "licensed electrician", "f"),
        ("title of g", "owner", "g"),
        ("title of h", "", "h"),
    ]


def test_the_page_has_room_for_twelve_dangers_and_twelve_wishes():
    found = [replace(finding(f"f{n}", urgency="now"), next_time=(f"wish {n}",)) for n in range(13)]
    short = page(found)
    assert [one.ref for one in short.dangers] == [f"f{n}" for n in range(12)]
    assert short.next_time == tuple(f"wish {n}" for n in range(12))


# --- what to do first ----------------------------------------------------------------------


def test_five_steps_stand_on_the_page_with_cost_saving_and_payback():
    money = {"hours": HOURS, "payback": PAYBACK, "yearly_saving": SAVING, "cost": COST}
    lines = page(plan=[item(f"a{n}", quantities=money, slight_saving=n == 1) for n in range(6)]).first
    assert [(one.ref, one.text, one.who) for one in lines] == [
        (f"a{n}", f"title of a{n}", "contractor") for n in range(5)
    ]
    assert list(lines[0].quantities) == ["cost", "yearly_saving", "payback"]
    assert dict(lines[1].quantities) == {"cost": COST}, "a slight saving is no reason and is not shown"
    assert page(plan=[item("a", quantities={"payback": PAYBACK})]).first[0].quantities == {"payback": PAYBACK}


# --- how sure ------------------------------------------------------------------------------


def codes(brief):
    return [one.code for one in brief.sure]


def test_verdicts_are_counted():
    kinds = ["defect"] * 3 + ["suspect"] * 2 + ["normal"]
    first = page([finding(str(n), verdict=kind) for n, kind in enumerate(kinds)]).sure[0]
    assert first.code == "verdicts"
    assert first.values == {"defect": "3", "suspect": "2", "inconclusive": "0", "normal": "1"}


def bar(low, high):
    return Quantity(10.0, "USD/a", low, high)


@pytest.mark.parametrize(
    ("drivers", "code", "named"),
    [
        ({"area": bar(9, 12)}, "doubt", ["area"]),
        ({"area": bar(9, 12), "film": bar(5, 11)}, "doubts", ["film", "area"]),
        ({"a": bar(9, 12), "b": bar(5, 11), "c": bar(6, 11), "d": bar(8, 12)}, "doubts", ["b", "c"]),
        ({"b": bar(8, 12), "c": bar(9, 13), "a": bar(10, 14)}, "doubts", ["a", "b"]),
    ],
    ids=["one", "two", "four", "alike: by name"],
)
def test_the_widest_inputs_are_named(drivers, code, named):
    brief = page(total={"yearly_saving": SAVING}, drivers=drivers)
    (told,) = (one for one in brief.sure if one.code.startswith("doubt"))
    assert told.code == code and list(told.values.values()) == named


def test_sentences_stand_where_they_belong():
    assert codes(page()) == ["verdicts", "no-saving"]
    assert codes(page(total={"yearly_saving": SAVING})) == ["verdicts", "saving"]
    assert codes(page(total={"yearly_saving": SAVING, "cost": COST})) == ["verdicts", "cost", "saving"]
    assert codes(page(total={"cost": COST})) == ["verdicts", "cost", "no-saving"]


def test_only_what_failed_is_said_to_have_failed():
    left_out, broken = NotAnalysed("a", "c", "m"), NotAnalysed("b", "c", "m", failed=True)
    assert codes(page(failed=[left_out])) == ["verdicts", "no-saving"]
    assert page(failed=[left_out, broken, broken]).sure[-1].values == {"count": "2"}


def test_prices_of_the_example_book_are_told():
    brief = page(plan=[item("a", price_origin="given in the survey"), item("b", price_origin="example price book")])
    assert brief.example_prices and codes(brief)[-1] == "example-prices"
    own = page(plan=[item("a", price_origin="given in the survey")])
    assert not own.example_prices and "example-prices" not in codes(own)


def test_what_most_findings_ask_for_comes_first():
    asked = [("foil",), ("load", "foil"), ("dew", "load"), ("foil",)]
    found = [replace(finding(str(n)), next_time=texts) for n, texts in enumerate(asked)]
    assert page(found).next_time == ("foil", "load", "dew")
