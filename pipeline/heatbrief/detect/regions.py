"""Choose what a check looks at: by the words that say what a region or picture shows."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable

import numpy as np

from heatbrief.api.context import Context, View
from heatbrief.model.region import Fact, Region
from heatbrief.model.thermogram import Thermogram

NOT_SEARCHED: tuple[str, ...] = (
    "window",
    "glass",
    "glazing",
    "mirror",
    "reflector",
    "foil",
    "person",
    "people",
    "sky",
    "screen",
)
"""Declared regions that show one of these are left out of searches: what they reflect or let through is not their
temperature."""
WHOLE = "whole picture"
_WORD = re.compile(r"[^\W_]+")


def matches(words: Iterable[str], text: str) -> bool:
    """Whether the text holds one of the words or phrases as whole words, in any case, singular or plural. No words
    match all."""
    return _matches(tuple(words), text)


@functools.lru_cache(maxsize=4096)
def _matches(words: tuple[str, ...], text: str) -> bool:
    wanted = [phrase for phrase in (_split(word) for word in words) if phrase]
    if not wanted:
        return True
    present = _split(text)
    return any(_holds(present, phrase) for phrase in wanted)


def _split(text: str) -> list[str]:
    return _WORD.findall(text.casefold())


def _holds(present: list[str], phrase: list[str]) -> bool:
    size = len(phrase)
    return any(
        all(_same(a, b) for a, b in zip(present[start : start + size], phrase, strict=True))
        for start in range(len(present) - size + 1)
    )


def _same(first: str, second: str) -> bool:
    return bool(_forms(first) & _forms(second))


def _forms(word: str) -> set[str]:
    """The word and what its singular may be; short words and those on "ss" stay as they are."""
    forms = {word}
    if len(word) > 3 and word.endswith("s") and not word.endswith("ss"):
        forms.add(word[:-1])
        if word.endswith(("ses", "xes", "zes", "ches", "shes")):
            forms.add(word[:-2])
        if word.endswith("ies") and len(word) > 4:
            forms.add(word[:-3] + "y")
    return forms


def own_regions(context: Context, thermogram: Thermogram | str) -> tuple[Region, ...]:
    """Regions declared on that thermogram, in the order of the manifest."""
    name = thermogram if isinstance(thermogram, str) else thermogram.id
    return tuple(region for region in context.regions if region.thermogram == name)


def view_of(context: Context, thermogram: Thermogram | str) -> View:
    """What is known about that picture; the context's own view when it names no other."""
    name = thermogram if isinstance(thermogram, str) else thermogram.id
    return context.views.get(name, context.view)


def chosen_regions(context: Context, words: Iterable[str], thermogram: Thermogram | str) -> tuple[Region, ...]:
    """Regions of the thermogram whose `shows` matches; when none does, the whole picture if its own `shows` matches,
    else nothing."""
    words, name = tuple(words), thermogram if isinstance(thermogram, str) else thermogram.id
    found = tuple(region for region in own_regions(context, name) if region.shows and matches(words, region.shows))
    if found:
        return found
    view = view_of(context, name)
    if matches(words, view.shows):
        return (
            Region(WHOLE, name, shows=view.shows, room=view.room, material=view.material, emissivity=view.emissivity),
        )
    return ()


def excluded_mask(context: Context, thermogram: Thermogram, unless: Iterable[str] = ()) -> np.ndarray:
    """Pixels of declared regions that must not be searched, bool (height, width).

    `unless`: words of what the check looks for; a region that matches them is searched all the same.
    """
    unless = tuple(unless)
    mask = np.zeros(thermogram.shape, bool)
    for region in own_regions(context, thermogram):
        if region.shows and matches(NOT_SEARCHED, region.shows) and not (unless and matches(unless, region.shows)):
            mask |= region.mask(*thermogram.shape)
    return mask


def search_mask(thermogram: Thermogram, region: Region, context: Context, unless: Iterable[str] = ()) -> np.ndarray:
    """Valid pixels of a region, without declared glass, mirrors, people and sky in it; bool (height, width)."""
    mask = region.mask(*thermogram.shape)
    mask &= thermogram.valid
    own = (region.shows,) if region.shows and region.shape != "whole" else ()
    mask &= ~excluded_mask(context, thermogram, (*unless, *own))
    return mask


def groups_of(
    context: Context, thermogram: Thermogram | str, words: Iterable[str] = ()
) -> dict[str, tuple[Region, ...]]:
    """Regions of one thermogram by their group, those without a group left out; groups in alphabetical order."""
    words = tuple(words)
    groups: dict[str, list[Region]] = {}
    for region in own_regions(context, thermogram):
        if region.group and matches(words, region.shows):
            groups.setdefault(region.group, []).append(region)
    return {name: tuple(groups[name]) for name in sorted(groups)}


def fact_of(name: str, region: Region | None, context: Context) -> Fact | None:
    """A fact by name: the region's own, else the picture's or survey's, else None."""
    if region is not None and name in region.facts:
        return region.facts[name]
    return context.facts.get(name)
