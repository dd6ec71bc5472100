"""Every class and place that the style sheets name is made by a template, a page or a script; so is every colour they set."""

from __future__ import annotations

import re
from typing import get_args

import pytest
from heatbrief.model.finding import URGENCIES, RivalStatus
from support import ROOT

THEME = ROOT / "site_templates" / "heatbrief_site" / "theme"
PAGES = (*sorted(THEME.glob("*.html")), *sorted((ROOT / "pipeline" / "heatbrief" / "pages").glob("*.html")))

FILLED_IN = {
    "u-": set(URGENCIES),
    "e-": set(URGENCIES),
    "g-": {"passed", "failed", "unknown"},
    "r-": {one.replace(" ", "-") for one in get_args(RivalStatus)},
    "of-": {"outlines", "region", "finding"},
    "at-": {"start", "middle", "end"},
    "": {"region", "finding"},
}
"""Beginning of a class whose end a template fills in -> what may stand there; by itself the kinds of outlines."""


def styles() -> str:
    text = " ".join(path.read_text("utf-8") for path in sorted(THEME.glob("css/*.css")))
    return re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)


def selectors() -> str:
    return " ".join(re.findall(r"([^{};]+)\{", styles()))


@pytest.fixture(scope="module")
def made() -> set[str]:
    """Classes and places of the templates, those filled in spelled out, and every word that a script holds as a text."""
    found = set()
    for path in PAGES:
        for names in re.findall(r'\b(?:class|id)="([^"]*)"', path.read_text("utf-8")):
            for name in re.sub(r"\{%.*?%\}", " ", re.sub(r"\{\{.*?\}\}", "*", names)).split():
                begin, star, _ = name.partition("*")
                found |= {begin + end for end in FILLED_IN.get(begin, ())} if star else {name}
    for path in sorted(THEME.glob("js/*.js")):
        found |= {word for text in re.findall(r'"([^"\n]*)"', path.read_text("utf-8")) for word in text.split()}
    return found


def test_every_class_and_place_is_made(made):
    named = set(re.findall(r"[.#]([a-zA-Z][\w-]*)", selectors()))
    assert len(named) > 80 and sorted(named - made) == []


def test_every_colour_and_measure_that_is_set_is_taken():
    everything = styles() + " ".join(path.read_text("utf-8") for path in (*PAGES, *THEME.glob("js/*.js")))
    given = set(re.findall(r"(--[\w-]+)\s*:", styles()))
    assert given and sorted(given - set(re.findall(r"var\((--[\w-]+)", everything))) == []


def test_every_macro_is_called():
    text = {path.name: path.read_text("utf-8") for path in PAGES}
    macros = [name for one in text.values() for name in re.findall(r"\bmacro (\w+)\(", one)]
    assert macros and [name for name in macros if len(re.findall(rf"\b{name}\(", " ".join(text.values()))) < 2] == []
