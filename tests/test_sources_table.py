"""Published sources: every key is known, every known source is used, and the table in DEVELOPERS.md is true."""

from __future__ import annotations

import pytest
from heatbrief.registry import load_registry
from sources_table import CLOSE, OPEN, ROOT, named_in, rows, table, uses

REGISTRY = load_registry()


def test_the_table_is_what_code_and_tests_say():
    shown = (ROOT / "DEVELOPERS.md").read_text("utf-8").split(OPEN)[1].split(CLOSE)[0].strip()
    assert shown == table(REGISTRY), "python tests/sources_table.py --write"


def test_every_source_that_is_named_is_known():
    named = {one.key: one for one in uses(set(REGISTRY.sources))}
    for step in REGISTRY.steps.values():
        named |= dict.fromkeys(step.sources, step.name)
    assert len(named) > 200
    assert not {key: place for key, place in named.items() if key not in REGISTRY.sources}


def test_every_known_source_is_used():
    assert not [key for key, _, used, _ in rows(REGISTRY) if not used]


def test_every_source_but_those_of_texts_stands_beside_a_test():
    untested = {key: used.split(", ") for key, _, used, tests in rows(REGISTRY) if not tests}
    texts = ("/cautions.yaml", "/actions.yaml")
    assert not [key for key, places in untested.items() if not all(place.endswith(texts) for place in places)]


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("Flow of a hole. Source: leak-tables, water-hole.", {"leak-tables", "water-hole"}),
        ("A film. Source: iso-6946 (seen second hand)", {"iso-6946"}),
        ("Sources: `gum`, `jcgm-101`. u is a standard uncertainty", {"gum", "jcgm-101"}),
        ("0.7 K [seen: some-page]", {"some-page"}),
        ('{text: "a figure", source: some-page, mark: seen}', {"some-page"}),
        ("the source of the heat", set()),
    ],
)
def test_keys_are_found_in_prose_and_tables(text, keys):
    assert named_in(text) == keys
