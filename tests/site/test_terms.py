"""Words of the trade are explained, in both languages, and linked from the texts that use them."""

from __future__ import annotations

import re

import pytest
from heatbrief.site.terms import PAGE, linked, phrases
from heatbrief.site.words import Words

TRADE = (
    "emissivity", "reflected temperature", "temperature factor", "U-value", "surface coefficient", "dew point", "wet bulb",
    "latent heat", "degree days", "net present value", "median", "percentile", "draws", "JCGM 101", "scatter", "exponent",
    "expected field", "exponential fit", "rated rise", "saturates", "contrast over noise",
)  # fmt: skip


@pytest.mark.parametrize("term", TRADE)
@pytest.mark.parametrize("language", ["en", "de"])
def test_each_word_of_the_trade_is_explained(term, language):
    key = phrases()[term.lower()]
    (entry,) = (one for one in Words(language).get("words.entries") if one.get("anchor") == key)
    assert len(entry["meaning"].split()) >= 6


def test_every_key_has_its_entry_and_its_phrases():
    for language in ("en", "de"):
        keys = [one["anchor"] for one in Words(language).get("words.entries") if "anchor" in one]
        assert sorted(keys) == sorted(set(phrases().values()))


def test_each_is_linked_once_and_nothing_is_lost():
    text = "median of the draws, not another median; medians of JCGM 101"
    parts = linked(text)
    assert "".join(one["text"] for one in parts) == text
    assert [one["text"] for one in parts if one["url"]] == ["median", "draws", "JCGM 101"]
    assert linked("") == () and linked("plain words") == ({"text": "plain words", "url": ""},)


def test_the_links_lead_to_the_entries(built):
    ids = set(re.findall(r'<dt id="([^"]+)"', built.page(PAGE)))
    assert ids == {f"word-{key}" for key in phrases().values()}
    assert f'class="term" href="../{PAGE}#word-median"' in built.page("findings/breaker-kitchen.html")
