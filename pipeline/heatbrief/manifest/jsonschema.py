"""JSON Schema (draft 2020-12) of the manifest, made from the same classes that bind it."""

from __future__ import annotations

import types
import typing
from collections.abc import Mapping, Sequence
from dataclasses import MISSING, is_dataclass
from pathlib import Path
from typing import Any, Literal

from heatbrief_site import languages

from heatbrief.api.step import STAGES, FactSpec, Publisher, Step
from heatbrief.manifest.bind import SHORTHAND, field_key, type_hints
from heatbrief.manifest.known import FactBook, Registry
from heatbrief.manifest.names import ID_LENGTH
from heatbrief.manifest.scalars import NOTES_LIMIT, TEXT_LIMIT
from heatbrief.manifest.schema import Manifest, RegionEntry, StagesEntry, StepEntry, ThermogramEntry
from heatbrief.manifest.steps import MATCHED, offers
from heatbrief.manifest.units import NUMBER
from heatbrief.model.quantity import Quantity
from heatbrief.model.settings import SettingSpec, is_required, setting_fields, spec_of

Schema = dict[str, Any]

_SIGNED = NUMBER.replace("[-+]?", "[-+−]?", 1)
_UNIT = r"[^\d\s±+.,(][^±,]*"
WITH_UNIT = rf"^\s*{_SIGNED}\s*({_UNIT}(±[^±,]*)?|1\s*/.*|(±|\+/?-|\.\.\.?|…|\bto\b).*[^\d\s.].*)$"
SHARE = rf"^\s*{_SIGNED}\s*((%|‰|percent)\s*)?((±|\+/?-|\.\.\.?|…|to)\s*{_SIGNED}\s*(%|‰|percent)?\s*)?(\([^)]*\))?$"
MONEY = rf"^\s*{_SIGNED}.*([A-Z]{{3}}|/).*$"


def json_schema(registry: Registry) -> Schema:
    """The schema of a manifest with the settings of every installed step. The same registry gives the same schema."""
    maker = _Maker(registry)
    root = maker.of_class(Manifest)
    root["properties"]["thermograms"]["minItems"] = 1
    root["required"] = [*root["required"], "thermograms"]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "heatbrief survey manifest",
        **root,
        "$defs": dict(sorted(maker.defs.items())),
    }


class _Maker:
    """Schemas of annotated types; classes become definitions, each once."""

    def __init__(self, registry: Registry) -> None:
        self.registry = registry
        self.defs: Schema = {}
        self.facts = FactBook(registry.steps[name] for name in sorted(registry.steps))

    def of_class(self, cls: type) -> Schema:
        """An object schema of a dataclass."""
        hints, properties = type_hints(cls), {}
        for one in setting_fields(cls):
            spec = spec_of(one)
            schema = self._special(cls, one.name) or self.of_type(hints[one.name], spec, one.name)
            if not is_required(one):
                schema = _or_null(schema)
            properties[field_key(one.name)] = _described(schema, spec, one.default)
        required = [field_key(one.name) for one in setting_fields(cls) if is_required(one)]
        found: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
        return {**found, "required": required} if required else found

    def of_type(self, wanted: Any, spec: SettingSpec, name: str) -> Schema:
        """The schema of one annotated type."""
        if wanted is str and spec.names == "domain":
            return {"type": "string", "enum": sorted(self.registry.domains)}
        if wanted is str and spec.names == "language":
            return {"type": "string", "enum": list(languages())}
        if wanted is str or wanted is Path:
            return {"type": "string", "maxLength": NOTES_LIMIT if name == "notes" else TEXT_LIMIT}
        if wanted is bool:
            return {"type": "boolean"}
        if wanted is int or (wanted is float and spec.unit is None):
            return {"type": "integer" if wanted is int else "number", **_number_limits(spec)}
        if wanted is Quantity or wanted is float:
            return _quantity(spec)
        origin, arguments = typing.get_origin(wanted), typing.get_args(wanted)
        if origin is Literal:
            return {"enum": list(arguments)}
        if origin in (typing.Union, types.UnionType):
            members = [self.of_type(one, spec, name) for one in arguments if one is not type(None)]
            return members[0] if len(members) == 1 else {"anyOf": members}
        if origin in (tuple, list, Sequence):
            return self._list(origin, arguments, spec, name)
        if origin in (dict, Mapping):
            return {
                "type": "object",
                "additionalProperties": _or_null(self.of_type(arguments[1], spec, name))
                if arguments[1] is not Any
                else True,
            }
        if isinstance(wanted, type) and is_dataclass(wanted):
            return self._reference(wanted)
        return {}

    def _list(self, origin: Any, arguments: tuple[Any, ...], spec: SettingSpec, name: str) -> Schema:
        if origin is tuple and arguments[-1:] != (...,):
            items = [self.of_type(one, spec, name) for one in arguments]
            return {"type": "array", "prefixItems": items, "minItems": len(items), "maxItems": len(items)}
        item = self.of_type(arguments[0], spec, name)
        listed: Schema = {"type": "array", "items": item}
        if arguments[0] is str:
            return {"anyOf": [listed, item]}
        return {"anyOf": [listed, {"type": "string"}]} if getattr(arguments[0], SHORTHAND, None) else listed

    def _reference(self, cls: type) -> Schema:
        name = cls.__name__ if cls.__module__.startswith("heatbrief.") else f"{cls.__module__}.{cls.__qualname__}"
        if name not in self.defs:
            self.defs[name] = {}
            schema = {**self.of_class(cls), "description": (cls.__doc__ or "").strip().split("\n")[0]}
            self.defs[name] = (
                {"anyOf": [schema, {"type": "string", "minLength": 1}]} if getattr(cls, SHORTHAND, None) else schema
            )
        return {"$ref": f"#/$defs/{name}"}

    def _special(self, cls: type, field: str) -> Schema | None:
        if cls is StagesEntry and field in STAGES:
            return self._stage(field)
        if field == "facts" and cls in (RegionEntry, ThermogramEntry):
            return {
                "type": "object",
                "additionalProperties": False,
                "properties": {name: _or_null(_fact(specs)) for name, specs in sorted(self.facts.specs.items())},
            }
        if cls is ThermogramEntry and field == "id":
            return {"type": "string", "maxLength": ID_LENGTH, "pattern": "^([a-z0-9]([a-z0-9-]*[a-z0-9])?)?$"}
        if cls is Manifest and field == "settings":
            offered: dict[str, Step | Publisher] = {**self.registry.steps, **self.registry.publishers}
            properties = {name: _or_null(self._settings(one)) for name, one in sorted(offered.items())}
            return {"type": "object", "additionalProperties": False, "properties": properties}
        if cls is Manifest and field == "currency":
            return {"type": "string", "pattern": "^[A-Z]{3}$"}
        return None

    def _stage(self, stage: str) -> Schema:
        offered = offers(self.registry, stage)
        names = sorted(offered)
        use: Schema = {"type": "string", "enum": names}
        one = self.of_class(StepEntry)
        one["properties"]["use"] = {
            **use,
            "description": "; ".join(f"{name}: {offered[name].summary}" for name in names if offered[name].summary),
        }
        one["properties"]["on"] = _or_null(
            {
                "type": "object",
                "additionalProperties": False,
                "properties": {key: {"type": ["string", "null"]} for key in MATCHED},
            }
        )
        rules = [
            {
                "if": {"properties": {"use": {"const": name}}, "required": ["use"]},
                "then": {"properties": {"with": _or_null(self._settings(offered[name]))}},
            }
            for name in names
        ]
        one = {**one, "allOf": rules} if rules else one
        return {"anyOf": [{"type": "array", "items": {"anyOf": [use, one]}}, use]}

    def _settings(self, step: Step | Publisher) -> Schema:
        key = f"step.{step.name}"
        if key not in self.defs:
            self.defs[key] = {**self.of_class(step.settings), "description": step.summary}
        return {"$ref": f"#/$defs/{key}"}


