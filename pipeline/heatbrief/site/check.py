"""What must hold for every built site, read from the HTML itself."""

from __future__ import annotations

import posixpath
import re
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from types import MappingProxyType
from urllib.parse import unquote, urlsplit

from heatbrief.errors import Problem, UserError

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
TEMPERATURE = re.compile(r"°\s?[CF]\b|(?<=\d)[\s\u00a0\u202f]K\b|\bdeg[CF]\b|\bkelvin\b")
FORBIDDEN_TAGS = frozenset({"iframe", "object", "embed", "base"})


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
    language: str = ""


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.facts = PageFacts()
        self._open: list[tuple[str, bool, bool]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        facts = self.facts
        facts.tags[tag] += 1
        if "id" in given:
            facts.ids[given["id"]] += 1
        if "data-caution" in given:
            facts.cautions.add(given["data-caution"])
        if tag == "html":
            facts.language = given.get("lang", "")
        if tag == "img" and "alt" not in given:
            facts.without_alt.append(given.get("src", ""))
        facts.handlers += [name for name in given if name.startswith("on")]
        facts.addresses += [(tag, name, given[name]) for name in given if name in ADDRESS_ATTRIBUTES]
        unscaled, words = self._state()
        if unscaled and not words and tag == "img":
            facts.bare.append(given["alt"] if "data-words" not in given and "alt" in given else "")
        if tag not in VOID:
            self._open.append((tag, unscaled or "data-unscaled" in given, words or "data-words" in given))

    def handle_endtag(self, tag: str) -> None:
        for at in range(len(self._open) - 1, -1, -1):
            if self._open[at][0] == tag:
                del self._open[at:]
                return

    def handle_data(self, data: str) -> None:
        unscaled, words = self._state()
        if unscaled and not words:
            self.facts.bare.append(data)

    def _state(self) -> tuple[bool, bool]:
        return self._open[-1][1:] if self._open else (False, False)


def read_page(text: str) -> PageFacts:
    """The facts of one page's HTML."""
    reader = _Reader()
    reader.feed(text)
    reader.close()
    return reader.facts


def check_site(
    root: Path,
    cautions: Iterable[str],
    unscaled_titles: Iterable[str] = (),
    beside: Collection[str] = (),
    cautions_on: Mapping[str, Iterable[str]] = MappingProxyType({}),
) -> None:
    """Raise UserError with every fault found in the site under `root`.

    cautions         keys that must occur
    beside           pages outside the site, from its root, that may be linked
    unscaled_titles  the owner's names of pictures without scale, which may hold anything
    cautions_on      page -> keys that must occur on that page: those of its finding, or of the steps of the plan
    """
    pages = {
        path.relative_to(root).as_posix(): read_page(path.read_text("utf-8")) for path in sorted(root.rglob("*.html"))
    }
    files = {path.relative_to(root).as_posix() for path in root.rglob("*") if path.is_file()} | {
        _resolve("index.html", one) for one in beside
    }
    own_words = sorted((title for title in set(unscaled_titles) if title), key=len, reverse=True)
    problems = [
        problem for name, facts in pages.items() for problem in _page_problems(name, facts, pages, files, own_words)
    ]
    problems += _css_problems(root)
    present = {key for facts in pages.values() for key in facts.cautions}
    problems += [_fault("site", f"the caution {key} is on no page") for key in sorted(set(cautions) - present)]
    for name, keys in sorted(cautions_on.items()):
        lacking = sorted(set(keys) - (pages[name].cautions if name in pages else set()))
        problems += [_fault(name, f"the caution {key} does not stand on this page") for key in lacking]
    if problems:
        raise UserError(problems)


def _page_problems(
    name: str, facts: PageFacts, pages: dict[str, PageFacts], files: set[str], own_words: list[str]
) -> list[Problem]:
    found = [f"the id {one} occurs {count} times" for one, count in facts.ids.items() if count > 1]
    found += [f"the picture {source} has no alternative text" for source in facts.without_alt]
    found += [f"an element has the script attribute {one}" for one in facts.handlers]
    found += [f"the element {tag} is not allowed" for tag in sorted(FORBIDDEN_TAGS & set(facts.tags))]
    found += [] if facts.language else ["the page names no language"]
    found += [] if facts.tags["h1"] == 1 else [f"the page has {facts.tags['h1']} main headings"]
    found += [text for _, _, address in facts.addresses if (text := _address_problem(name, address, pages, files))]
    found += [
        f"a temperature unit on the page of a picture without scale: {text.strip()[:80]}"
        for text in facts.bare
        if _has_temperature(text, own_words)
    ]
    return [_fault(name, text) for text in found]


def _has_temperature(text: str, own_words: list[str]) -> bool:
    for words in own_words:
        text = text.replace(words, " ")
    return bool(TEMPERATURE.search(text))


def _address_problem(name: str, address: str, pages: dict[str, PageFacts], files: set[str]) -> str:
    if address == "data:,":
        return ""
    parts = urlsplit(address)
    if parts.scheme or parts.netloc or address.startswith("/"):
        return f"the address {address[:120]} leads out of the site"
    target = _resolve(name, unquote(parts.path)) if parts.path else name
    if target not in files:
        return f"the link {address[:120]} leads nowhere"
    if parts.fragment and target in pages and unquote(parts.fragment) not in pages[target].ids:
        return f"the link {address[:120]} names a place that does not exist"
    return ""


def _resolve(name: str, path: str) -> str:
    return posixpath.normpath(posixpath.join(posixpath.dirname(name), path))


def _css_problems(root: Path) -> list[Problem]:
    return [
        _fault(path.relative_to(root).as_posix(), "the style loads something from elsewhere")
        for path in sorted(root.rglob("*.css"))
        if re.search(r"@import|url\(|https?:", path.read_text("utf-8"))
    ]


def _fault(where: str, message: str) -> Problem:
    return Problem(
        where,
        "site-check",
        message,
        "The finished site did not pass its own checks and was not published; "
        "report this with the results.json, or publish without the plugin that produced the text.",
    )
