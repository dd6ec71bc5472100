"""Short texts of a plugin in other languages: a file for each language beside it, English on the left."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import resources

_FILE = re.compile(r"texts\.([a-z]{2,3})\.yaml")
_PLACE = re.compile(r"\{\d*\}")


@dataclass(frozen=True)
class Translation:
    """Texts in one language; a plugin may also give them for the texts of other plugins.

    key    "<plugin>.<language>"
    texts  the English text as results hold it -> the same in this language. `{}` in the English stands for any words;
           `{0}`, `{1}` in the other puts them, counted in the order of the English
    """

    key: str
    language: str
    texts: Mapping[str, str] = field(default_factory=dict)


@functools.lru_cache(maxsize=64)
def load_texts(package: str, plugin: str) -> tuple[Translation, ...]:
    """All `texts.<language>.yaml` of a package. Raises ValueError that names file and fault."""
    import yaml

    found = []
    for file in sorted(resources.files(package).iterdir(), key=lambda one: one.name):
        match = _FILE.fullmatch(file.name)
        if match is None:
            continue
        try:
            data = yaml.load(file.read_text(encoding="utf-8"), getattr(yaml, "CSafeLoader", yaml.SafeLoader))
        except yaml.YAMLError as error:
            raise ValueError(f"{package}/{file.name} is not valid YAML: {error}") from error
        if not isinstance(data, dict):
            raise ValueError(f"{package}/{file.name} must be a mapping of English texts to others")
        found.append(Translation(f"{plugin}.{match[1]}", match[1], data))
    return tuple(found)


def text_fault(texts: Mapping[str, str]) -> str:
    """What is wrong with such a mapping, or "": only texts, and no place that the English has not."""
    for english, other in texts.items():
        if not isinstance(english, str) or not isinstance(other, str) or not english.strip() or not other.strip():
            return f"{english!r} and its counterpart must be texts"
        places = len(_PLACE.findall(english))
        used = [int(one[1:-1]) if one != "{}" else 0 for one in _PLACE.findall(other)]
        if any(one >= places for one in used):
            return f"the counterpart of {english!r} has a place that it has not"
    return ""


def fixed_parts(english: str) -> tuple[str, ...]:
    """What stands around the places of a text; one part for a text without places."""
    return tuple(_PLACE.split(english))


def words_in(parts: tuple[str, ...], text: str) -> tuple[str, ...] | None:
    """The words at the places of a text that has these parts, each as short as can be; None when it has others.

    Takes time in proportion to the text, whatever stands in it.
    """
    first, *middle, last = parts
    if not text.startswith(first):
        return None
    words, start = [], len(first)
    for part in middle:
        found = text.find(part, start + 1)
        if found < 0:
            return None
        words.append(text[start:found])
        start = found + len(part)
    end = len(text) - len(last)
    if end <= start or not text.endswith(last):
        return None
    return (*words, text[start:end])


def filled(other: str, words: tuple[str, ...]) -> str:
    """A text with its places filled."""
    return _PLACE.sub(lambda one: words[int(one[0][1:-1] or 0)], other)