def _quantity(spec: SettingSpec) -> Schema:
    if spec.unit is None:
        return {"type": "string", "pattern": MONEY, "examples": [spec.example or "0.16 USD/kWh"]}
    if spec.unit in ("1", ""):
        return {"anyOf": [{"type": "number", **_number_limits(spec)}, {"type": "string", "pattern": SHARE}]}
    kind = {"degC": "a temperature with its unit", "K": "a difference of temperatures with its unit"}.get(
        spec.unit, f"a number with its unit, read in {spec.unit}"
    )
    return {"type": "string", "pattern": WITH_UNIT, "description": kind, "examples": [spec.example or f"1 {spec.unit}"]}


def _number_limits(spec: SettingSpec) -> Schema:
    limits: Schema = {}
    if spec.low is not None:
        limits["minimum"] = spec.low
    if spec.high is not None:
        limits["maximum"] = spec.high
    if spec.positive:
        limits["exclusiveMinimum"] = 0
    return limits


def _fact(specs: Sequence[FactSpec]) -> Schema:
    schemas: list[Schema] = []
    for spec in specs:
        if spec.unit is not None:
            schema = _quantity(SettingSpec(unit=spec.unit, example=spec.example))
        elif spec.choices:
            schema = {"enum": list(spec.choices)}
        else:
            schema = {"type": ["string", "boolean", "number"]}
        schemas.append(
            {**schema, "description": "; ".join(part for part in (spec.help, schema.get("description", "")) if part)}
        )
    return schemas[0] if len(schemas) == 1 else {"anyOf": schemas}


def _or_null(schema: Schema) -> Schema:
    """The same, or nothing after the key."""
    if not schema:
        return schema
    if isinstance(schema.get("type"), str) and "enum" not in schema:
        return {**schema, "type": [schema["type"], "null"]}
    if isinstance(schema.get("type"), list):
        return {**schema, "type": [*schema["type"], "null"]}
    if "anyOf" in schema:
        return {**schema, "anyOf": [*schema["anyOf"], {"type": "null"}]}
    return {"anyOf": [schema, {"type": "null"}]}


def _described(schema: Schema, spec: SettingSpec, default: Any) -> Schema:
    said = "; ".join(part for part in (spec.help, schema.get("description", "")) if part)
    schema = {**schema, "description": said} if said else schema
    if (
        spec.example
        and "examples" not in schema
        and not schema.get("anyOf")
        and schema.get("type") in ("string", ["string", "null"])
    ):
        schema = {**schema, "examples": [spec.example]}
    if default is not MISSING and isinstance(default, (str, int, float, bool)) and default != "":
        schema = {**schema, "default": default}
    return schema
