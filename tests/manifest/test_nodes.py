"""The list of problems: what counts once, in what order they are told, and when there are too many."""

from __future__ import annotations

import pytest
from heatbrief.errors import UserError
from heatbrief.manifest import nodes
from heatbrief.manifest.nodes import (
    Items,
    Problems,
    Scalar,
    Table,
    TooManyProblems,
    described,
    is_absent,
    printable,
    shown,
)


def at(file, line, column=1):
    return Scalar(file, line, column, "x", True)


def test_problems_stand_in_the_order_of_files_lines_and_columns():
    found = Problems()
    for node, code in ((at("b", 9), "one"), (at("a", 2), "two"), (at("b", 3, 8), "three"), (at("b", 3, 2), "four")):
        found.add(node, code, "m")
    assert [one.code for one in found.sorted()] == ["four", "three", "one", "two"]
    assert [one.where for one in found.sorted()] == ["b:3:2", "b:3:8", "b:9:1", "a:2:1"]


def test_the_same_problem_at_the_same_place_counts_once():
    found = Problems()
    for code, message in (("a", "m"), ("a", "m"), ("a", "n"), ("b", "m")):
        found.add(at("f", 1), code, message)
    assert len(found) == 3
    with pytest.raises(UserError) as caught:
        found.stop_if_any()
    assert len(caught.value.problems) == 3
    assert Problems().stop_if_any() is None


def test_a_full_list_says_so():
    found = Problems(limit=3)
    for line in (1, 2, 3):
        found.add(at("f", line), "a", "m")
    found.add(at("f", 3), "a", "m")
    with pytest.raises(TooManyProblems):
        found.add(at("f", 4), "a", "m")
    assert [one.code for one in found.sorted()] == ["a", "a", "a", "too-many-problems"]
    less = Problems(limit=4)
    for line in (1, 2, 3):
        less.add(at("f", line), "a", "m")
    assert len(less.sorted()) == 3


def test_from_fifty_on_there_are_many():
    found = Problems()
    for line in range(49):
        found.add(at("f", line), "a", "m")
    assert not found.many
    found.add(at("f", 49), "a", "m")
    assert found.many and nodes.MANY == 50 and nodes.PROBLEM_LIMIT == 500


def test_messages_are_cut_at_a_thousand_and_safe_to_print():
    found = Problems()
    found.add(at("f\x1b", 1), "a", "\x1b" + "m" * 2000, "r" * 2000)
    (one,) = found.sorted()
    assert one.where == "f\\x1b:1:1" and one.message == "\\x1b" + "m" * 999 and one.remedy == "r" * 1000


@pytest.mark.parametrize(
    ("text", "out"),
    [("a", "'a'"), ("x" * 60, "'" + "x" * 60 + "'"), ("x" * 61, "'" + "x" * 59 + "…'"), ("\n", "'\\n'")],
)
def test_texts_in_messages_are_short(text, out):
    assert shown(text) == out


def test_what_can_be_printed_is_left_alone():
    assert (
        printable("é ü 3") == "é ü 3" and printable("a\u202eb\x00") == "a\\u202eb\\x00" and shown("abcd", 3) == "'ab…'"
    )


@pytest.mark.parametrize(
    ("node", "absent", "what"),
    [
        (Scalar("f", 1, 1, "", True), True, "nothing"),
        (Scalar("f", 1, 1, "null", True), True, "nothing"),
        (Scalar("f", 1, 1, "~", True), True, "nothing"),
        (Scalar("f", 1, 1, "", False), False, "the text ''"),
        (Scalar("f", 1, 1, "null", False), False, "the text 'null'"),
        (Scalar("f", 1, 1, "no", True), False, "'no'"),
        (Items("f", 1, 1), False, "a list"),
        (Table("f", 1, 1), False, "a mapping"),
    ],
)
def test_what_a_node_is(node, absent, what):
    assert is_absent(node) is absent and described(node) == what


def test_a_place_in_a_table_is_that_of_the_first_key_that_is_there():
    key, value, other = at("f", 2), at("f", 3), at("f", 4)
    table = Table("f", 1, 1, {"a": (key, value), "b": (key, other)})
    assert table.at("z", "b", "a") is other and table.at("z") is table and table.at() is table
    assert table.get("a") is value and table.get("z") is None and is_absent(table.get("z"))
    assert list(Items("f", 1, 1, [key, other])) == [key, other] and table.where == "f:1:1"
