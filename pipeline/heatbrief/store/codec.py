"""Dataclasses of the model to plain JSON data and back."""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping
from typing import Any, TypeVar

from heatbrief.model.quantity import Quantity
from heatbrief.store.keys import opened_once, plain

Model = TypeVar("Model")


@functools.lru_cache(maxsize=2)
def _converter(detailed: bool) -> Any:
    """detailed  says where data does not fit, and takes twice as long"""
    import cattrs

    converter = cattrs.Converter(forbid_extra_keys=True, detailed_validation=detailed)
    converter.register_structure_hook(
        Quantity | str, lambda value, _: Quantity.from_json(value) if isinstance(value, Mapping) else str(value)
    )
    return converter


def to_model(data: Any, kind: type[Model]) -> Model:
    """Plain data to a model class. Raises ValueError when it does not fit."""
    try:
        quick: Model = _converter(False).structure(data, kind)
        return quick
    except Exception:  # once more, for words
        pass
    try:
        found: Model = _converter(True).structure(data, kind)
        return found
    except Exception as error:  # cattrs raises groups of many kinds
        raise ValueError(f"does not fit {kind.__name__}: {error}") from error


def to_json(value: Any) -> str:
    """Model or plain data as JSON on one line: sorted keys, no NaN, final newline.

    Raises ValueError for numbers that are not finite.
    """
    return _line(plain(value)) + "\n"


def to_lines(value: Any, digits: int) -> str:
    """The same with `digits` significant digits, for people and version control: each key of the outermost mapping
    begins a line, and so does each entry of a list or mapping under it."""
    data: dict[str, Any] = _rounded(value, f"%.{digits}g")
    parts = [f"{_line(key)}:{_opened(data[key])}" for key in sorted(data)]
    return "{" + ",\n".join(parts) + "}\n"


def _opened(value: Any) -> str:
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(map(_line, value)) + "]"
    if isinstance(value, dict) and value:
        return "{\n" + ",\n".join(f"{_line(key)}:{_line(value[key])}" for key in sorted(value)) + "}"
    return _line(value)


_ENCODER = json.JSONEncoder(sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
_line = _ENCODER.encode


def _rounded(value: Any, form: str) -> Any:
    """Plain data with rounded numbers."""
    kind = type(value)
    if kind is str or kind is int or kind is bool or value is None:
        return value
    if kind is dict:
        return {str(key): _rounded(item, form) for key, item in value.items()}
    if kind is list or kind is tuple:
        return [_rounded(item, form) for item in value]
    if isinstance(value, float):
        return float(form % value)  # infinities and NaN stay what they are, and are refused afterwards
    opened = opened_once(value)
    return value if opened is value else _rounded(opened, form)
