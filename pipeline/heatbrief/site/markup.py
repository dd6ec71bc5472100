"""What a page holds, read from its HTML. Only strict markup is read; anything a browser would have to guess at is a fault."""

from __future__ import annotations

import functools
import html
import re
from collections import Counter
from collections.abc import Mapping
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
    addresses: list[tuple[str, str, str]] = field(default_factory=list)
    without_alt: list[str] = field(default_factory=list)
    cautions: set[str] = field(default_factory=set)
    bare: list[str] = field(default_factory=list)
    handlers: list[str] = field(default_factory=list)
    tags: Counter[str] = field(default_factory=Counter)
    unreadable: list[str] = field(default_factory=list)
    language: str = ""


# Templates write strict markup: names, quoted values, nothing that a browser would have to guess at.
_TOKEN = re.compile(
    r"<(?:!--.*?--|!doctype[^<>]*+|(?P<end>/?)(?P<tag>[a-zA-Z][\w:-]*+)"
    r"(?P<rest>(?:\s++[^\s\"'<>/=]++(?:=(?:\"[^\"]*+\"|'[^']*+'|[^\s\"'=<>`]++))?+)*+)\s*+/?)>",
    re.DOTALL | re.IGNORECASE,
)
_ATTRIBUTE = re.compile(r"\s([^\s\"'<>/=]++)(?:=(?:\"([^\"]*+)\"|'([^']*+)'|([^\s\"'=<>`]++)))?+")
RAW = frozenset({"script", "style"})


@functools.lru_cache(8192)
def _attributes(text: str) -> Mapping[str, str]:
    """Names and values of a start tag; the first of two with one name counts, as in browsers."""
    found: dict[str, str] = {}
    for name, *values in _ATTRIBUTE.findall(text):
        found.setdefault(name.lower(), html.unescape("".join(values)))
    return found


class _Reader:
    def __init__(self, text: str) -> None:
        self.text, self.facts = text, PageFacts()
        self.watched = "data-unscaled" in text.lower()
        self._open: list[tuple[str, bool, bool]] = []

    def read(self) -> PageFacts:
        tokens = _TOKEN.findall(self.text)
        if self.watched or self.text.count("<") != len(tokens):
            return self._in_order()
        for (end, tag, rest), times in Counter(tokens).items():  # whose words a text is need not be known
            if tag and not end:
                self._opened(tag.lower(), rest, times)
        return self.facts

    def _in_order(self) -> PageFacts:
        text, at = self.text, 0
        while (found := _TOKEN.search(text, at)) is not None:
            if found.start() > at:
                self._data(text[at : found.start()])
            at, tag = found.end(), (found["tag"] or "").lower()
            if tag and found["end"]:
                self._closed(tag)
            elif tag:
                self._opened(tag, found["rest"])
                if tag in RAW:
                    end = re.compile(rf"</{tag}[\s/>]", re.IGNORECASE).search(text, at)
                    at = end.start() if end else len(text)
        self._data(text[at:])
        return self.facts

    def _opened(self, tag: str, rest: str, times: int = 1) -> None:
        facts = self.facts
        facts.tags[tag] += times
        if not rest and not self.watched:
            return
        given = _attributes(rest)
        for name, value in given.items():
            if name == "id":
                facts.ids[value] += times
            elif name in ADDRESS_ATTRIBUTES:
                facts.addresses.append((tag, name, value))
            elif name == "data-caution":
                facts.cautions.add(value)
            elif name.startswith("on"):
                facts.handlers.append(name)
        if tag == "html":
            facts.language = given.get("lang", "")
        if tag == "img" and "alt" not in given:
            facts.without_alt.append(given.get("src", ""))
        if self.watched:
            self._watch(tag, given)

    def _watch(self, tag: str, given: Mapping[str, str]) -> None:
        """Keep in mind whether the text that follows is on a page without a temperature scale, and whose words it is."""
        unscaled, words = self._state()
        if unscaled and not words and tag == "img":
            self.facts.bare.append(given["alt"] if "data-words" not in given and "alt" in given else "")
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
        if self.watched:
            unscaled, words = self._state()
            if unscaled and not words:
                self.facts.bare.append(html.unescape(text))

    def _state(self) -> tuple[bool, bool]:
        return self._open[-1][1:] if self._open else (False, False)


def read_page(text: str) -> PageFacts:
    """The facts of one page's HTML."""
    return _Reader(text).read()
