"""A tree with positions to dataclass instances. Reports everything that is wrong and never stops at the first."""

from __future__ import annotations

import types
import typing
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, is_dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal, Protocol

from heatbrief.manifest.names import suggestion
from heatbrief.manifest.nodes import Items, Node, Problems, Scalar, Table, is_absent, shown
from heatbrief.manifest.scalars import (
    BROKEN,
    Bind,
    bind_bool,
    bind_choice,
    bind_float,
    bind_int,
    bind_path,
    bind_quantity,
    bind_text,
    checked_text,
    wrong_type,
)
from heatbrief.model.quantity import Quantity
from heatbrief.model.settings import SettingSpec, is_required, setting_fields, spec_of

SHORTHAND = "SHORTHAND"
"""Class attribute that names the field a plain text stands for, such as `use` in `detect: [envelope.insulation]`."""


class Known(Protocol):
    """The valid names of one kind."""

    def accepts(self, text: str) -> bool:
        """True for a valid name."""
        ...

    def remedy(self, text: str) -> str:
        """What to write instead."""
        ...


class SafePath(Protocol):
    """Judges a path written in the manifest; adds a problem and returns False when it leaves the survey's folder."""

    def __call__(self, binder: Binder, node: Node, name: str, text: str) -> bool:
        """False after adding a problem to the binder's list; `name` is the key, `text` the path as written."""
        ...


@dataclass
class Binder:
    """What binding needs to know, and what it found.

    known     kind of name (`SettingSpec.names`) -> valid names
    currency  of prices that do not say theirs
    origins   where each dataclass instance stood, by the instance's id(); instances are kept alive by the entry
    """

    problems: Problems
    known: Mapping[str, Known] = field(default_factory=dict)
    currency: str = "USD"
    safe_path: SafePath | None = None
    origins: dict[int, tuple[Any, Node]] = field(default_factory=dict)

    def bind(self, node: Node, cls: type, name: str, lenient: bool = False) -> Any:
        """An instance of a dataclass, or BROKEN. `lenient` fills what is required and missing: checks can go on."""
        return _bind_dataclass(self, node, cls, name, lenient)

    def origin(self, instance: Any) -> Node:
        """Where an instance stood."""
        return self.origins[id(instance)][1]

    def path_is_safe(self, node: Node, name: str, text: str) -> bool:
        """False after adding a problem when a path leaves the survey's folder."""
        return self.safe_path is None or self.safe_path(self, node, name, text)


@dataclass(frozen=True)
class _Plan:
    """How one field is bound."""

    name: str
    bind: Bind
    required: bool
    empty: Any


@dataclass(frozen=True)
class _Shape:
    fields: Mapping[str, _Plan]
    shorthand: str | None


def field_key(name: str) -> str:
    """The key of a field in the manifest: `with_` is written `with`."""
    return name.removesuffix("_")


def type_hints(cls: type) -> dict[str, Any]:
    """The resolved annotations of a dataclass, without those of other names."""
    return typing.get_type_hints(cls)


@lru_cache(maxsize=1024)
def shape_of(cls: type) -> _Shape:
    """The fields of a dataclass with their binders. Raises TypeError for annotations a manifest cannot give."""
    hints = type_hints(cls)
    plans = {}
    for one in setting_fields(cls):
        key, spec = field_key(one.name), spec_of(one)
        empty = "" if hints[one.name] is str else None
        plans[key] = _Plan(one.name, binder_for(hints[one.name], spec, key), is_required(one), empty)
    return _Shape(plans, getattr(cls, SHORTHAND, None))


def binder_for(wanted: Any, spec: SettingSpec, name: str) -> Bind:
    """The function that binds one annotated type."""
    simple = {
        str: bind_text,
        float: bind_float,
        Quantity: bind_quantity,
        int: bind_int,
        bool: bind_bool,
        Path: bind_path,
    }
    if wanted in simple:
        return simple[wanted](spec, name)
    origin, arguments = typing.get_origin(wanted), typing.get_args(wanted)
    if origin is Literal:
        return bind_choice(arguments, name)
    if origin in (typing.Union, types.UnionType):
        members = [one for one in arguments if one is not type(None)]
        return (
            binder_for(members[0], spec, name)
            if len(members) == 1
            else _union([binder_for(one, spec, name) for one in members])
        )
    if origin in (tuple, list, Sequence):
        if origin is tuple and arguments[-1:] != (...,):
            return _fixed([binder_for(one, spec, name) for one in arguments])
        shorthand = arguments[0] is str or getattr(arguments[0], SHORTHAND, None) is not None
        return _list(binder_for(arguments[0], spec, name), shorthand)
    if origin in (dict, Mapping):
        return _mapping(binder_for(arguments[1] if len(arguments) > 1 else Any, spec, name))
    if isinstance(wanted, type) and is_dataclass(wanted):
        return lambda binder, node, name: _bind_dataclass(binder, node, wanted, name, _ours(wanted))
    if wanted is Any or wanted is object:
        return plain
    raise TypeError(f"{name}: a setting cannot have the type {wanted}")


def _ours(cls: type) -> bool:
    return cls.__module__.startswith("heatbrief.manifest.")


