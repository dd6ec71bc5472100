"""Words of the trade in texts, linked to where they are explained."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping, Sequence
from typing import Any

import yaml
from heatbrief_site import resource

PAGE = "words.html"


@functools.cache
def phrases() -> Mapping[str, str]:
    """Phrase in small letters -> key of the entry that explains it."""
    terms = yaml.safe_load(resource("data/terms.yaml").read_text("utf-8"))
    return {str(phrase).lower(): str(key) for key, found in terms.items() for phrase in found}


@functools.cache
def _pattern() -> re.Pattern[str]:
    longest = sorted(phrases(), key=lambda one: (-len(one), one))
    return re.compile(rf"(?<!\w)({'|'.join(re.escape(one) for one in longest)})(?!\w)", re.IGNORECASE)


@functools.lru_cache(4096)
def linked(text: str) -> Sequence[Mapping[str, str]]:
    """The text in parts, {"text", "url"}: each word of the trade that is explained leads to its entry, once."""
    parts: list[dict[str, str]] = []
    seen: set[str] = set()
    for at, part in enumerate(_pattern().split(text)):
        key = phrases()[part.lower()] if at % 2 else ""
        new = bool(key) and key not in seen
        seen.add(key)
        if part:
            parts.append({"text": part, "url": f"{PAGE}#word-{key}" if new else ""})
    return tuple(parts)


def entries(given: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    """The entries of the glossary with the anchors that links lead to."""
    return [
        {"word": one["word"], "meaning": one["meaning"], "id": f"word-{one['anchor']}" if "anchor" in one else ""}
        for one in given
    ]
