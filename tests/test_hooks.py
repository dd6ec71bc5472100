"""The page of each hook is complete and true: hooks, classes, fields and examples are those of the code."""

from __future__ import annotations

import dataclasses
import inspect
import re
import sys
import types

import pytest
from heatbrief.api import deprecation, hooks
from heatbrief.api.checks import CHECKS
from heatbrief.api.hook_pages import class_named, hook_pages, hooks_overview, page_text
from heatbrief.registry import Registry, build_registry
from support import ROOT

HOOKS = {name: one for name, one in inspect.getmembers(hooks, inspect.isfunction) if name.startswith("heatbrief_")}


def returned(name: str) -> str:
    return re.fullmatch(r"Sequence\[(\w+)\]", HOOKS[name].__annotations__["return"])[1]


def test_every_hook_has_a_page_a_check_and_a_place_in_the_registry():
    assert set(HOOKS) == set(hook_pages()) == set(CHECKS)
    assert {name.removeprefix("heatbrief_") for name in HOOKS} <= {one.name for one in dataclasses.fields(Registry)}


@pytest.mark.parametrize("name", sorted(HOOKS))
def test_no_class_and_no_field_is_missing(name):
    page = hook_pages()[name]
    assert next(iter(page.classes)) == returned(name)
    assert page.since in deprecation.API_HISTORY
    for kind, meanings in page.classes.items():
        assert [one.name for one in dataclasses.fields(class_named(kind))] == list(meanings), kind
        assert all(text.strip() for text in meanings.values())
        nested = {
            word for one in dataclasses.fields(class_named(kind)) for word in re.findall(r"\b[A-Z]\w+", str(one.type))
        }
        known = {word for word in nested if dataclasses.is_dataclass(_class(word))} - {"NoSettings", "Quantity"}
        assert known <= set(page.classes), f"{kind} holds {known - set(page.classes)}"


def _class(name):
    try:
        return class_named(name)
    except StopIteration:
        return None


@pytest.mark.parametrize("name", sorted(HOOKS))
def test_its_example_is_a_plugin_that_is_taken(name, monkeypatch):
    module = types.ModuleType("pool_example")
    monkeypatch.setitem(sys.modules, "pool_example", module)
    exec(compile(hook_pages()[name].example, name, "exec"), module.__dict__)
    registry = build_registry([("pool", "pool 1.0", lambda: module)])
    assert registry.refused == () and registry.warned == ()
    (offer,) = getattr(registry, name.removeprefix("heatbrief_")).values()
    assert type(offer).__name__ == returned(name)


@pytest.mark.parametrize("name", sorted(HOOKS))
def test_the_page_prints_every_field_with_its_type(name):
    text = page_text(hook_pages()[name])
    for kind, meanings in hook_pages()[name].classes.items():
        for one in dataclasses.fields(class_named(kind)):
            assert f"  {one.name}: " in text and meanings[one.name] in text


def test_the_overview_names_hooks_versions_and_what_goes():
    text = hooks_overview()
    for word in (*HOOKS, *deprecation.DEPRECATIONS, *(day for day, _ in deprecation.API_HISTORY.values())):
        assert word in text


def test_the_document_has_the_table_of_what_goes():
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    for one in deprecation.DEPRECATIONS.values():
        assert f"| `{one.what}` | {one.since} | {one.until} | " in text
    assert f"`HEATBRIEF_API = {deprecation.API_VERSION}`" in text
