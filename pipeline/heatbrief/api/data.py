"""Caution, action and source texts that ship as YAML beside a plugin, as the objects its hooks return.

Each file is a mapping with the key of every entry on top and the fields of its dataclass below. The YAML library is
imported at the first call, so that importing a plugin stays cheap.
"""

from __future__ import annotations

import dataclasses
import functools
import typing
from collections.abc import Mapping
from importlib import resources
from typing import Any, TypeVar

from heatbrief.api.step import Shot
from heatbrief.model.action import Action
from heatbrief.model.caution import Caution, Figure
from heatbrief.model.results import SourceRecord

Offer = TypeVar("Offer", Action, Caution, Shot, SourceRecord)


@functools.lru_cache(maxsize=64)
def load_cautions(package: str, file: str = "cautions.yaml") -> tuple[Caution, ...]:
    """The cautions in a package's file, in its order. Raises ValueError that names file, entry and fault."""
    return _load(package, file, Caution)


@functools.lru_cache(maxsize=64)
def load_actions(package: str, file: str = "actions.yaml") -> tuple[Action, ...]:
    """The actions in a package's file, in its order. Raises ValueError that names file, entry and fault."""
    return _load(package, file, Action)


@functools.lru_cache(maxsize=64)
def load_sources(package: str, file: str = "sources.yaml") -> tuple[SourceRecord, ...]:
    """The sources in a package's file, in its order. Raises ValueError that names file, entry and fault."""
    return _load(package, file, SourceRecord)


@functools.lru_cache(maxsize=64)
def load_shots(package: str, file: str = "shots.yaml") -> tuple[Shot, ...]:
    """The shot list in a package's file, in its order. Raises ValueError that names file, entry and fault."""
    return _load(package, file, Shot)


def _load(package: str, file: str, kind: type[Offer]) -> tuple[Offer, ...]:
    import yaml

    try:
        text = (resources.files(package) / file).read_text(encoding="utf-8")
        data = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    except yaml.YAMLError as error:
        raise ValueError(f"{package}/{file} is not valid YAML: {error}") from error
    if not isinstance(data, dict):
        raise ValueError(f"{package}/{file} must be a mapping of entries by their keys")
    return tuple(
        _built(kind, {**_entry(row, f"{package}/{file}: {key}"), "key": str(key)}, f"{package}/{file}: {key}")
        for key, row in data.items()
    )


def _entry(row: Any, where: str) -> Mapping[str, Any]:
    if not isinstance(row, dict):
        raise ValueError(f"{where}: must be a mapping of fields")
    if "key" in row:
        raise ValueError(f"{where}: the key stands before the entry, not in it")
    return row


def _built(kind: type, row: Mapping[str, Any], where: str) -> Any:
    """One dataclass object; unknown, missing and mistyped fields are named."""
    fields = {one.name: one for one in dataclasses.fields(kind)}
    unknown = sorted(set(row) - set(fields))
    missing = [
        name
        for name, one in fields.items()
        if name not in row and one.default is dataclasses.MISSING and one.default_factory is dataclasses.MISSING
    ]
    for names, what in ((unknown, "unknown"), (missing, "missing")):
        if names:
            raise ValueError(f"{where}: {what}: {', '.join(names)}; the fields are {', '.join(fields)}")
    hints = typing.get_type_hints(kind)
    return kind(**{name: _value(value, hints[name], f"{where}: {name}") for name, value in row.items()})


def _value(value: Any, hint: Any, where: str) -> Any:
    origin = typing.get_origin(hint)
    if origin is tuple:
        if not isinstance(value, list):
            raise ValueError(f"{where}: must be a list")
        item = typing.get_args(hint)[0]
        return tuple(
            _built(Figure, one, where) if item is Figure and isinstance(one, dict) else _value(one, item, where)
            for one in value
        )
    if origin is typing.Literal:
        if value not in typing.get_args(hint):
            raise ValueError(f"{where}: {value!r} is not one of {', '.join(map(repr, typing.get_args(hint)))}")
        return value
    if not isinstance(value, hint):
        raise ValueError(f"{where}: must be {hint.__name__}, got {type(value).__name__}")
    return " ".join(value.split()) if isinstance(value, str) else value
