"""Every public function of the heat half says where it comes from, and every key it names exists."""

from __future__ import annotations

import doctest
import importlib
import inspect
import re

import pytest
from heatbrief.physics.sources import load_sources
from heatbrief.physics.tables import load_table

MODULES = [
    "air_properties", "surface_coefficients", "transmittance", "condensation", "air_leakage", "ducts", "degree_days",
    "economics", "water", "soil", "wet_surface", "electrical", "small_groups", "lumped",
]  # fmt: skip


def functions(name: str) -> list:
    module = importlib.import_module(f"heatbrief.physics.{name}")
    return [
        one
        for key, one in inspect.getmembers(module, inspect.isfunction)
        if not key.startswith("_") and one.__module__ == module.__name__
    ]


def keys_in(text: str) -> list[str]:
    found = re.search(r"Source:\s+([a-z0-9\-,\s]+?)\s*(?:$|\()", text)
    return re.split(r"[,\s]+", found.group(1)) if found else []


@pytest.mark.parametrize("name", MODULES)
def test_functions_name_known_sources(name: str) -> None:
    found = functions(name)
    assert found
    for function in found:
        keys = keys_in(inspect.getdoc(function) or "")
        assert keys, f"{name}.{function.__name__} names no source"
        assert set(keys) <= set(load_sources()), f"{name}.{function.__name__}: {set(keys) - set(load_sources())}"


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings_hold(name: str) -> None:
    assert doctest.testmod(importlib.import_module(f"heatbrief.physics.{name}")).failed == 0


def test_table_sources_exist() -> None:
    known = load_sources()
    for row in load_table("fuels")["fuels"].values():
        assert row["source"] in known
    assert load_table("soil")["source"] in known
    for group in load_table("surface_limits").values():
        assert {row["source"] for row in group.values()} <= set(known)


def test_unknown_table_is_named() -> None:
    with pytest.raises(KeyError, match="fuels"):
        load_table("fuel")
    with pytest.raises(KeyError):
        load_table("../physics/fuels")
