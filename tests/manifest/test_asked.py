"""What the shot list asked for, as lines of a new manifest."""

from __future__ import annotations

import pytest
from heatbrief.api import FactSpec
from heatbrief.api.step import Shot
from heatbrief.manifest.asked import Asked, asked_lines, asked_of

FACTS = {
    one.name: one
    for one in (
        FactSpec("load", "h", "A", example="12 A"),
        FactSpec("rated", "h", "A"),
        FactSpec("service", "h", None, ("heating", "cooling")),
        FactSpec("seen", "h", None),
        FactSpec("said", "h", None, example='a "b" \\ c'),
        FactSpec("share", "h", "1", example="50 %"),
        FactSpec("sign", "h", "K", example="-2 K"),
    )
}


@pytest.mark.parametrize(
    ("fact", "example"),
    [
        ("load", "12 A"),
        ("rated", "1"),
        ("service", "heating"),
        ("seen", "yes"),
        ("said", '"a \\"b\\" \\\\ c"'),
        ("share", "50 %"),
        ("sign", '"-2 K"'),
    ],
)
def test_an_example_of_every_kind_of_fact(fact, example):
    """In YAML words of letters and digits stand bare; all else is quoted."""
    (one,) = asked_of([Shot("panel", "breaker panel", "w", (fact, "unknown"))], FACTS)
    assert one == Asked("panel", "breaker panel", ((fact, example),))


SHOTS = (
    Asked("ceiling", "ceiling from inside", (("load", "12 A"), ("seen", "yes"))),
    Asked("panel", "breaker panel", ()),
    Asked("wall-outside", "wall", ()),
    Asked("1", "first", ()),
)
CEILING = ["    # shows: ceiling from inside", "    # facts: {load: 12 A, seen: yes}"]


@pytest.mark.parametrize(
    "file",
    ["ceiling.tiff", "Ceiling-1.tiff", "ceiling_012.png", "a/ceiling 3.tiff", "ceiling/001.tiff", "Ceiling-2/x.tiff"],
)
def test_a_file_or_folder_that_is_named_by_a_shot_gets_its_lines(file):
    assert asked_lines(file, SHOTS) == CEILING


@pytest.mark.parametrize("file", ["wall_outside-3.tiff", "wall outside/4.tiff"])
def test_dashes_underscores_and_spaces_are_one(file):
    assert asked_lines(file, SHOTS) == ["    # shows: wall"]


@pytest.mark.parametrize("file", ["x.tiff", "a/ceilings.tiff", "ceiling/deeper/x.tiff", "my-ceiling.tiff"])
def test_without_a_name_all_shots_stand_there_to_choose_from(file):
    lines = asked_lines(file, SHOTS)
    assert lines[0].startswith("    # Which") and lines[1:3] == CEILING
    assert [one for one in lines if "# shows:" in one] == [f"    # shows: {one.shows}" for one in SHOTS]
    assert len(lines) == 1 + 4 + 1


def test_of_two_shots_of_one_name_the_first_counts_and_none_give_nothing():
    both = (SHOTS[1], Asked("Panel", "other", ()))
    assert asked_lines("panel.tiff", both) == ["    # shows: breaker panel"] and asked_lines("panel.tiff", ()) == []
