"""What a picture is of: declared regions, else the whole picture when its description is about what is looked for."""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np

from heatbrief.api.context import Context
from heatbrief.detect.regions import chosen_regions, matches, own_regions, view_of
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Thermogram

_ASIDE = re.compile(
    r",|;|\(|\b(?:on|of|with|over|under|below|above|behind|in|from|at|by|near|beside|through|next)\b", re.IGNORECASE
)


def head_of(text: str) -> str:
    """What a description is about: its words before the first preposition or comma.

    >>> head_of("breaker panel with its door open")
    'breaker panel'
    """
    return _ASIDE.split(text, maxsplit=1)[0].strip()


def looked_at(context: Context, words: Iterable[str], thermogram: Thermogram) -> tuple[Region, ...]:
    """Declared regions that show one of the words, else the whole picture if its description is about one of them.

    Words that hold a preposition of their own ("floor over the hot pipe") are looked for in the whole description.
    """
    words = tuple(words)
    found = chosen_regions(context, words, thermogram)
    if any(one in context.regions for one in found):
        return found
    shows = view_of(context, thermogram).shows
    long = tuple(word for word in words if _ASIDE.search(word))
    return found if matches(words, head_of(shows)) or (long and matches(long, shows)) else ()


def others_mask(context: Context, words: Iterable[str], region: Region, thermogram: Thermogram) -> np.ndarray:
    """Pixels of declared boxes and polygons that show something else than the words: objects in front of the surface;
    bool (height, width)."""
    words, mask = tuple(words), np.zeros(thermogram.shape, bool)
    for one in own_regions(context, thermogram):
        if one != region and one.shape in ("box", "polygon") and one.shows and not matches(words, one.shows):
            mask |= one.mask(*thermogram.shape)
    return mask
