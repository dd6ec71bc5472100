"""Short names for files and addresses."""

from __future__ import annotations

import pytest
from heatbrief.manifest.names import RESERVED, is_id, nearest, slug, suggestion
from hypothesis import given
from hypothesis import strategies as st


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Sandpiper Row 3", "sandpiper-row-3"),
        ("Straße 5", "strasse-5"),
        ("Érable", "erable"),
        ("  a__b  ", "a-b"),
        ("con", "con-1"),
        ("COM7", "com7-1"),
        ("", "unnamed"),
        ("   ", "unnamed"),
        ("x" * 60, "x" * 40),
    ],
)
def test_slugs(text, expected):
    assert slug(text) == expected


def test_other_scripts_are_told_apart():
    assert slug("雪の家") != slug("月の家")
    assert slug("雪の家") == slug("雪の家")
    assert slug("дом 3").startswith("3-")


@given(st.text())
def test_every_slug_is_an_id_and_stays_one(text):
    name = slug(text)
    assert is_id(name) and slug(name) == name and name not in RESERVED


@pytest.mark.parametrize("text", ["", "-a", "a-", "A", "a_b", "a b", "nul", "a" * 41, "ä"])
def test_what_is_no_id(text):
    assert not is_id(text)


def test_nearest():
    assert nearest("Insualtion", ["insulation", "circuits"]) == "insulation"
    assert nearest("insulation", ["envelope.insulation"]) == "envelope.insulation"
    assert nearest("zzz", ["insulation"]) is None
    assert suggestion("zzz", ["b", "a"]) == "Valid names: a, b."
