"""The shot list: what to photograph and what to note on a walk, as a page to print."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

from heatbrief import __version__
from heatbrief.api.step import Domain, FactSpec, Shot
from heatbrief.model.caution import Caution
from heatbrief.model.conditions import Conditions
from heatbrief.model.settings import spec_of
from heatbrief.pages.single import single_page

EACH_PICTURE = (
    "The camera has been on for ten minutes or more and stands at the temperature of the place (common practice, no source).",
    "The lens is clean, the picture is in focus, the whole place fills it.",
    "Distance to the surface noted; the line of sight within 60 degrees of square on (common practice, no source).",
    "One ordinary photo of the same view.",
    "One picture more from a second viewpoint, a step or two aside: what moves along is a reflection.",
    "At each place once: a crumpled and flattened piece of foil in the view, to read what the surface mirrors.",
    "Files named by the shot, such as `ceiling-1`, so that the manifest knows what to ask.",
)


def shot_list(domains: Sequence[Domain], facts: Mapping[str, FactSpec], cautions: Mapping[str, Caution]) -> str:
    """The page for some kinds of inspection.

    facts     all facts that steps read, by name; cautions: those of the domains by key
    """
    keys = dict.fromkeys(key for domain in domains for key in domain.cautions)
    data = {
        "titles": [domain.title for domain in domains],
        "cautions": [
            {"title": one.title, "applies": one.applies, "points": list(one.points), "defer": "; ".join(one.defer)}
            for key in keys
            if (one := cautions.get(key)) is not None
        ],
        "each": list(EACH_PICTURE),
        "conditions": [
            {"name": one.name.replace("_", " "), "help": spec_of(one).help, "example": spec_of(one).example}
            for one in fields(Conditions)
        ],
        "domains": [
            {"title": domain.title, "summary": domain.summary, "shots": [_shot(one, facts) for one in domain.shots]}
            for domain in domains
        ],
    }
    foot = f"Made by heatbrief {__version__}. When the pictures are in this folder: heatbrief new, with the same words after --for."
    return single_page("shots.html", "Shot list", " and ".join(domain.title for domain in domains), foot, data)


def _shot(shot: Shot, facts: Mapping[str, FactSpec]) -> dict[str, Any]:
    return {
        "key": shot.key,
        "shows": shot.shows,
        "what": shot.what,
        "facts": [
            {"name": name, "help": facts[name].help, "example": facts[name].example}
            for name in shot.facts
            if name in facts
        ],
    }