def _union(binds: Sequence[Bind]) -> Bind:
    def bind(binder: Binder, node: Node, name: str) -> Any:
        kept, tries = binder.problems, []
        try:
            for one in binds:
                binder.problems = Problems(limit=None)
                value = one(binder, node, name)
                if not len(binder.problems):
                    return value
                tries.append(one)
        finally:
            binder.problems = kept
        return tries[0](binder, node, name)

    return bind


def _list(bind_item: Bind, shorthand: bool) -> Bind:
    def bind(binder: Binder, node: Node, name: str) -> Any:
        if isinstance(node, Scalar) and shorthand:
            value = bind_item(binder, node, name)
            return BROKEN if value is BROKEN else (value,)
        if not isinstance(node, Items):
            return wrong_type(binder, node, name, "a list", f"Start each entry with '- ', or write {name}: [ … ].")
        values = [bind_item(binder, item, name) for item in node.items]
        return tuple(value for value in values if value is not BROKEN)

    return bind


def _fixed(binds: Sequence[Bind]) -> Bind:
    def bind(binder: Binder, node: Node, name: str) -> Any:
        if not isinstance(node, Items) or len(node.items) != len(binds):
            got = f", got {len(node.items)}" if isinstance(node, Items) else ""
            remedy = f"Write {name}: [{', '.join('…' for _ in binds)}]."
            if got:
                binder.problems.add(node, "wrong-length", f"{name} must have {len(binds)} values{got}", remedy)
                return BROKEN
            return wrong_type(binder, node, name, f"a list of {len(binds)} values", remedy)
        values = tuple(one(binder, item, name) for one, item in zip(binds, node.items, strict=True))
        return BROKEN if BROKEN in values else values

    return bind


def _mapping(bind_value: Bind) -> Bind:
    def bind(binder: Binder, node: Node, name: str) -> Any:
        if not isinstance(node, Table):
            return wrong_type(binder, node, name, "a mapping", f"Write {name}: {{key: value}}.")
        values = {}
        for key, value in node.entries.values():
            text = checked_text(binder, key, f"a key of {name}")
            if text is BROKEN or is_absent(value):
                continue
            bound = bind_value(binder, value, text)
            if bound is not BROKEN:
                values[text] = bound
        return values

    return bind


def plain(binder: Binder, node: Node, name: str) -> Any:
    """Anything, as plain text in lists and mappings."""
    if isinstance(node, Scalar):
        return checked_text(binder, node, name)
    if isinstance(node, Items):
        return tuple(plain(binder, item, name) for item in node.items)
    assert isinstance(node, Table)
    return {key: plain(binder, value, name) for key, (_, value) in node.entries.items() if not is_absent(value)}


def _bind_dataclass(binder: Binder, node: Node, cls: type, name: str, lenient: bool) -> Any:
    shape = shape_of(cls)
    if isinstance(node, Scalar) and shape.shorthand is not None:
        node = Table(node.file, node.line, node.column, {shape.shorthand: (node, node)})
    if not isinstance(node, Table):
        return wrong_type(
            binder, node, name, "a mapping", f"Valid keys: {', '.join(shape.fields)}." if shape.fields else ""
        )
    before = len(binder.problems)
    values: dict[str, Any] = {}
    for key, (key_node, value) in node.entries.items():
        plan = shape.fields.get(key)
        if plan is None:
            _unknown_key(binder, key_node, name, shape)
        elif not is_absent(value):
            bound = plan.bind(binder, value, key)
            if bound is not BROKEN:
                values[plan.name] = bound
    for key, plan in shape.fields.items():
        if plan.required and plan.name not in values:
            _require(binder, node, key, name)
            values[plan.name] = plan.empty
    if len(binder.problems) > before and not lenient:
        return BROKEN
    return _built(binder, node, cls, name, values)


def _built(binder: Binder, node: Node, cls: type, name: str, values: dict[str, Any]) -> Any:
    try:
        instance = cls(**values)
    except Exception as error:  # a plugin's own check of its settings
        said = str(error) or type(error).__name__
        binder.problems.add(
            node, "bad-settings", f"{name}: {shown(said, 300)[1:-1]}", "Correct the settings, or leave them out."
        )
        return BROKEN
    binder.origins[id(instance)] = (instance, node)
    return instance


def _unknown_key(binder: Binder, key: Scalar, name: str, shape: _Shape) -> None:
    if key.text.startswith("\0"):  # a key that could not be read and has been reported
        return
    if binder.problems.many:
        remedy = ""
    elif not shape.fields:
        remedy = "There are no settings here."
    else:
        remedy = suggestion(key.text, shape.fields, "keys")
    binder.problems.add(key, "unknown-key", f"{shown(key.text)} is not a key of {name}", remedy)


def _require(binder: Binder, node: Table, key: str, name: str) -> None:
    found = node.entries.get(key)
    if found is None:
        binder.problems.add(node, "missing-key", f"{name} needs {shown(key)}", f"Add `{key}:`.")
    elif is_absent(found[1]):
        binder.problems.add(found[1], "missing-value", f"{shown(key)} has no value", f"Write a value after `{key}:`.")
