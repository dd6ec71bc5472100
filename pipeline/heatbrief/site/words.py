"""The fixed sentences of the site, chosen by language and filled in."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Mapping
from typing import Any

import yaml
from heatbrief_site import resource

from heatbrief.errors import UserError
from heatbrief.site.prose import numerals

FALLBACK = "en"
MOST_NAMED = 5
"""Differences that an error names; the others show when these are mended."""
_PLACE = re.compile(r"\{\w*\}")


@functools.cache
def messages(language: str = FALLBACK) -> Mapping[str, Any]:
    """All sentences of a language; English when there is no such file.

    Raises UserError when the file of that language lacks a sentence, has one too many or loses a place of one.
    """
    file = resource(f"messages/{language}.yaml") if language.isalnum() else None
    if file is None or not file.is_file():
        file = resource(f"messages/{FALLBACK}.yaml")
    loaded = plain_yaml(file.read_text("utf-8"))
    assert isinstance(loaded, dict)
    faults = differences(messages(), loaded) if file.name != f"{FALLBACK}.yaml" else []
    if loaded.get("language") != file.name.removesuffix(".yaml"):
        faults.insert(0, f"language is not {file.name.removesuffix('.yaml')}")
    if faults:
        raise UserError.single(
            "sentences-differ",
            f"messages/{file.name}",
            f"{len(faults)} of its sentences differ from messages/{FALLBACK}.yaml: {'; '.join(faults[:MOST_NAMED])}",
            "Give every sentence the name and the {places} it has there.",
        )
    return loaded


def differences(english: Mapping[str, Any], other: Mapping[str, Any]) -> list[str]:
    """What keeps sentences of another language from standing for the English ones, one line for each name."""
    here, there = dict(sentences(english)), dict(sentences(other))
    faults = [f"{name} is missing" for name in here if name not in there]
    faults += [f"{name} is not known" for name in there if name not in here]
    for name in here:
        places, found = (set(_PLACE.findall(one)) for one in (here[name], there.get(name, here[name])))
        faults += [f"{name} has other places ({', '.join(sorted(places ^ found, key=len))})"] if places != found else []
    return faults


def sentences(messages: Any, name: str = "") -> Iterator[tuple[str, str]]:
    """Every sentence with its dotted name; entries of lists by number."""
    if isinstance(messages, (dict, list)):
        for key, item in messages.items() if isinstance(messages, dict) else enumerate(messages):
            yield from sentences(item, f"{name}.{key}" if name else str(key))
    else:
        yield name, str(messages)


def plain_yaml(text: str) -> Any:
    """Data of a file of ours, by the compiled reader where there is one."""
    return yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))


class Words:
    """Sentences of one language, found by dotted names such as "overview.first"."""

    def __init__(self, language: str = FALLBACK) -> None:
        self.all = messages(language)
        self.language = str(self.all["language"])
        self._found: dict[str, Any] = {}

    def get(self, name: str) -> Any:
        """The raw entry. Raises KeyError for a name that does not exist."""
        if name not in self._found:
            self._found[name] = functools.reduce(lambda found, part: found[part], name.split("."), self.all)
        return self._found[name]

    def say(self, name: str, **values: object) -> str:
        """A sentence with its places filled in."""
        return str(self.get(name)).format(**values)

    def count(self, name: str, n: int, **values: object) -> str:
        """A sentence chosen by number."""
        forms = self.get(name)
        return str(forms["one" if n == 1 else "other"]).format(n=n, **values)

    def label(self, name: str) -> str:
        """A readable name for a key such as "inside_air"; the key in words when none is fixed."""
        fixed = self.all["labels"].get(name)
        if not fixed and name.endswith(")") and " (" in name:
            head, _, owner = name.partition(" (")
            return f"{self.label(head)} ({owner}"
        return str(fixed) if fixed else sentence_case(name)

    def numerals(self, text: str) -> str:
        """A number with its unit in this language."""
        return numerals(text, self.get("numbers"))

    def likelihood(self, probability: float) -> str:
        """Words for a probability."""
        return next(str(one["words"]) for one in self.get("likelihood") if probability >= one["from"])


def sentence_case(key: str) -> str:
    """ "mean-difference" as "Mean difference"; of text with spaces only the first letter changes."""
    return capital(key if " " in key else key.replace("_", " ").replace("-", " "))


def capital(text: str) -> str:
    """A text with a capital letter at its start; the rest stays as it is."""
    return text[:1].upper() + text[1:]
