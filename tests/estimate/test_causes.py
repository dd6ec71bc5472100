"""Which findings are one: by tag, by name and by area. Shares of areas are those of squares, counted in the head."""

from __future__ import annotations

import pytest
from heatbrief.estimate.causes import causes, overlap

from .plan_parts import finding, square


def test_causes_pass_on_from_one_to_the_next_and_the_first_stands_for_all():
    """c and d by tag, b and c by area, a and d by name: all four are one."""
    found = [
        finding("a", region="duct"),
        finding("b", polygon=square(0, 0)),
        finding("c", polygon=square(2, 0), shares="x"),
        finding("d", region="ceiling", shares="x"),
        finding("e", region="floor"),
    ]
    assert causes(found, [("ceiling", "duct")]) == {"a": "a", "b": "a", "c": "a", "d": "a", "e": "e"}
    assert causes(found) == {"a": "a", "b": "b", "c": "b", "d": "b", "e": "e"}


def test_names_in_other_lists_are_other_causes():
    found = [finding(name, region=name) for name in "abcd"]
    assert causes(found, [("a", "b"), ("c", "d")]) == {"a": "a", "b": "a", "c": "c", "d": "c"}
    assert causes(found, [("c", "b", "a"), ("z", "d")]) == {"a": "a", "b": "a", "c": "a", "d": "d"}
    assert causes([]) == {}


@pytest.mark.parametrize(
    ("shift", "same"), [(0.0, True), (4.9, True), (5.2, False), (9.9, False)], ids=lambda one: str(one)
)
def test_half_of_the_smaller_area_makes_one_cause(shift, same):
    """Squares of 10 shifted by 5 share one half."""
    found = causes([finding("a", polygon=square(0, 0)), finding("b", polygon=square(shift, 0))])
    assert (found["b"] == "a") is same


def test_an_outline_of_two_points_has_no_area():
    found = causes([finding("a", polygon=((0, 0), (9, 9))), finding("b", polygon=((0, 0), (9, 9)))])
    assert found == {"a": "a", "b": "b"}
    triangle = ((0, 0), (9, 0), (0, 9))
    assert causes([finding("a", polygon=triangle), finding("b", polygon=triangle)])["b"] == "a"


@pytest.mark.parametrize(
    ("first", "second", "share"),
    [
        (square(200, 300, 4), square(200, 302, 4), 0.5),
        (square(200, 300, 4), square(202, 302, 4), 0.25),
        (square(0, 0, 8), square(4, 2, 4), 1.0),
        (square(0, 0, 8), square(-6, 0, 8), 0.25),
        (square(0, 0, 8), square(0, 9, 8), 0.0),
        (square(0, 0, 8), square(9, 0, 8), 0.0),
        (((0, 0), (400, 0), (400, 2), (0, 2)), ((100, 0), (500, 0), (500, 2), (100, 2)), 0.75),
        (((0, 0), (2, 0), (2, 400), (0, 400)), ((0, 100), (2, 100), (2, 500), (0, 500)), 0.75),
    ],
)
def test_shared_area_over_the_smaller_one(first, second, share):
    one, other = finding("a", polygon=first), finding("b", polygon=second)
    assert overlap(one, other) == overlap(other, one) == pytest.approx(share, abs=0.02)


def test_an_area_without_extent_shares_nothing():
    speck = finding("a", polygon=((3, 3), (3, 3), (3, 3)))
    assert overlap(speck, finding("b", polygon=square(0, 0))) == 0.0 == overlap(speck, speck)
