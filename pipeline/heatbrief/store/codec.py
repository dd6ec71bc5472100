"""Dataclasses of the model to plain JSON data and back."""

from __future__ import annotations

import functools
import json
import typing
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeVar

from heatbrief.model.quantity import Quantity
from heatbrief.store.keys import for_encoder, opened_once, plain

Model = TypeVar("Model")
LARGEST = 1e15
"""Greatest number of a document that is read back (our choice): beyond it nothing in a survey of a property makes sense."""


@functools.lru_cache(maxsize=2)
def _converter(detailed: bool) -> Any:
    """detailed  says where data does not fit, and takes twice as long"""
    import cattrs

    converter = cattrs.Converter(forbid_extra_keys=True, detailed_validation=detailed)
    converter.register_structure_hook(
        Quantity | str, lambda value, _: Quantity.from_json(value) if isinstance(value, Mapping) else str(value)
    )
    return converter


@functools.lru_cache(maxsize=2)
def _strict(detailed: bool) -> Any:
    """A converter for data that strangers may have written: every value has the type its field names."""
    converter = _converter(detailed).copy()
    for kind in (str, bool, int):
        converter.register_structure_hook(kind, _exactly)
    converter.register_structure_hook(float, _number)
    converter.register_structure_hook(Quantity | str, lambda value, _: _text_or_quantity(value, converter))
    converter.register_structure_hook_func(_is_tuple, lambda value, kind: _row(value, kind, converter))
    return converter


def _is_tuple(kind: Any) -> bool:
    return typing.get_origin(kind) is tuple


def _exactly(value: Any, kind: type) -> Any:
    if type(value) is not kind:
        raise ValueError(f"{str(value)[:40]!r} is no {kind.__name__}")
    if isinstance(value, str) and not value.isascii():
        value.encode("utf-8")  # halves of characters cannot be written to a page
    return value


def _number(value: Any, _: type) -> float:
    if type(value) not in (int, float) or not abs(value) <= LARGEST:
        raise ValueError(f"{str(value)[:40]!r} is no number up to {LARGEST:g}")
    return float(value)


def _text_or_quantity(value: Any, converter: Any) -> Any:
    return converter.structure(value, Quantity if isinstance(value, Mapping) else str)


def _row(value: Any, kind: Any, converter: Any) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise ValueError(f"{str(value)[:40]!r} is no list")
    kinds = typing.get_args(kind)
    if len(kinds) == 2 and kinds[1] is ...:
        return tuple(converter.structure(one, kinds[0]) for one in value)
    return tuple(converter.structure(one, own) for one, own in zip(value, kinds, strict=True))


def to_model(data: Any, kind: type[Model], *, strict: bool = False) -> Model:
    """Plain data to a model class. Raises ValueError when it does not fit.

    strict  nothing is taken for something else, such as a number for a text; numbers are finite
    """
    try:
        quick: Model = (_strict(False) if strict else _converter(False)).structure(data, kind)
        return quick
    except Exception:  # once more, for words
        pass
    try:
        found: Model = (_strict(True) if strict else _converter(True)).structure(data, kind)
        return found
    except Exception as error:  # cattrs raises groups of many kinds
        raise ValueError(f"does not fit {kind.__name__}: {error}") from error


def to_json(value: Any) -> str:
    """Model or plain data as JSON on one line: sorted keys, no NaN, final newline.

    Raises ValueError for numbers that are not finite.
    """
    try:
        return _DIRECT.encode(value) + "\n"
    except TypeError:  # keys that are no text, or do not sort
        return _line(plain(value)) + "\n"


def to_lines(value: Any, digits: int) -> str:
    """The same with `digits` significant digits, for people and version control: each key of the outermost mapping
    begins a line, and so does each entry of a list or mapping under it."""
    return in_lines(rounded(value, digits))


def in_lines(data: Mapping[str, Any], written: Mapping[str, Sequence[str]] = MappingProxyType({})) -> str:
    """Plain data in the form of `to_lines`.

    written  lists under their keys whose entries are lines already
    """
    parts = {key: _opened(value) for key, value in data.items()}
    parts |= {key: _listed(lines) for key, lines in written.items()}
    return "{" + ",\n".join(f"{_line(key)}:{parts[key]}" for key in sorted(parts)) + "}\n"


def rounded(value: Any, digits: int) -> Any:
    """Plain data with `digits` significant digits, mappings sorted, as it is read again from what is written of it."""
    return _rounded(value, f"%.{digits}g")


def _listed(lines: Sequence[str]) -> str:
    return "[\n" + ",\n".join(lines) + "]" if lines else "[]"


def _opened(value: Any) -> str:
    if isinstance(value, list):
        return _listed([_line(one) for one in value])
    if isinstance(value, dict) and value:
        return "{\n" + ",\n".join(f"{_line(key)}:{_line(value[key])}" for key in sorted(value)) + "}"
    return _line(value)


_ENCODER = json.JSONEncoder(sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
_line = _ENCODER.encode
_DIRECT = json.JSONEncoder(
    sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":"), default=for_encoder
)


def _rounded(value: Any, form: str) -> Any:
    """Plain data with rounded numbers."""
    kind = type(value)
    if kind is str or kind is int or kind is bool or value is None:
        return value
    if kind is dict:
        return {str(key): _rounded(value[key], form) for key in sorted(value, key=str)}
    if kind is list or kind is tuple:
        return [_rounded(item, form) for item in value]
    if isinstance(value, float):
        return float(form % value)  # infinities and NaN stay what they are, and are refused afterwards
    opened = opened_once(value)
    return value if opened is value else _rounded(opened, form)
