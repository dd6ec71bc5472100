"""The texts of a document in the language of its pages, as far as plugins give them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from heatbrief.api.translation import Translation, filled, fixed_parts, words_in
from heatbrief.model.results import ResultsDocument

LONGEST = 4000
PATTERNED = frozenset(
    {
        "applies",
        "classes",
        "evidence",
        "explanation",
        "message",
        "method",
        "missing",
        "name",
        "next_time",
        "notes",
        "reason",
        "remedy",
        "summary",
        "title",
        "value",
    }
)
"""Fields in which texts with places are looked for; keys of mappings too."""
MOST_SENTENCES = 24
_SENTENCE = re.compile(r"(?<!\s\d\.)(?<!^\d\.)(?<=[.;:]) ")  # "1. kitchen" is one of a list
_HEAD = 3
"""Texts with places are searched by so many of their first letters."""


def translated(
    document: ResultsDocument, translations: Mapping[str, Translation], languages: Iterable[str]
) -> dict[str, dict[str, str]]:
    """Language -> English text of the document -> the same in that language. Texts without a counterpart are left out."""
    found = {}
    own = _own_names(document)
    for language in sorted(set(languages) - {"", "en"}):
        texts: dict[str, str] = {}
        for key in sorted(translations):
            if translations[key].language == language:
                texts = {**translations[key].texts, **texts}
        if texts:
            book = _Book(texts, own)
            wanted = sorted(set(_texts(document, "")))
            pairs = (
                (text, book.exact.get(text) or (book.of(text) if patterned else None)) for text, patterned in wanted
            )
            found[language] = {text: other for text, other in pairs if other}
    return found


class _Book:
    """Texts of one language: whole ones, those with places, and sentence by sentence."""

    def __init__(self, texts: Mapping[str, str], own: frozenset[str]) -> None:
        self._own = own
        self.exact: dict[str, str] = {}
        self._by_head: dict[str, list[tuple[tuple[str, ...], str]]] = {}
        self._known: dict[str, str | None] = {}
        # the longest first, so that the more exact of two that fit is taken
        for english, other in sorted(texts.items(), key=lambda one: (-len(one[0]), one[0])):
            parts = fixed_parts(english)
            if len(parts) == 1:
                self.exact[english] = other
            else:
                head = parts[0][:_HEAD] if len(parts[0]) >= _HEAD else ""
                self._by_head.setdefault(head, []).append((parts, other))

    def of(self, text: str) -> str | None:
        """The counterpart of a text, or None: whole, with places, or made of the counterparts of all its sentences."""
        if text not in self._known:
            self._known[text] = None  # a text within itself has none
            self._known[text] = self._one(text) or self._sentences(text)
        return self._known[text]

    def _one(self, text: str) -> str | None:
        if text in self.exact:
            return self.exact[text]
        for head in dict.fromkeys((text[:_HEAD], "")):
            for parts, other in self._by_head.get(head, ()):
                words = words_in(parts, text)
                told = None if words is None else [self._word(one) for one in words]
                if told is not None and None not in told:
                    return filled(other, tuple(one for one in told if one is not None))
        return None

    def _word(self, word: str) -> str | None:
        """What stands at a place: an own name, else translated where it can be; None for sentences without counterpart."""
        if word in self._own:
            return word
        return self._one(word) if _SENTENCE.search(word) else self.of(word) or word

    def _sentences(self, text: str) -> str | None:
        """The text from the longest runs of sentences that have counterparts; None when one has none."""
        parts = _SENTENCE.split(text)
        if not 1 < len(parts) <= MOST_SENTENCES:
            return None
        done, at = [], 0
        while at < len(parts):
            for end in range(len(parts), at, -1):
                run = " ".join(parts[at:end])
                other = None if run == text else self._run(run)
                if other is not None:
                    done.append(other)
                    at = end
                    break
            else:
                return None
        return " ".join(done)

    def _run(self, run: str) -> str | None:
        """A run of sentences, with or without the sign at its end; a capital letter stays one."""
        other = self._one(run)
        if other is None and run[-1] in ".;:":
            bare = self._one(run[:-1])
            other = None if bare is None else bare + run[-1]
        if other is None and run[:1].isupper():
            small = self._one(run[:1].lower() + run[1:])
            other = None if small is None else small[:1].upper() + small[1:]
        return other


def _own_names(document: ResultsDocument) -> frozenset[str]:
    """What the owner named: pictures, rooms, regions and groups."""
    regions = [region for one in document.thermograms for region in one.regions]
    names = [name for one in document.thermograms for name in (one.title, one.room)]
    return frozenset(names + [name for one in regions for name in (one.name, one.room, one.group)])


def _texts(value: Any, name: str) -> Iterator[tuple[str, bool]]:
    """Every text of a document, and whether it may be one with places."""
    if isinstance(value, str):
        if 0 < len(value) <= LONGEST:
            yield value, name in PATTERNED
        if name == "message":
            yield from ((part, True) for part in _behind_names(value) if 0 < len(part) <= LONGEST)
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


def _behind_names(message: str) -> Iterator[str]:
    """A message without the picture, finding or step that it starts with, as the pages show it."""
    head, mark, rest = message.partition(":")
    if mark:
        yield rest.strip()
        first, comma, _ = head.partition(",")
        if comma:
            yield message[len(first) :].lstrip(",: ")
