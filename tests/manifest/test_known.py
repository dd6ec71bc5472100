"""Facts that several steps read, each in its own way."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from heatbrief.api import FactSpec
from heatbrief.manifest.bind import Binder
from heatbrief.manifest.known import FactBook
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
