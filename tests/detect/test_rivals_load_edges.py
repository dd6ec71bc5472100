"""The rival "load" by the loads of the part and its twins, and the registry: which rivals are strong, and offered ones."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.api import RivalTest
from heatbrief.detect import RIVALS, Case, argue
from heatbrief.detect.rivals import offered_rival
from heatbrief.detect.rivals_load import load
from heatbrief.model import Quantity, Region, Rival


def part(name, group="row", **facts):
    known = {one.replace("_", " "): value for one, value in facts.items()}
    return Region(name, "north-wall", "box", ((0, 0), (5, 5)), group=group, facts=known)


def amperes(value):
    return Quantity.exact(value, "A")


@pytest.fixture
def fares(make):
    """fares(part, its twins ...) -> how the load fares as the explanation."""

    def call(own, *others):
        context = make.context(*(one for one in (own, *others) if one is not None))
        return load(Case("test.load", "test", make.picture((20, 20)), context, own))

    return call


@pytest.mark.parametrize(
    ("own", "others", "status"),
    [
        (10.9, (10.0,), "ruled out"),
        (11.1, (10.0,), "not ruled out"),
        (5.0, (10.0,), "ruled out"),  # less load cannot warm it
        (12.0, (10.0, 12.0, 30.0), "ruled out"),  # the one in the middle is what is usual
        (20.0, (10.0, 10.0, 40.0), "not ruled out"),
        (0.5, (0.2, 0.2), "not ruled out"),
        (0.0, (0.0, 0.0), "ruled out"),  # none of them carries anything
        (8.0, (0.0, 0.0), "not ruled out"),
        (0.5, (0.0, 0.0), "not ruled out"),
        (0.0, (8.0, 8.0), "ruled out"),
    ],
)
def test_more_than_a_tenth_above_its_twins_explains_warmth(fares, own, others, status):
    """Loads within 10 % are alike (common practice, no source)."""
    rival = fares(part("own", load=amperes(own)), *(part(f"{n}", load=amperes(one)) for n, one in enumerate(others)))
    assert rival.status == status and not rival.missing and "inf" not in rival.evidence


def test_what_a_higher_load_does_is_said_by_the_published_exponents(fares):
    """Rise with load to the power of 1.6 to 2.0 (`load-exponent`, seen): at 1.5 times 1.9 to 2.2 times [computed]."""
    rival = fares(part("own", load=amperes(30)), part("twin", load=amperes(20)))
    assert "is 1.50 times that of its twins, which warms it by 1.9 to 2.2 times" in rival.evidence
    assert fares(part("own", load=amperes(8)), part("twin", load=amperes(0))).evidence.endswith("carry none")
    assert "is 1.00 times that" in fares(part("own", load=amperes(0)), part("twin", load=amperes(0))).evidence


def test_amperes_are_never_held_against_shares(fares):
    """12 A beside a twin at 60 % of its rating says nothing; where both state a share, the shares count."""
    own = part("own", load=amperes(12), load_share=Quantity.exact(0.9, "1"))
    share = part("twin", load_share=Quantity.exact(0.6, "1"))
    assert fares(part("own", load=amperes(12)), share).status == "not testable"
    assert fares(part("own", load_share=Quantity.exact(0.9, "1")), part("twin", load=amperes(12))).status == (
        "not testable"
    )
    assert "1.50 times" in fares(own, share).evidence
    assert "1.20 times" in fares(own, part("twin", load=amperes(10), load_share=Quantity.exact(0.6, "1"))).evidence


@pytest.mark.parametrize(
    ("own", "others", "missing"),
    [
        (part("own"), (part("twin", load=amperes(5)),), "the load of the part and of its twins"),
        (part("own", load=amperes(5)), (part("a", load=amperes(5)), part("b")), "the load of every twin"),
        (part("own", load=amperes(5)), (part("a", load=True),), "the load of every twin"),
        (part("own", load=amperes(5)), (part("a", load="much"),), "the load of every twin"),
        (part("own", load=amperes(5)), (), "the load of every twin"),
        (part("own", load=amperes(5)), (part("a", "another row", load=amperes(5)),), "the load of every twin"),
        (part("own", "", load=amperes(5)), (part("a", "", load=amperes(5)),), "the load of every twin"),
        (None, (part("a", load=amperes(5)),), "the load of the part and of its twins"),
    ],
)
def test_without_the_loads_of_all_in_the_group_it_stays_open(fares, own, others, missing):
    rival = fares(own, *others)
    assert rival.status == "not testable" and missing in rival.missing


def test_a_load_of_the_whole_picture_has_no_twins(make):
    context = make.context(facts={"load": amperes(5)})
    assert load(Case("test.load", "test", make.picture((20, 20)), context)).missing.startswith("the load of every twin")


def test_plain_numbers_count_as_loads(fares):
    assert fares(part("own", load=15.0), part("a", load=10)).status == "not ruled out"


STRONG = {
    "reflection": True,
    "shade or sun": True,
    "wet film": True,
    "material change": True,
    "lens shading": True,
    "thermal lag": True,
    "load": True,
    "glass": True,
    "out of focus": False,
    "unsteady indoors": False,
    "recent touch": False,
    "camera not settled": False,
    "object edge": False,
}
"""What could make a whole pattern by itself (this project's rule): the strong ones hold a verdict at suspect."""


@pytest.mark.parametrize("name", STRONG)
def test_which_rivals_could_make_the_whole_pattern(make, name):
    case = Case("test.load", "test", make.picture((20, 20)), make.context(), area=make.area((5, 5, 12, 12)))
    (rival,), strong = argue(case, (name,))
    assert (rival.explanation in strong) is STRONG[name] and set(STRONG) == set(RIVALS)


def says(answer, **more):
    def run(case):
        if isinstance(answer, Exception):
            raise answer
        return answer

    return RivalTest("pool.ghost", 1, "a ghost", run, **more)


GHOST = Rival("a ghost", "ruled out", "none were seen", "")


@pytest.mark.parametrize(
    ("answer", "status", "evidence"),
    [
        (GHOST, "ruled out", "none were seen"),
        (replace(GHOST, explanation="something else"), "ruled out", "none were seen"),
        ("ruled out", "not testable", "its test failed: TypeError: its test returned str instead of a Rival"),
        (replace(GHOST, status="maybe"), "not testable", "its test failed: TypeError"),
        (KeyError("moon"), "not testable", "its test failed: KeyError: 'moon'"),
    ],
)
def test_an_offered_rival_that_fails_is_not_testable(make, answer, status, evidence):
    case = Case("test.load", "test", make.picture((20, 20)), make.context())
    rival = offered_rival(says(answer), case)
    assert (rival.explanation, rival.status) == ("a ghost", status) and rival.evidence.startswith(evidence)
    assert rival.missing == ("" if status == "ruled out" else "a version of pool.ghost that works")


def test_an_offered_rival_may_not_apply_and_may_not_flood_the_page(make):
    case = Case("test.load", "test", make.picture((20, 20)), make.context())
    assert offered_rival(says(None), case) is None
    long = offered_rival(says(Rival("a ghost", "not testable", "e" * 10_000, "m" * 10_000)), case)
    assert len(long.evidence) == len(long.missing) == 2_000, "as long as any text of a survey"
    failed = offered_rival(says(ValueError("x" * 10_000)), case)
    assert 200 <= failed.evidence.count("x") < 300


def test_offered_rivals_are_weighed_where_they_ask_to_be(make):
    """By check or inspection, once, after those that were named; one that does not apply hides none after it."""
    offered = (
        replace(says(None), name="pool.mist"),
        says(GHOST, checks=("test",)),
        replace(says(replace(GHOST, evidence="weak")), name="pool.weak", explanation="a draught", strong=False),
        replace(says(GHOST), name="pool.named", explanation="a shoal", checks=("test.load",)),
        replace(says(GHOST), name="pool.elsewhere", checks=("roof",)),
    )
    context = replace(make.context(), rivals=offered)
    case = Case("test.load", "test", make.picture((20, 20)), context, area=make.area((5, 5, 12, 12)))
    found, strong = argue(case, ("pool.mist", "pool.named", "object edge", "pool.weak"))
    edge = RIVALS["object edge"].explanation
    assert [one.explanation for one in found] == ["a shoal", edge, "a draught", "a ghost"]
    assert strong == {"a shoal", "a ghost"}
    assert argue(case, ("object edge", "pool.weak"), ("object edge", "pool.weak"))[1] == {"a shoal", "a ghost", edge}
