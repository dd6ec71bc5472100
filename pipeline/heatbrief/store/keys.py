"""What a result depends on, named, so that a difference can be explained."""

from __future__ import annotations

import dataclasses
import functools
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any


@dataclass(frozen=True)
class Key:
    """Named parts, each a short digest or readable text: "input", "step", "settings", "conditions", "upstream", ..."""

    parts: Mapping[str, str]

    @functools.cached_property
    def digest(self) -> str:
        """One digest over all parts."""
        return _short(repr(sorted(self.parts.items())).encode())

    def reasons(self, old: Mapping[str, str] | None) -> tuple[str, ...]:
        """Names of the parts that differ from an older key; ("new",) when there is none."""
        if old is None:
            return ("new",)
        if self.parts == old:
            return ()
        names = sorted(set(self.parts) | set(old))
        return tuple(name for name in names if self.parts.get(name) != old.get(name))


def digest_of(value: Any) -> str:
    """Digest of plain data or dataclasses; equal values give equal digests in every process."""
    return _short(_text(value).encode("utf-8", "surrogatepass"))


def _short(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:32]


def _text(value: Any) -> str:
    try:
        return _ENCODER.encode(value)
    except TypeError:  # keys that are no text, or do not sort
        return _ENCODER.encode(plain(value))


class Same:
    """A thing as itself, whatever it equals."""

    __slots__ = ("it",)

    def __init__(self, it: Any) -> None:
        self.it = it

    def __hash__(self) -> int:
        return id(self.it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.it is other.it


def same_digest(value: Any) -> str:
    """`digest_of` something that is never changed and is asked for again and again: facts that pictures share."""
    return _digest_of_same(Same(value))


@functools.lru_cache(maxsize=256)
def _digest_of_same(same: Same) -> str:
    return digest_of(same.it)


@functools.cache
def _field_names(kind: type) -> tuple[str, ...] | None:
    return tuple(one.name for one in dataclasses.fields(kind)) if dataclasses.is_dataclass(kind) else None


def plain(value: Any) -> Any:
    """Dataclasses, mappings, sequences and paths as plain JSON data."""
    if type(value) in _ALREADY or value is None or isinstance(value, (str, int, float)):
        return value
    opened = opened_once(value)
    if isinstance(opened, dict):
        return {str(key): plain(item) for key, item in opened.items()}
    return [plain(item) for item in opened] if isinstance(opened, (tuple, list)) else opened


def opened_once(value: Any) -> Any:
    """One level of `plain`: a dict, list or text, its members as they are; other things as they are."""
    names = _field_names(type(value))  # type: ignore[arg-type]  # a class is hashable; the stub of `cache` asks its metaclass
    if names is not None:
        return {name: getattr(value, name) for name in names}
    if isinstance(value, Mapping):
        return dict(value)
    if isinstance(value, (set, frozenset)):
        return sorted(plain(item) for item in value)
    return value.as_posix() if isinstance(value, PurePath) else value


def for_encoder(value: Any) -> Any:
    """One level of what a JSON encoder does not know; TypeError for what is no plain data."""
    opened = opened_once(value)
    if opened is value:
        raise TypeError(f"{type(value).__name__} is no plain data")
    return opened


_ALREADY = frozenset((str, int, float, bool))
_ENCODER = json.JSONEncoder(sort_keys=True, ensure_ascii=False, separators=(",", ":"), default=for_encoder)
"""Calls back for what is no plain data only, so that most of the work is done in C."""
