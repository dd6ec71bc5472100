"""Words in the owner's descriptions."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable


def matches(words: Iterable[str], text: str) -> bool:
    """True when `text` holds one of the words or phrases as whole words, ignoring case and a plural s.

    >>> matches(("exhaust runner",), "Exhaust runners, engine idling")
    True
    >>> matches(("pipe",), "bagpiper")
    False
    """
    return any(_pattern(word).search(text) is not None for word in words)


@functools.lru_cache(maxsize=1024)
def _pattern(word: str) -> re.Pattern[str]:
    parts = [re.escape(part) + "(?:s|es)?" for part in word.split()]
    return re.compile(r"(?<!\w)" + r"[\s-]+".join(parts) + r"(?!\w)", re.IGNORECASE)
