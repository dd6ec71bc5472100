"""The shot list: what to photograph and what to note on a walk, as a page to print."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields
from types import MappingProxyType
from typing import Any

from heatbrief import __version__
from heatbrief.api.step import Domain, FactSpec, Shot
from heatbrief.model.caution import Caution
from heatbrief.model.conditions import Conditions
from heatbrief.model.settings import spec_of
from heatbrief.pages.single import single_page
from heatbrief.site.words import Words

NO_TEXTS: Mapping[str, str] = MappingProxyType({})


def shot_list(
    domains: Sequence[Domain],
    facts: Mapping[str, FactSpec],
    cautions: Mapping[str, Caution],
    language: str = "en",
    texts: Mapping[str, str] = NO_TEXTS,
) -> str:
    """The page for some kinds of inspection.

    facts  all facts that steps read, by name; cautions: those of the domains by key
    texts  English texts of plugins and the same in the language of the page; others stay English
    """
    words, keys = Words(language), dict.fromkeys(key for domain in domains for key in domain.cautions)

    def told(text: str) -> str:
        return texts.get(text, text)

    titles = ", ".join(told(domain.title) for domain in domains)
    data = {
        "heading": words.say("shots.heading", titles=titles),
        "cautions": [_caution(one, told, words) for key in keys if (one := cautions.get(key)) is not None],
        "conditions": [
            {"name": one.name.replace("_", " "), "help": told(spec_of(one).help), "example": spec_of(one).example}
            for one in fields(Conditions)
        ],
        "domains": [
            {
                "title": told(domain.title),
                "summary": told(domain.summary),
                "shots": [_shot(one, facts, told, words) for one in domain.shots],
            }
            for domain in domains
        ],
    }
    foot = words.say("shots.foot", version=__version__)
    return single_page("shots.html", words.say("shots.title"), titles, foot, data, language=language)


def _caution(one: Caution, told: Callable[[str], str], words: Words) -> dict[str, Any]:
    whose = "; ".join(map(told, one.defer))
    return {
        "title": told(one.title),
        "applies": words.say("shots.applies", when=told(one.applies)),
        "points": [told(point) for point in one.points],
        "defer": words.say("shots.first", whose=whose) if whose else "",
    }


def _shot(shot: Shot, facts: Mapping[str, FactSpec], told: Callable[[str], str], words: Words) -> dict[str, Any]:
    return {
        "key": shot.key,
        "shows": words.say("shots.manifest", shows=shot.shows),
        "what": told(shot.what),
        "facts": [
            {"name": name, "help": told(facts[name].help), "example": facts[name].example}
            for name in shot.facts
            if name in facts
        ],
    }
