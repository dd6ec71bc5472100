"""Short names for files and addresses, and the nearest valid name for a mistaken one."""

from __future__ import annotations

import difflib
import hashlib
import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

ID_LENGTH = 40
ID = re.compile(r"[a-z0-9](?:[a-z0-9-]*[a-z0-9])?")
RESERVED = frozenset(
    {"con", "prn", "aux", "nul", *(f"{port}{digit}" for port in ("com", "lpt") for digit in range(10))}
)
"""Names that some file systems keep for devices."""

_LETTERS = str.maketrans({"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"})


@lru_cache(maxsize=8192)
def slug(text: str, fallback: str = "unnamed") -> str:
    """A name made of [a-z0-9-], at most 40 characters, never empty and never a device's name.

    Letters with marks lose them; other scripts are told apart by eight digits of a digest of the text.
    """
    folded = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    plain = "".join(one for one in folded if not unicodedata.combining(one))
    lost = any(one.isalnum() and not one.isascii() for one in plain)
    words = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    if lost or (not words and text.strip()):
        digest = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:8]
        words = f"{words[: ID_LENGTH - 9].strip('-') or fallback}-{digest}"
    words = words[:ID_LENGTH].strip("-") or fallback
    return f"{words}-1" if words in RESERVED else words


def is_id(text: str) -> bool:
    """True for a name that `slug` could have made."""
    return len(text) <= ID_LENGTH and ID.fullmatch(text) is not None and text not in RESERVED


def nearest(text: str, names: Iterable[str]) -> str | None:
    """The valid name that is most like the text, or None when none is."""
    by_fold: dict[str, str] = {}
    for name in sorted(names):
        by_fold.setdefault(name.casefold(), name)
    found = difflib.get_close_matches(text[:80].casefold(), by_fold, n=1, cutoff=0.6)
    if found:
        return by_fold[found[0]]
    last = [name for name in by_fold if "." in name and name.rsplit(".", 1)[1] == text.casefold()]
    return by_fold[last[0]] if last else None


def suggestion(text: str, names: Iterable[str], noun: str = "names") -> str:
    """One sentence: the nearest valid name, else the valid names."""
    names = sorted(names)
    close = nearest(text, names)
    if close is not None:
        return f"Did you mean '{close}'?"
    if not names:
        return f"There are no {noun} here."
    few = names[:30]
    return f"Valid {noun}: {', '.join(few)}{' …' if len(names) > len(few) else ''}."
