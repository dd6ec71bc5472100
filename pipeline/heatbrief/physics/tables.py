"""Read the data tables that ship beside the physics modules, once and read-only."""

from __future__ import annotations

from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any


def _frozen(value: Any) -> Any:
    if isinstance(value, dict):
        return MappingProxyType({key: _frozen(item) for key, item in value.items()})
    if isinstance(value, list):
        return tuple(_frozen(item) for item in value)
    return value


@cache
def load_table(name: str) -> Any:
    """Contents of ``<name>.yaml`` in this package as read-only mappings and tuples.

    Raises KeyError naming the tables that exist when there is none of that name.
    """
    import yaml

    folder = resources.files(__package__)
    known = sorted(item.name[:-5] for item in folder.iterdir() if item.name.endswith(".yaml"))
    if name not in known:
        raise KeyError(f"no table {name!r}; tables: {', '.join(known)}")
    return _frozen(
        yaml.load((folder / f"{name}.yaml").read_text(encoding="utf-8"), getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    )
