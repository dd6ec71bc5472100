"""What a result depends on, named, so that a difference can be explained."""

from __future__ import annotations

import dataclasses
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

    @property
    def digest(self) -> str:
        """One digest over all parts."""
        return digest_of(dict(self.parts))

    def reasons(self, old: Mapping[str, str] | None) -> tuple[str, ...]:
        """Names of the parts that differ from an older key; ("new",) when there is none."""
        if old is None:
            return ("new",)
        names = sorted(set(self.parts) | set(old))
        return tuple(name for name in names if self.parts.get(name) != old.get(name))


def digest_of(value: Any) -> str:
    """Digest of plain data or dataclasses; equal values give equal digests in every process."""
    text = json.dumps(plain(value), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:32]


def plain(value: Any) -> Any:
    """Dataclasses, mappings, sequences and paths as plain JSON data."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(item) for item in value]
    if isinstance(value, (set, frozenset)):
        return sorted(plain(item) for item in value)
    return value.as_posix() if isinstance(value, PurePath) else value
