"""How a dataclass says what may stand in a manifest: units, limits, choices and help, beside each field.

The same declaration serves the manifest itself, the settings of every step, the JSON Schema and the documentation.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field, fields
from typing import Any

KEY = "heatbrief"


@dataclass(frozen=True)
class SettingSpec:
    """What a field accepts, besides its annotated type.

    unit      for float and Quantity fields: the unit the value is converted to. "K" means a difference of temperatures,
              "degC" a temperature; "1" a plain number or a percentage. None for fields without a dimension.
    low, high inclusive limits in that unit; `positive` excludes zero
    help      one sentence for the schema and the documentation
    example   a value as one would write it
    names     what kind of name a string is, for the nearest-name suggestion: "material", "step", "source", ""
    """

    unit: str | None = None
    low: float | None = None
    high: float | None = None
    positive: bool = False
    help: str = ""
    example: str = ""
    names: str = ""


def setting(
    default: Any = MISSING,
    *,
    unit: str | None = None,
    low: float | None = None,
    high: float | None = None,
    positive: bool = False,
    help: str = "",
    example: str = "",
    names: str = "",
    factory: Any = MISSING,
) -> Any:
    """Declare a field that a manifest may set. Without `default` or `factory` the field is required.

    The field's annotation gives the shape: `float` or `Quantity` with a unit, `str`, `int`, `bool`, `Literal[...]`,
    `tuple[X, ...]`, `Mapping[str, X]`, another such dataclass, or `X | None`.
    """
    spec = SettingSpec(unit, low, high, positive, help, example, names)
    arguments: dict[str, Any] = {"metadata": {KEY: spec}}
    if factory is not MISSING:
        arguments["default_factory"] = factory
    elif default is not MISSING:
        arguments["default"] = default
    return field(**arguments)


def spec_of(dataclass_field: Any) -> SettingSpec:
    """The declaration of one dataclass field; an empty one when it has none."""
    found = dataclass_field.metadata.get(KEY)
    return found if isinstance(found, SettingSpec) else SettingSpec()


def is_required(dataclass_field: Any) -> bool:
    """True when the manifest must give this field."""
    return dataclass_field.default is MISSING and dataclass_field.default_factory is MISSING


def setting_fields(cls: type) -> list[Any]:
    """The fields of a settings class that a manifest may set, in order."""
    return [one for one in fields(cls) if one.init and not one.name.startswith("_")]
