"""A page before MkDocs sees it: text cleaned, names safe, data as a line of JSON."""

from __future__ import annotations

import functools
import json
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

LONGEST_NAME = 40
_RESERVED = {
    "con",
    "prn",
    "aux",
    "nul",
    "index",
    *(f"{port}{number}" for port in ("com", "lpt") for number in range(10)),
}
# Controls and lone surrogates YAML refuses, its extra line breaks, and marks that turn the direction of later text.
_UNWANTED = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff\ud800-\udfff]"
)


@dataclass(frozen=True)
class Page:
    """One page of the site.

    path      where it lies, such as "findings/cold-corner.html"
    template  file of the theme
    title     heading and window title
    section   path of the section page it belongs to
    data      what the template shows: strings, numbers, truth values, lists and mappings only
    made_of   everything `data` follows from, where that is known without working them out; "" where it is not
    """

    path: str
    template: str
    title: str
    section: str
    data: Mapping[str, Any] = field(default_factory=dict)
    made_of: str = ""

    @property
    def source(self) -> str:
        """Name of the Markdown file MkDocs makes the page from."""
        return self.path.removesuffix(".html") + ".md"


class Later(Mapping[str, Any]):
    """Page data that are worked out when somebody looks at them."""

    def __init__(self, make: Callable[[], Mapping[str, Any]]) -> None:
        self._make = make

    @functools.cached_property
    def _made(self) -> Mapping[str, Any]:
        return self._make()

    def __getitem__(self, name: str) -> Any:
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._made)

    def __len__(self) -> int:
        return len(self._made)


def clean(value: Any) -> Any:
    """The same data with characters removed that a page cannot carry."""
    if isinstance(value, str):
        return _UNWANTED.sub("", value)
    if isinstance(value, (dict, Mapping)):
        return {str(clean(str(key))): clean(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [clean(item) for item in value]
    return value


def data_line(data: Any) -> bytes:
    """Plain data as one line of JSON in UTF-8, cleaned, as MkDocs is given it."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, default=dict)
    if "\\u00" in text or _UNWANTED.search(text):  # an escaped control or an unwanted letter somewhere
        text = json.dumps(clean(data), ensure_ascii=False, allow_nan=False)
    return text.encode("utf-8") + b"\n"


def safe_name(text: str) -> str:
    """A file name or anchor of a-z, 0-9 and hyphens, at most 40 characters, never empty or reserved."""
    ascii_text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    name = re.sub(r"[^a-z0-9]+", "-", ascii_text.lower()).strip("-")[:LONGEST_NAME].strip("-")
    return f"{name or 'item'}-1" if not name or name in _RESERVED else name


def safe_names(keys: Iterable[str]) -> dict[str, str]:
    """A distinct safe name for each key, in order; later ones that clash get a number."""
    names: dict[str, str] = {}
    taken: set[str] = set()
    for key in keys:
        if key in names:
            continue
        base = safe_name(key)
        name, number = base, 2
        while name in taken:
            name, number = f"{base[: LONGEST_NAME - 5].rstrip('-')}-{number}", number + 1
        names[key] = name
        taken.add(name)
    return names
