"""What a page holds, read from its HTML. Only strict markup is read; anything a browser would have to guess at is a fault."""

from __future__ import annotations

import functools
import html
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

ADDRESS_ATTRIBUTES = frozenset(
    {
        "href",
        "src",
        "srcset",
        "action",
        "poster",
        "data",
        "formaction",
        "xlink:href",
        "background",
        "cite",
        "ping",
        "data-values",
        "data-colours",
        "data-photo",
    }
)
VOID = frozenset({"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"})


@dataclass
class PageFacts:
    """What one page holds. `bare` is text on a page without a temperature scale that is not somebody's own words."""

    ids: Counter[str] = field(default_factory=Counter)
    addresses: list[str] = field(default_factory=list)
    without_alt: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    bare: list[str] = field(default_factory=list)
    handlers: list[str] = field(default_factory=list)
    tags: Counter[str] = field(default_factory=Counter)
    unreadable: list[str] = field(default_factory=list)
    language: str = ""

    def note(self, tag: str, said: Iterable[tuple[str, str]], times: int = 1) -> None:
        """Add what a start tag says, so many times."""
        self.tags[tag] += times
        for fact, text in said:
            if fact == "ids":
                self.ids[text] += times
            elif fact == "language":
                self.language = text
            else:
                getattr(self, fact).append(text)


# Templates write strict markup: names, quoted values, nothing that a browser would have to guess at.
_TOKEN = re.compile(
    r"<(?:!--.*?--|!doctype[^<>]*+|(?P<end>/?)(?P<tag>[a-zA-Z][\w:-]*+)"
    r"(?P<rest>(?:\s++[^\s\"'<>/=]++(?:=(?:\"[^\"]*+\"|'[^']*+'|[^\s\"'=<>`]++))?+)*+)\s*+/?)>",
    re.DOTALL | re.IGNORECASE,
)
_ATTRIBUTE = re.compile(r"\s([^\s\"'<>/=]++)(?:=(?:\"([^\"]*+)\"|'([^']*+)'|([^\s\"'=<>`]++)))?+")
_BRACKETS = re.compile(r"<[^<>]*+>")
RAW = frozenset({"script", "style"})
_Said = tuple[str, tuple[tuple[str, str], ...]]
"""Name of a tag, and what its attributes add to which of the facts."""


@functools.lru_cache(8192)
def _said_by(token: str) -> _Said | None:
    """What a token says, "" for one that starts nothing; None for one after which all has to be read in order. Most
    tokens stand on many pages."""
    found = _TOKEN.fullmatch(token)
    if found is None or not found["tag"] or found["end"]:
        return found and ("", ())
    given = _attributes(found["rest"])
    return None if "data-unscaled" in given else _said(found["tag"].lower(), given)


def _said(tag: str, given: Mapping[str, str]) -> _Said:
    return tag, tuple((fact, html.unescape(text)) for fact, text in _facts_in(tag, given))


def _facts_in(tag: str, given: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for name, value in given.items():
        if name == "id":
            yield "ids", value
        elif name in ADDRESS_ATTRIBUTES:
            yield "addresses", value
        elif name == "data-caution":
            yield "cautions", value
        elif name.startswith("on"):
            yield "handlers", name
        elif (tag, name) == ("html", "lang"):
            yield "language", value
    if tag == "img" and "alt" not in given:
        yield "without_alt", given.get("src", "")


def _attributes(text: str) -> Mapping[str, str]:
    """Names and values, as written, of a start tag; the first of two with one name counts, as in browsers."""
    found: dict[str, str] = {}
    for name, *values in _ATTRIBUTE.findall(text):
        found.setdefault(name.lower(), "".join(values))
    return found


class _Reader:
    """Reads a page from its start to its end, and keeps in mind whose words a text is."""

    def __init__(self, text: str) -> None:
        self.text, self.facts = text, PageFacts()
        self._open: list[tuple[str, bool, bool]] = []

    def read(self) -> PageFacts:
        """The facts of the page."""
        text, at = self.text, 0
        while (found := _TOKEN.search(text, at)) is not None:
            if found.start() > at:
                self._data(text[at : found.start()])
            at, tag = found.end(), (found["tag"] or "").lower()
            if tag and found["end"]:
                self._closed(tag)
            elif tag:
                given = _attributes(found["rest"])
                self.facts.note(*_said(tag, given))
                self._watch(tag, given)
                if tag in RAW:
                    end = re.compile(rf"</{tag}[\s/>]", re.IGNORECASE).search(text, at)
                    at = end.start() if end else len(text)
        self._data(text[at:])
        return self.facts

    def _watch(self, tag: str, given: Mapping[str, str]) -> None:
        """Keep in mind whether the text that follows is on a page without a temperature scale, and whose words it is."""
        unscaled, words = self._state()
        if unscaled and not words and tag == "img":
            self.facts.bare.append("" if "data-words" in given else html.unescape(given.get("alt", "")))
        if tag not in VOID:
            self._open.append((tag, unscaled or "data-unscaled" in given, words or "data-words" in given))

    def _closed(self, tag: str) -> None:
        for at in range(len(self._open) - 1, -1, -1):
            if self._open[at][0] == tag:
                del self._open[at:]
                return

    def _data(self, text: str) -> None:
        if "<" in text:
            self.facts.unreadable.append(text[text.index("<") :][:60])
        unscaled, words = self._state()
        if unscaled and not words:
            self.facts.bare.append(html.unescape(text))

    def _state(self) -> tuple[bool, bool]:
        return self._open[-1][1:] if self._open else (False, False)


def read_page(text: str) -> PageFacts:
    """The facts of one page's HTML."""
    return _at_once(text) or _Reader(text).read()


def _at_once(text: str) -> PageFacts | None:
    """The same for a page on which it does not matter where anything stands; None for another."""
    tokens, facts = _BRACKETS.findall(text), PageFacts()
    if text.count("<") != len(tokens):
        return None
    for token, times in Counter(tokens).items():
        said = _said_by(token)
        if said is None:
            return None
        facts.note(*said, times)
    return facts
