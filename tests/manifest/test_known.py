"""Facts that several steps read, each in its own way."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from heatbrief.api import FactSpec
from heatbrief.manifest.bind import Binder
from heatbrief.manifest.known import FactBook, Languages, Materials
from heatbrief.manifest.nodes import Problems
from heatbrief.manifest.reader import parse_yaml

BOOK = FactBook(
    [
        SimpleNamespace(facts=(FactSpec("load", "current", "A", example="12 A"),)),
        SimpleNamespace(facts=(FactSpec("load", "power", "W"), FactSpec("load", "a word", None, ("full", "half")))),
    ]
)


def facts(text):
    problems = Problems()
    return BOOK.bind(Binder(problems), parse_yaml(text, "survey.yaml", problems)), problems.sorted()


@pytest.mark.parametrize(("text", "unit", "value"), [("12 A", "A", 12.0), ("2 kW", "W", 2000.0)])
def test_a_fact_is_taken_by_the_first_step_whose_unit_fits(text, unit, value):
    found, problems = facts(f"load: {text}\n")
    assert not problems and (found["load"].unit, found["load"].value) == (unit, value)


def test_what_fits_no_step_is_reported_once_by_the_last():
    assert facts("load: full\n") == ({"load": "full"}, ())
    found, problems = facts("load: some\nlaod: 3 A\n")
    assert found == {} and [one.code for one in problems] == ["unknown-choice", "unknown-fact"]
    assert "load" in problems[1].remedy


def test_an_empty_fact_is_none():
    assert facts("load:\n") == ({}, ())


@pytest.mark.parametrize(("text", "fine"), [("painted plaster", True), ("Painted Plaster", True), ("moon rock", False)])
def test_materials_are_those_with_an_emissivity(text, fine):
    materials = Materials()
    assert materials.accepts(text) is fine and "`emissivity:`" in materials.remedy(text)
    assert "Did you mean" in materials.remedy("painted plastre") and "Did you mean" not in materials.remedy("zzzz")


def test_words_without_a_choice_are_text_and_truth():
    free = FactBook(
        [SimpleNamespace(facts=(FactSpec("seen", "h", None), FactSpec("load", "h", "A"))) for _ in range(2)]
    )
    assert [len(one) for one in free.specs.values()] == [1, 1], "the same fact of two steps is one"

    def read(text):
        problems = Problems()
        found = free.bind(Binder(problems), parse_yaml(f"seen: {text}\n", "survey.yaml", problems))
        return found.get("seen"), [one.code for one in problems.sorted()]

    assert read("true") == (True, []) and read("false") == (False, []) and read("maybe") == ("maybe", [])
    assert read("'true'") == ("true", []) and read("[a]") == (None, ["wrong-type"])


def test_languages_are_those_with_sentences():
    assert Languages().accepts("de") and not Languages().accepts("xx") and "Write one of: " in Languages().remedy("xx")
