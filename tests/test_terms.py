"""Every word a user sees is listed in `terms.yaml` with its origin, and nothing is listed that nobody sees."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
import yaml
from heatbrief.registry import load_registry
from support import ROOT
from visible_terms import visible_terms

FILE = ROOT / "tests/terms.yaml"
ORIGINS = ("trade: ", "standard: ", "literature: ", "general-purpose: ", "general-purpose library: ")
WITHOUT_DETAIL = ("plain language", "own coinage")
PLACES = tuple(yaml.safe_load(FILE.read_text("utf-8")))


@pytest.fixture(scope="module")
def listed() -> Mapping[str, Mapping[str, list[str]]]:
    return yaml.safe_load(FILE.read_text("utf-8"))


@pytest.fixture(scope="module")
def visible() -> Mapping[str, frozenset[str]]:
    return visible_terms(load_registry())


def test_the_same_places_are_listed_and_gathered(listed, visible):
    assert list(listed) == list(visible)
    assert all(visible.values())


@pytest.mark.parametrize("place", PLACES)
def test_listed_and_visible_words_are_the_same(listed, visible, place):
    words = [word for group in listed[place].values() for word in group]
    assert sorted(visible[place] - set(words)) == [], "a visible word without an origin: read the head of terms.yaml"
    assert sorted(set(words) - visible[place]) == [], "listed, but nobody sees it"
    assert len(words) == len(set(words)), "a word has one origin at one place"


def test_every_origin_is_of_a_known_kind(listed):
    origins = {origin for groups in listed.values() for origin in groups}
    strange = [one for one in origins if one not in WITHOUT_DETAIL and not one.startswith(ORIGINS)]
    assert strange == []


@pytest.mark.parametrize(
    ("place", "word"),
    [
        ("commands", "plugins new"),
        ("options", "--fail-on"),
        ("manifest keys", "emissivity"),
        ("manifest choices", "partly cloudy"),
        ("steps", "envelope.insulation"),
        ("facts", "second view"),
        ("rival explanations", "reflection"),
        ("message codes", "scale-conflict"),
        ("keys of results.json", "verdict"),
        ("columns of the tables", "urgency"),
        ("labels of the site", "Not analysed"),
        ("colours of the site", "soon"),
    ],
)
def test_the_gatherer_sees_words_known_to_be_there(visible, place, word):
    assert word in visible[place]
