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


def test_letters_of_other_scripts_leave_a_digest_of_eight_digits():
    """SHA-256 of the text in UTF-8, by coreutils: printf 'дом 3' | sha256sum."""
    import hashlib

    digest = hashlib.sha256("дом 3".encode()).hexdigest()
    assert slug("дом 3") == f"3-{digest[:8]}" and slug("дом", "room").startswith("room-")
    long = slug("x" * 50 + "дом")
    assert len(long) == 40 and long[:32] == "x" * 31 + "-"
    assert slug("!!!") != slug("???") and slug("!!!").startswith("unnamed-") and slug("", "room") == "room"


@pytest.mark.parametrize(
    ("text", "fine"),
    [
        *((text, True) for text in ("a", "a-b", "9", "a" * 40, "com10", "con-1")),
        *((text, False) for text in ("a" * 41, "com0", "lpt9", "prn", "aux", "a\n")),
    ],
)
def test_what_is_an_id(text, fine):
    assert is_id(text) is fine and (slug(text) == text) is fine


@pytest.mark.parametrize(
    ("text", "names", "expected"),
    [
        ("ABCDE", ["abcdx"], "abcdx"),
        ("abcde", ["abcyz"], "abcyz"),
        ("abcde", ["abxyz"], None),
        ("wall", ["Wall", "wall"], "Wall"),
        ("void", ["insulation.void", "void.insulation"], "insulation.void"),
        ("VOID", ["insulation.Void"], "insulation.Void"),
        ("x", ["a.b.x", "a.x.b"], "a.b.x"),
        ("", [], None),
        ("a" * 79 + "b" * 100, ["a" * 79], "a" * 79),
    ],
)
def test_the_nearest_is_six_tenths_alike_or_ends_so(text, names, expected):
    """Ratio 2 M / T of difflib: three of five letters alike are 0.6."""
    assert nearest(text, names) == expected


def test_the_list_of_names_is_cut_after_thirty():
    many = [f"k{n:02}" for n in range(31)]
    assert suggestion("zzzzzz", many[:30]) == f"Valid names: {', '.join(many[:30])}."
    assert suggestion("zzzzzz", many, "keys") == f"Valid keys: {', '.join(many[:30])} …."
    assert (
        suggestion("x", [], "keys") == "There are no keys here."
        and suggestion("walls", ["wall"]) == "Did you mean 'wall'?"
    )


def test_nearest():
    assert nearest("Insualtion", ["insulation", "circuits"]) == "insulation"
    assert nearest("insulation", ["envelope.insulation"]) == "envelope.insulation"
    assert nearest("zzz", ["insulation"]) is None
    assert suggestion("zzz", ["b", "a"]) == "Valid names: a, b."
