"""References: complete, marked, and unique."""

from __future__ import annotations

import pytest
from heatbrief.physics import sources


def test_all_sources_load() -> None:
    found = sources.load_sources()
    assert {"gum", "jcgm-101", "lowtran7", "sakuma-hattori", "codata-2018"} <= set(found)
    for key, source in found.items():
        assert source.key == key and source.mark in sources.MARKS and len(source.text) > 10
    with pytest.raises(TypeError):
        found["new"] = None  # type: ignore[index]


def test_duplicate_keys_are_refused_by_name() -> None:
    entry = {"text": "Some text", "mark": "seen"}
    with pytest.raises(ValueError, match=r"sources_two\.yaml.*'same'.*twice"):
        sources.merge([("sources.yaml", {"same": entry}), ("sources_two.yaml", {"same": entry})])


@pytest.mark.parametrize(
    "entry",
    [
        None,
        {},
        {"text": "x"},
        {"text": "x", "mark": "rumour"},
        {"mark": "seen"},
        {"text": "x", "mark": "seen", "page": 3},
    ],
)
def test_incomplete_entries_are_refused(entry: object) -> None:
    with pytest.raises(ValueError, match="broken"):
        sources.merge([("sources.yaml", {"broken": entry})])


def test_empty_files_are_fine() -> None:
    assert dict(sources.merge([("sources.yaml", None)])) == {}
