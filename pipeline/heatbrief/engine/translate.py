"""The short texts of a document in the language of its pages, as far as plugins give them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from heatbrief.api.translation import Translation, filled, pattern_of
from heatbrief.model.results import ResultsDocument

LONGEST = 200
PATTERNED = frozenset({"title", "reason", "name", "explanation"})
"""Fields in which texts with places are looked for; keys of mappings too."""


def translated(
    document: ResultsDocument, translations: Mapping[str, Translation], languages: Iterable[str]
) -> dict[str, dict[str, str]]:
    """Language -> English text of the document -> the same in that language. Texts without a counterpart are left out."""
    found = {}
    for language in sorted(set(languages) - {"", "en"}):
        texts: dict[str, str] = {}
        for key in sorted(translations):
            if translations[key].language == language:
                texts = {**translations[key].texts, **texts}
        if texts:
            found[language] = _looked_up(set(_texts(document, "")), texts)
    return found


def _looked_up(wanted: set[tuple[str, bool]], texts: Mapping[str, str]) -> dict[str, str]:
    exact = {english: other for english, other in texts.items() if pattern_of(english) is None}
    # the longest first, so that the more exact of two that fit is taken
    patterns = [
        (pattern, other)
        for english, other in sorted(texts.items(), key=lambda one: (-len(one[0]), one[0]))
        if (pattern := pattern_of(english)) is not None
    ]
    found = {}
    for text, patterned in sorted(wanted):
        if text in exact:
            found[text] = exact[text]
        elif patterned and text not in found:
            match = next(((one, other) for pattern, other in patterns if (one := pattern.fullmatch(text))), None)
            if match is not None:
                words = tuple(exact.get(word) or found.get(word) or word for word in match[0].groups())
                found[text] = filled(match[1], words)
    return found


def _texts(value: Any, name: str) -> Iterator[tuple[str, bool]]:
    """Every short text of a document, and whether it may be one with places."""
    if isinstance(value, str):
        if 0 < len(value) <= LONGEST:
            yield value, name in PATTERNED
    elif is_dataclass(value):
        for one in fields(value):
            yield from _texts(getattr(value, one.name), one.name)
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from _texts(key, "name")
            yield from _texts(item, name)
    elif isinstance(value, (tuple, list)):
        for item in value:
            yield from _texts(item, name)
