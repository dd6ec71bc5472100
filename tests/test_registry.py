"""Plugins in, refusals with names: what one plugin does wrong never hides another."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace

import pytest
from heatbrief.api import Domain, Step, StepOutput, hookimpl
from heatbrief.registry import build_registry, step_fault


def do_nothing(subject, settings, context):
    return StepOutput()


@dataclass
class Thawed:
    """Settings that can be changed."""

    number: int = 1


def plugin(*steps, domains=()):
    """An object with the hooks of a plugin."""
    return SimpleNamespace(
        heatbrief_steps=hookimpl(lambda: steps, specname="heatbrief_steps"),
        heatbrief_domains=hookimpl(lambda: domains, specname="heatbrief_domains"),
    )


def registry_of(**plugins):
    return build_registry([(name, f"{name}-dist 1.0", lambda one=one: one) for name, one in plugins.items()])


def step(name="pool.leak", **changes):
    return Step(**{"name": name, "stage": "detect", "version": 1, "run": do_nothing, **changes})


def test_offers_are_found_with_their_owner():
    registry = registry_of(pool=plugin(step(), domains=[Domain("pool", "Pools", "heated pools")]))
    assert set(registry.steps) == {"pool.leak"}
    assert registry.owners["pool.leak"] == "pool-dist 1.0"
    assert registry.domains["pool"].title == "Pools"
    assert not registry.refused


def test_a_check_may_read_the_facts_that_test_rivals():
    names = {fact.name for fact in registry_of(pool=plugin(step())).steps["pool.leak"].facts}
    assert {"second view", "touched"} <= names


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"name": "roof.leak"}, "must start with 'pool'"),
        ({"stage": "publish"}, "is not a stage"),
        ({"version": 0}, "version"),
        ({"settings": Thawed}, "frozen"),
        ({"settings": int}, "frozen"),
        ({"run": lambda subject, settings, context: None}, "top level"),
        ({"reads": ("everything",)}, "reads unknown"),
        ({"api": 99}, "API 99"),
    ],
)
@pytest.mark.filterwarnings("ignore::heatbrief.api.HeatbriefDeprecation")
def test_faulty_steps_are_refused_by_name(changes, words):
    registry = registry_of(pool=plugin(step(**changes), step("pool.sound")))
    assert set(registry.steps) == {"pool.sound"}
    assert len(registry.refused) == 1
    assert "pool-dist 1.0" in registry.refused[0].where
    assert words in registry.refused[0].message


def test_something_that_is_no_step_is_refused():
    assert "must be a Step" in step_fault("pool.leak", "pool")


def test_one_name_twice_names_both_packages():
    registry = build_registry(
        [(name, origin, lambda: plugin(step())) for name, origin in (("pool", "first 1.0"),)]
        + [("pool2", "second 2.0", lambda: plugin(step("pool2.leak"), step("pool2.leak")))]
    )
    assert set(registry.steps) == {"pool.leak", "pool2.leak"}
    assert "already taken by second 2.0" in registry.refused[0].message


def broken():
    raise ImportError("no module named sea")


def test_a_plugin_that_cannot_be_loaded_is_named_and_the_rest_works():
    registry = build_registry([("pool", "pool-dist 1.0", lambda: plugin(step())), ("sea", "sea-dist 3.0", broken)])
    assert set(registry.steps) == {"pool.leak"}
    assert "sea-dist 3.0" in registry.refused[0].where
    assert "no module named sea" in registry.refused[0].message


def test_a_misspelt_hook_is_refused():
    wrong = SimpleNamespace(heatbrief_stepz=hookimpl(lambda: ()))
    wrong.heatbrief_stepz.__name__ = "heatbrief_stepz"
    registry = registry_of(pool=plugin(step()), other=wrong)
    assert set(registry.steps) == {"pool.leak"}
    assert (
        "heatbrief_stepz" in registry.refused[0].message
        and "did you mean 'heatbrief_steps'" in registry.refused[0].message
    )


def test_a_hook_that_fails_is_named():
    def fails():
        raise RuntimeError("out of order")

    registry = registry_of(pool=SimpleNamespace(heatbrief_steps=hookimpl(fails, specname="heatbrief_steps")))
    assert "out of order" in registry.refused[0].message
