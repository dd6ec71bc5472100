"""Dataclasses of the model to plain JSON data and back."""

from __future__ import annotations

import functools
import json
import math
import typing
from collections.abc import Mapping
from typing import Any, TypeVar

from heatbrief.model.quantity import Quantity
from heatbrief.store.keys import plain

Model = TypeVar("Model")
LARGEST = 1e15
"""Greatest number of a document that is read back (our choice): beyond it nothing in a survey of a property makes sense."""


@functools.lru_cache(maxsize=1)
def _converter() -> Any:
    import cattrs

    converter = cattrs.Converter(forbid_extra_keys=True)
    converter.register_structure_hook(
        Quantity | str, lambda value, _: Quantity.from_json(value) if isinstance(value, Mapping) else str(value)
    )
    return converter


@functools.lru_cache(maxsize=1)
def _strict() -> Any:
    """A converter for data that strangers may have written: every value has the type its field names."""
    converter = _converter().copy()
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
        found: Model = (_strict() if strict else _converter()).structure(data, kind)
        return found
    except Exception as error:  # cattrs raises groups of many kinds
        raise ValueError(f"does not fit {kind.__name__}: {error}") from error


def to_json(value: Any, *, indent: int | None = None, digits: int | None = None) -> str:
    """Model or plain data as JSON: sorted keys, no NaN, final newline.

    digits  significant digits of every number; None keeps all of them
    Raises ValueError for numbers that are not finite.
    """
    data = plain(value) if digits is None else _rounded(plain(value), digits)
    separators = (",", ": ") if indent else (",", ":")
    return (
        json.dumps(data, sort_keys=True, ensure_ascii=False, allow_nan=False, indent=indent, separators=separators)
        + "\n"
    )


def _rounded(value: Any, digits: int) -> Any:
    if isinstance(value, float):
        return float(f"{value:.{digits}g}") if math.isfinite(value) else value
    if isinstance(value, dict):
        return {key: _rounded(item, digits) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item, digits) for item in value]
    return value
