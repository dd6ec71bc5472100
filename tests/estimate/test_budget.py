"""The best set for a budget, case by case: what is worked out in the head from the stated order of wishes."""

from __future__ import annotations

import pytest
from heatbrief.estimate.budget import Choice, best_set


def one(key, cost, value=0.0, *after, safety=False, urgent=False):
    return Choice(key, cost, value, safety, urgent, after)


CASES = {
    "nothing to choose from": ([], 100.0, ""),
    "what has no cost cannot be placed": ([one("a", None, 9.0)], 100.0, ""),
    "what costs and brings nothing is done": ([one("a", 0.0)], 0.0, "a"),
    "no money: only what is free": ([one("a", 0.5, 9.0), one("b", 0.0, 1.0)], 0.0, "b"),
    "a free one does not make room": ([one("a", 10.5, 9.0), one("b", 0.0, 1.0)], 10.0, "b"),
    "exactly the budget": ([one("a", 10.0, 9.0), one("b", 10.0, 8.0)], 20.0, "ab"),
    "just above the budget": ([one("a", 10.0, 9.0), one("b", 10.1, 8.0)], 20.0, "a"),
    "a cost above the value it brings counts no more than the money": ([one("a", 2000.0, 1000.0)], 2000.0, "a"),
    "a loss is left out": ([one("a", 5.0, -1.0), one("b", 5.0, 1.0)], 10.0, "b"),
    "a loss gives no money back": ([one("a", 20.0, 100.0), one("b", 10.0, -1.0)], 10.0, ""),
    "value before price": ([one("a", 1.0, 5.0), one("b", 9.0, 10.0)], 9.0, "b"),
    "value before place": ([one("a", 5.0, 1.0), one("b", 5.0, 2.0)], 5.0, "b"),
    "cheapest of equal worth": ([one("a", 10.0, 5.0), one("b", 6.0, 5.0)], 10.0, "b"),
    "earliest of equal price": ([one("b", 10.0, 5.0), one("a", 10.0, 5.0), one("c", 10.0, 5.0)], 10.0, "b"),
    "two small ones beat a large one": ([one("a", 10.0, 9.0), one("b", 5.0, 5.0), one("c", 5.0, 5.0)], 10.0, "bc"),
    "nothing is done twice": ([one("a", 10.0, 5.0, safety=True), one("b", 10.0, 4.0, safety=True)], 20.0, "ab"),
    "safety before value": ([one("a", 10.0, -50.0, safety=True), one("b", 10.0, 90.0)], 10.0, "a"),
    "more for safety before more value": (
        [one("a", 5.0, safety=True), one("b", 5.0, safety=True), one("c", 6.0, 500.0)],
        10.0,
        "ab",
    ),
    "safety before urgency": (
        [one("a", 10.0, safety=True), one("b", 5.0, urgent=True), one("c", 5.0, urgent=True)],
        10.0,
        "a",
    ),
    "urgency before value": ([one("a", 10.0, -50.0, urgent=True), one("b", 10.0, 90.0)], 10.0, "a"),
    "with safety bought the best of the rest": (
        [one("a", 5.0, safety=True), one("b", 5.0, 3.0), one("c", 5.0, 7.0), one("d", 5.0, -7.0)],
        10.0,
        "ac",
    ),
    "what has to come first is bought too": ([one("a", 4.0, -1.0), one("b", 5.0, 9.0, "a")], 9.0, "ab"),
    "and when both do not fit neither is": ([one("a", 4.0, -1.0), one("b", 6.0, 9.0, "a")], 9.0, ""),
    "what comes first may stand alone": ([one("a", 4.0, 1.0), one("b", 6.0, 9.0, "a")], 9.0, "a"),
    "two wait for one": ([one("a", 4.0, -1.0), one("b", 2.0, 9.0, "a"), one("c", 2.0, 9.0, "a")], 8.0, "abc"),
    "one waits for two": ([one("a", 4.0, -1.0), one("b", 2.0, -1.0), one("c", 2.0, 9.0, "a", "b")], 6.0, ""),
    "what waits for something without a price": (
        [one("a", None), one("b", 2.0, 9.0, "a"), one("c", 2.0, 9.0, "b"), one("d", 2.0, 1.0)],
        9.0,
        "d",
    ),
    "what waits for something that is not on the plan": ([one("b", 2.0, 9.0, "z")], 9.0, ""),
}


@pytest.mark.parametrize(("choices", "budget", "keys"), CASES.values(), ids=CASES)
def test_the_wishes_hold_in_their_order(choices, budget, keys):
    assert best_set(choices, budget) == frozenset(keys)


def test_an_action_is_neither_for_safety_nor_urgent_unless_said():
    """So of two plain ones that cost alike the better wins, whatever else there is."""
    plain = [Choice("a", 10.0), Choice("b", 10.0, 1.0), Choice("c", 10.0, -5.0, urgent=True)]
    assert best_set(plain[:2], 10.0) == {"b"} and best_set(plain, 10.0) == {"c"}
    assert best_set([Choice("a", 10.0), Choice("c", 10.0, -5.0, safety=True)], 10.0) == {"c"}
    assert best_set([Choice("a", 10.0), Choice("b", 10.0, 0.5)], 10.0) == {"b"}
    assert best_set([Choice("a", 10.0), Choice("b", 1.0, -0.5)], 20.0) == set(), "worth nothing is not worth its price"
