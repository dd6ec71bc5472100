"""Every worked example in tests/published/*.yaml, checked with the accuracy its source claims.

One entry, all numbers in SI (angles in the unit the argument name says):

    - id: RAD-E2                       # unique over all files
      source: where the value comes from, with its mark
      mark: computed | seen | memory | common practice
      function: heatbrief.physics.measurement.apparent_temperature
      given: {object_k: 60, band: {make: heatbrief.physics.planck.IdealBand, with: {low_um: 8, high_um: 14}}}
      units: {object_k: degC}          # these names are converted to kelvin, at any depth of `given`
      expect: 57.6091                  # or a list, or {field: value} for dataclasses and mappings
      expect_unit: degC                # the result is kelvin, the expected value is degC
      tolerance: {abs: 0.001}          # or {rel: 1e-5}
      why: where the tolerance comes from

`expect_not` instead of `expect` asserts that a known misprint is *not* reproduced; `raises: ValueError` asserts a
refusal. `table: {columns: [settings.emissivity, expect], rows: [...]}` turns one entry into one test per row; a dotted
column sets a value inside a `make`, and a column `expect.field` builds a mapping. A `make` calls the dotted name.
"""

from __future__ import annotations

import copy
import dataclasses
import importlib
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

FOLDER = Path(__file__).parent / "published"
FILES = sorted(FOLDER.glob("*.yaml"))
MARKS = {"computed", "seen", "memory", "common practice"}
KEYS = {
    "id",
    "source",
    "mark",
    "function",
    "given",
    "units",
    "expect",
    "expect_not",
    "expect_unit",
    "tolerance",
    "why",
    "raises",
    "table",
}


def load(path: Path) -> list[dict[str, Any]]:
    entries = yaml.load(path.read_text(encoding="utf-8"), getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    if not isinstance(entries, list) or not entries:
        raise ValueError(f"{path.name} has no entries")
    return entries


def put(entry: dict[str, Any], column: str, value: Any) -> None:
    head, _, rest = column.partition(".")
    if head in ("expect", "expect_not"):
        if rest:
            entry.setdefault(head, {})[rest] = value
        else:
            entry[head] = value
        return
    target = entry["given"]
    *path, last = column.split(".")
    for part in path:
        target = target[part]
        target = target.get("with", target) if isinstance(target, dict) else target
    target[last] = value


def expand(entry: dict[str, Any]) -> Iterator[dict[str, Any]]:
    table = entry.get("table")
    if table is None:
        yield entry
        return
    if not table["rows"]:
        raise ValueError(f"{entry['id']} has a table without rows")
    for number, row in enumerate(table["rows"], 1):
        one = copy.deepcopy({key: value for key, value in entry.items() if key != "table"})
        one.setdefault("given", {})
        one["id"] = f"{entry['id']}-{number}"
        for column, value in zip(table["columns"], row, strict=True):
            put(one, column, value)
        yield one


def cases() -> list[Any]:
    return [pytest.param(one, id=one["id"]) for path in FILES for entry in load(path) for one in expand(entry)]


def resolve(dotted: str) -> Any:
    module, _, name = dotted.rpartition(".")
    try:
        return getattr(importlib.import_module(module), name)
    except (ImportError, AttributeError) as error:
        pytest.fail(f"{dotted} does not exist: {error}")


def build(value: Any, units: Mapping[str, str], name: str = "") -> Any:
    if isinstance(value, dict):
        if set(value) <= {"make", "with"} and "make" in value:
            return resolve(value["make"])(**build(value.get("with", {}), units))
        return {key: build(item, units, key) for key, item in value.items()}
    if isinstance(value, list):
        return [build(item, units, name) for item in value]
    unit = units.get(name)
    if unit is None:
        return value
    assert unit == "degC", f"unknown unit {unit}"
    return value + 273.15


def field(result: Any, name: str) -> Any:
    if isinstance(result, Mapping):
        return result[name]
    return getattr(result, name)


def compare(result: Any, expected: Any, entry: Mapping[str, Any], where: str) -> None:
    if isinstance(expected, dict):
        for name, value in expected.items():
            compare(field(result, name), value, entry, f"{where}.{name}")
        return
    if isinstance(expected, (str, bool)) or expected is None:
        assert result == expected, where
        return
    if dataclasses.is_dataclass(result):
        pytest.fail(f"{where}: name the fields of {type(result).__name__} to compare")
    wanted = np.asarray(expected, dtype=float)
    got = np.asarray(result, dtype=float)
    if entry.get("expect_unit") == "degC":
        wanted = wanted + 273.15
    tolerance = entry.get("tolerance", {})
    limit = {"rtol": float(tolerance.get("rel", 0.0)), "atol": float(tolerance.get("abs", 0.0))}
    assert got.shape == wanted.shape, f"{where}: shape {got.shape}, expected {wanted.shape}"
    np.testing.assert_allclose(got, wanted, **limit, equal_nan=True, err_msg=f"{where}: {entry.get('source')}")


def test_there_are_examples() -> None:
    assert FILES, "no published examples found"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_file_is_well_formed(path: Path) -> None:
    for entry in load(path):
        name = entry.get("id")
        assert set(entry) <= KEYS, f"{path.name} {name}: unknown keys {set(entry) - KEYS}"
        assert entry.get("source"), f"{path.name} {name}: names no source"
        assert entry.get("mark") in MARKS, f"{path.name} {name}: mark {entry.get('mark')!r} is none of {sorted(MARKS)}"
        for one in expand(entry):
            assert sum(key in one for key in ("expect", "expect_not", "raises")) == 1, f"{one['id']}: what is expected?"


def test_ids_are_unique() -> None:
    ids = [case.id for case in cases()]
    assert len(ids) == len(set(ids)), sorted({one for one in ids if ids.count(one) > 1})


@pytest.mark.parametrize("entry", cases())
def test_published(entry: dict[str, Any]) -> None:
    function = resolve(entry["function"])
    given = build(entry.get("given") or {}, entry.get("units") or {})
    if "raises" in entry:
        with pytest.raises(getattr(__import__("builtins"), entry["raises"])):
            function(**given)
        return
    result = function(**given)
    if "expect_not" in entry:
        with pytest.raises(AssertionError):
            compare(result, entry["expect_not"], entry, entry["id"])
        return
    compare(result, entry["expect"], entry, entry["id"])


def test_runner_notices_a_wrong_value() -> None:
    entry = {"tolerance": {"abs": 0.1}, "expect_unit": "degC", "source": "the runner itself"}
    compare(293.2, 20.0, entry, "close enough")
    with pytest.raises(AssertionError):
        compare(294.0, 20.0, entry, "too far")
    with pytest.raises(AssertionError):
        compare(math.nan, 20.0, entry, "no number")
