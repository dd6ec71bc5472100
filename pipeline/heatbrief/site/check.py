"""What must hold for every built site, read from the HTML itself."""

from __future__ import annotations

import functools
import os
import posixpath
import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any
from urllib.parse import unquote, urlsplit

from heatbrief.errors import Problem, UserError
from heatbrief.site.markup import PageFacts, read_page

TEMPERATURE = re.compile(r"°\s?[CF]\b|(?<=\d)[\s\u00a0\u202f]K\b|\bdeg[CF]\b|\bkelvin\b")
NOWHERE = "data:,"
"""The address of the icon that a site does not have."""
FORBIDDEN_TAGS = frozenset({"iframe", "object", "embed", "base"})


@dataclass(frozen=True)
class Checked:
    """What is left to check of a page that is in order by itself: where it leads, and what others may lead to.

    links  (file of the site, place in it or "") of each address
    """

    ids: tuple[str, ...]
    links: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]

    def plain(self) -> list[Any]:
        """As JSON can hold it."""
        return [self.ids, self.links, self.cautions]

    @classmethod
    def of(cls, plain: Any) -> Checked:
        """The inverse of `plain`."""
        ids, links, cautions = plain
        return cls(tuple(ids), tuple((file, place) for file, place in links), tuple(cautions))


class SiteCheck:
    """The check of a site page by page, as pages are written.

    unscaled_titles  the owner's names of pictures without scale, which may hold anything
    """

    def __init__(self, unscaled_titles: Iterable[str] = ()) -> None:
        self.own_words = sorted((title for title in set(unscaled_titles) if title), key=len, reverse=True)
        self.pages: dict[str, Checked] = {}
        self.problems: list[Problem] = []

    def page(self, name: str, text: str) -> Checked:
        """Check a page by itself."""
        facts = read_page(text)
        links: dict[tuple[str, str], None] = {}
        found = _page_problems(facts, self.own_words)
        folder = posixpath.dirname(name)
        for address in dict.fromkeys(facts.addresses):
            leads = _target(folder, address)
            if leads is None:
                found.append(f"the address {address[:120]} leads out of the site")
            elif address != NOWHERE:
                links[leads[0] or name, leads[1]] = None
        self.problems += [_fault(name, text) for text in found]
        self.pages[name] = Checked(tuple(facts.ids), tuple(links), tuple(sorted(set(facts.cautions))))
        return self.pages[name]

    def finish(
        self,
        root: Path,
        cautions: Iterable[str],
        beside: Collection[str] = (),
        cautions_on: Mapping[str, Iterable[str]] = MappingProxyType({}),
    ) -> None:
        """Check what pages have to do with each other. Raises UserError with every fault of the site under `root`.

        cautions     keys that must occur
        beside       pages outside the site, from its root, that may be linked
        cautions_on  page -> keys that must occur on that page: those of its finding, or of the steps of the plan
        """
        files = {posixpath.normpath(one) for one in beside}
        for folder, _, names in os.walk(root):
            inside = os.path.relpath(folder, root).replace(os.sep, "/")
            files |= set(names) if inside == "." else {f"{inside}/{name}" for name in names}
        ids = {name: frozenset(one.ids) for name, one in self.pages.items()}
        known: set[tuple[str, str]] = set()
        for name in sorted(self.pages):
            for link in self.pages[name].links:
                if link not in known:
                    wrong = _link_problem(link, ids, files)
                    if wrong:
                        self.problems.append(_fault(name, wrong))
                    else:
                        known.add(link)
        self.problems += _css_problems(root)
        present = {key for one in self.pages.values() for key in one.cautions}
        self.problems += [_fault("site", f"the caution {key} is on no page") for key in sorted(set(cautions) - present)]
        for name, keys in sorted(cautions_on.items()):
            lacking = sorted(set(keys).difference(self.pages[name].cautions if name in self.pages else ()))
            self.problems += [_fault(name, f"the caution {key} does not stand on this page") for key in lacking]
        if self.problems:
            raise UserError(self.problems)


def _page_problems(facts: PageFacts, own_words: list[str]) -> list[str]:
    found = [f"the id {one} occurs {count} times" for one, count in facts.ids.items() if count > 1]
    found += [f"the picture {source} has no alternative text" for source in facts.without_alt]
    found += [f"an element has the script attribute {one}" for one in facts.handlers]
    found += [f"the element {tag} is not allowed" for tag in sorted(FORBIDDEN_TAGS & set(facts.tags))]
    found += [f"markup that cannot be read: {text}" for text in facts.unreadable]
    found += [] if facts.language else ["the page names no language"]
    found += [] if facts.tags["h1"] == 1 else [f"the page has {facts.tags['h1']} main headings"]
    return found + [
        f"a temperature unit on the page of a picture without scale: {text.strip()[:80]}"
        for text in facts.bare
        if _has_temperature(text, own_words)
    ]


def _has_temperature(text: str, own_words: list[str]) -> bool:
    for words in own_words:
        text = text.replace(words, " ")
    return bool(TEMPERATURE.search(text))


@functools.lru_cache(8192)
def _target(folder: str, address: str) -> tuple[str, str] | None:
    """(file, place in it) an address on a page in a folder leads to, "" for the page itself; None for outside of the site."""
    if address == NOWHERE:
        return "", ""
    parts = urlsplit(address)
    if parts.scheme or parts.netloc or address.startswith("/"):
        return None
    return _resolve(folder, unquote(parts.path)) if parts.path else "", unquote(parts.fragment)


def _link_problem(link: tuple[str, str], ids: Mapping[str, frozenset[str]], files: set[str]) -> str:
    file, place = link
    if file not in files:
        return f"a link leads nowhere: {file[:120]}"
    if place and file in ids and place not in ids[file]:
        return f"a link names a place that does not exist: {file[:120]}#{place[:60]}"
    return ""


def _resolve(folder: str, path: str) -> str:
    return posixpath.normpath(posixpath.join(folder, path))


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
