"""The fixed sentences of the site, chosen by language and filled in."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from typing import Any

import yaml
from heatbrief_site import resource

FALLBACK = "en"


@functools.cache
def messages(language: str = FALLBACK) -> Mapping[str, Any]:
    """All sentences of a language; English when there is no such file."""
    file = resource(f"messages/{language}.yaml") if language.isalnum() else None
    if file is None or not file.is_file():
        file = resource(f"messages/{FALLBACK}.yaml")
    loaded = plain_yaml(file.read_text("utf-8"))
    assert isinstance(loaded, dict)
    return loaded


def plain_yaml(text: str) -> Any:
    """Data of a file of ours, by the compiled reader where there is one."""
    return yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))


class Words:
    """Sentences of one language, found by dotted names such as "overview.first"."""

    def __init__(self, language: str = FALLBACK) -> None:
        self.all = messages(language)
        self.language = str(self.all["language"])

    def get(self, name: str) -> Any:
        """The raw entry. Raises KeyError for a name that does not exist."""
        found: Any = self.all
        for part in name.split("."):
            found = found[part]
        return found

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

    def likelihood(self, probability: float) -> str:
        """Words for a probability."""
        return next(str(one["words"]) for one in self.get("likelihood") if probability >= one["from"])


def sentence_case(key: str) -> str:
    """ "mean-difference" as "Mean difference"; of text with spaces only the first letter changes."""
    text = key if " " in key else key.replace("_", " ").replace("-", " ")
    return text[:1].upper() + text[1:]
