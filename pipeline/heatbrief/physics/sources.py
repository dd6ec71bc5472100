"""The references of this package by key: what each says it is, and how well it was checked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from types import MappingProxyType
from typing import Any

MARKS = ("seen", "memory", "computed", "common practice")


@dataclass(frozen=True)
class Source:
    """One reference. `mark`: seen (read), memory (not re-read), computed (by a named library), common practice."""

    key: str
    text: str
    mark: str
    url: str = ""


@lru_cache(maxsize=1)
def load_sources() -> Mapping[str, Source]:
    """Every source of every `sources*.yaml` in this package, by key; a key given twice raises ValueError."""
    import yaml

    folder = resources.files(__package__)
    names = sorted(one.name for one in folder.iterdir())
    names = [name for name in names if name.startswith("sources") and name.endswith(".yaml")]
    return merge(
        (
            name,
            yaml.load(folder.joinpath(name).read_text(encoding="utf-8"), getattr(yaml, "CSafeLoader", yaml.SafeLoader)),
        )
        for name in names
    )


def merge(tables: Iterable[tuple[str, Mapping[str, Mapping[str, Any]] | None]]) -> Mapping[str, Source]:
    """Tables of (file name, {key: {text, mark, url}}) as one mapping; ValueError names the file and key at fault."""
    found: dict[str, Source] = {}
    for name, table in tables:
        for key, entry in (table or {}).items():
            if key in found:
                raise ValueError(f"{name}: source {key!r} is given twice")
            found[key] = _source(name, key, entry)
    return MappingProxyType(found)


def _source(name: str, key: str, entry: Mapping[str, Any]) -> Source:
    if not isinstance(entry, Mapping) or set(entry) - {"text", "mark", "url"} or not entry.get("text"):
        raise ValueError(f"{name}: source {key!r} needs text and mark, and may have url, nothing else")
    if entry.get("mark") not in MARKS:
        raise ValueError(f"{name}: source {key!r} has mark {entry.get('mark')!r}, which is none of {', '.join(MARKS)}")
    return Source(key, str(entry["text"]), str(entry["mark"]), str(entry.get("url", "")))
