"""Dataclasses of the model to plain JSON data and back."""

from __future__ import annotations

import functools
import json
import math
from collections.abc import Mapping
from typing import Any, TypeVar

from heatbrief.model.quantity import Quantity
from heatbrief.store.keys import plain

Model = TypeVar("Model")


@functools.lru_cache(maxsize=1)
def _converter() -> Any:
    import cattrs

    converter = cattrs.Converter(forbid_extra_keys=True)
    converter.register_structure_hook(
        Quantity | str, lambda value, _: Quantity.from_json(value) if isinstance(value, Mapping) else str(value)
    )
    return converter


def to_model(data: Any, kind: type[Model]) -> Model:
    """Plain data to a model class. Raises ValueError when it does not fit."""
    try:
        found: Model = _converter().structure(data, kind)
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
