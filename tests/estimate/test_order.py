"""Order of work from the stated rule, without findings of a survey around it."""

from __future__ import annotations

import pytest
from heatbrief.estimate.order import dependencies, ordered
from heatbrief.model import Action

from .plan_parts import finding


def actions(**kinds):
    return {key: Action(key, key, "contractor", "does", **more) for key, more in kinds.items()}


def order(urgency, after=None, value=None, **kinds):
    wanted = {key: [finding(key, urgency=one) for one in words.split()] for key, words in urgency.items()}
    given = {key: (after or {}).get(key, ()) for key in wanted}
    return "".join(ordered(wanted, given, actions(**{key: kinds.get(key, {}) for key in wanted}), value or {}))


@pytest.mark.parametrize(
    ("urgency", "expected"),
    [
        ({"a": "watch", "b": "plan", "c": "soon", "d": "now", "e": "none"}, "dcbae"),
        ({"a": "plan watch", "b": "watch soon", "c": "plan"}, "bac"),
        ({"b": "plan", "a": "plan"}, "ab"),
    ],
    ids=["by urgency", "the most urgent finding counts", "by name"],
)
def test_urgency_decides(urgency, expected):
    assert order(urgency) == expected


def test_value_decides_between_equals_and_none_is_nothing():
    plan = {"a": "plan", "b": "plan", "c": "plan", "d": "plan"}
    assert order(plan, value={"a": -5.0, "b": 40.0, "d": 0.5}) == "bdca"
    assert order({"a": "plan", "b": "soon"}, value={"a": 900.0}) == "ba"


def test_safety_goes_before_urgency():
    assert order({"a": "now", "b": "watch"}, b={"safety": True}) == "ba"


def test_what_is_needed_is_pulled_forward_through_others():
    urgency = {"a": "watch", "b": "watch", "c": "now", "d": "plan"}
    assert order(urgency, {"c": ("b",), "b": ("a",)}) == "abcd"
    assert order(urgency, {"a": ("b",)}) == "cdba", "nothing that is urgent needs it"
    assert order({"a": "plan", "b": "soon", "c": "now"}, {"b": ("a",), "c": ("a",)}) == "acb"
    assert order({"a": "plan", "b": "now", "c": "soon"}, {"b": ("a",), "c": ("a",)}) == "abc"


def test_a_ring_is_broken_at_the_best():
    assert order({"a": "plan", "b": "soon", "c": "watch"}, {"a": ("b",), "b": ("a",)}) == "cba", "after what is in none"
    assert order({"a": "plan", "b": "plan", "c": "now"}, {"a": ("a",), "c": ("b",), "b": ("c",)}) == "cba"


# --- what comes first ----------------------------------------------------------------------


def first(rooms, after=None, **roles):
    wanted = {key: [finding(key, room=one) for one in words.split(",")] for key, words in rooms.items()}
    kinds = {key: {"role": roles.get(key, ""), "after": (after or {}).get(key, ())} for key in rooms}
    return dependencies(wanted, actions(**kinds))


def test_only_what_is_on_the_plan_comes_first_and_nothing_before_itself():
    assert first({"a": "", "b": ""}, {"a": ("b", "z", "a", "b"), "b": ()}) == {"a": ("b",), "b": ()}


@pytest.mark.parametrize(
    ("role", "other", "waits"),
    [
        ("close", "dry", True),
        ("close", "seal", True),
        ("close", "close", False),
        ("close", "", False),
        ("seal", "dry", False),
        ("", "dry", False),
    ],
)
def test_only_closing_waits_and_only_for_drying_and_sealing(role, other, waits):
    assert first({"a": "bath", "b": "bath"}, a=role, b=other)["a"] == ("b",) * waits


@pytest.mark.parametrize(
    ("here", "there", "waits"),
    [("bath", "bath", True), ("bath", "hall", False), ("", "", False), ("hall,bath", "attic,bath", True)],
)
def test_rooms_must_be_the_same_and_known(here, there, waits):
    assert first({"a": here, "b": there}, a="close", b="seal")["a"] == ("b",) * waits


def test_a_room_makes_no_ring():
    """b is to come after a anyway, directly or through c."""
    assert first({"a": "x", "b": "x"}, {"b": ("a",)}, a="close", b="dry") == {"a": (), "b": ("a",)}
    through = first({"a": "x", "b": "x", "c": ""}, {"b": ("c",), "c": ("a",)}, a="close", b="dry")
    assert through == {"a": (), "b": ("c",), "c": ("a",)}
    ring = first({"a": "x", "b": "x", "c": ""}, {"b": ("c",), "c": ("b",)}, a="close", b="dry")
    assert ring["a"] == ("b",)
