"""A scale beside a picture: `<file>.yaml` with the keys of `scale:` in the manifest. The manifest wins over it."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import yaml

from heatbrief.errors import StepError
from heatbrief.physics.temperature_units import UNITS, stated_temperature
from heatbrief.readers.limits import MOST_SIDECAR_BYTES, check_file

KEYS = ("kelvin_per_count", "zero_at", "values")
_FORM = "Write `kelvin_per_count: 0.01` (and `zero_at: -100 degC` if count 0 is not 0 K), or `values: degC`."


def sidecar_path(path: Path) -> Path:
    """Where the scale of a picture may stand: the picture's name with `.yaml` added. It need not exist."""
    return path.with_name(path.name + ".yaml")


def sidecar_scale(path: Path) -> tuple[tuple[float, float] | None, str]:
    """((kelvin per count, kelvin at count 0) or None, unit of values or "") from the file beside `path`.

    (None, "") when there is none. StepError "sidecar" when there is one that cannot be used.
    """
    try:
        beside = sidecar_path(path)
        if not beside.is_file():
            return None, ""
    except (OSError, ValueError):
        return None, ""
    return _scale(_load(beside), beside.name)


def _load(beside: Path) -> dict[str, Any]:
    try:
        check_file(beside, MOST_SIDECAR_BYTES)
    except StepError as error:
        raise _wrong(beside.name, error.message) from None
    if beside.is_symlink() and beside.resolve().parent != beside.parent.resolve():
        raise _wrong(beside.name, "it is a link to another folder")
    try:
        text = beside.read_text(encoding="utf-8-sig")
        # Aliases are refused before composing, so that a small file cannot expand without bound.
        for token in yaml.scan(text, Loader=yaml.SafeLoader):
            if isinstance(token, yaml.AliasToken | yaml.AnchorToken | yaml.TagToken):
                raise _wrong(beside.name, "anchors, aliases and tags are not allowed")
        node = yaml.compose(text, Loader=yaml.SafeLoader)
        if isinstance(node, yaml.MappingNode):
            names = [key.value for key, _ in node.value if isinstance(key, yaml.ScalarNode)]
            if len(set(names)) < len(node.value):
                raise _wrong(beside.name, "a key stands twice or is not a word")
        data = yaml.safe_load(text)
    except StepError:
        raise
    except (OSError, ValueError, yaml.YAMLError, RecursionError, TypeError, AttributeError, OverflowError) as error:
        raise _wrong(beside.name, "it is not readable YAML: " + " ".join(str(error).split())[:160]) from None
    if not isinstance(data, dict):
        raise _wrong(beside.name, "it does not hold keys with values")
    return data


def _scale(data: dict[str, Any], name: str) -> tuple[tuple[float, float] | None, str]:
    unknown = [str(key)[:40] for key in data if key not in KEYS]
    if unknown:
        raise _wrong(name, f"unknown key {unknown[0]!r}; known are {', '.join(KEYS)}")
    unit, step = data.get("values"), data.get("kelvin_per_count")
    if unit is not None:
        if unit not in UNITS:
            raise _wrong(name, f"values must be one of {', '.join(UNITS)}")
        if step is not None or "zero_at" in data:
            raise _wrong(name, "give either `values` or `kelvin_per_count`, not both")
        return None, unit
    if isinstance(step, bool) or not isinstance(step, int | float) or not _usable(step):
        raise _wrong(name, "kelvin_per_count must be a number other than 0")
    return (float(step), _zero(data, name)), ""


def _usable(step: float) -> bool:
    try:
        return math.isfinite(float(step)) and 0.0 < abs(float(step)) < 1e6
    except OverflowError:
        return False


def _zero(data: dict[str, Any], name: str) -> float:
    if "zero_at" not in data:
        return 0.0
    stated = stated_temperature(data["zero_at"]) if isinstance(data["zero_at"], str) else None
    if stated is None:
        raise _wrong(name, "zero_at must be a temperature with its unit")
    return stated.kelvin


def _wrong(name: str, reason: str) -> StepError:
    return StepError("sidecar", f"the scale in {name} cannot be used: {reason}", _FORM)
