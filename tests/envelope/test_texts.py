"""The texts of both building plugins fit together, say who does what, and never claim more than a picture can."""

from __future__ import annotations

import re
import subprocess
import sys

import heatbrief_envelope
import heatbrief_plumbing
import pytest
from heatbrief.detect import gate_sources
from heatbrief.physics.sources import load_sources as physics_sources
from heatbrief.registry import build_registry

PLUGINS = {"envelope": heatbrief_envelope, "plumbing": heatbrief_plumbing}


@pytest.fixture(scope="module")
def registry():
    return build_registry([(name, "this project", lambda module=module: module) for name, module in PLUGINS.items()])


def test_nothing_is_refused(registry):
    assert registry.refused == ()
    assert set(registry.domains) == set(PLUGINS)
    assert all(step.status in ("trial", "stable") and step.summary for step in registry.steps.values())


def test_every_key_leads_somewhere(registry):
    sources = {*registry.sources, *physics_sources(), *(one.key for one in gate_sources())}
    for action in registry.actions.values():
        assert set(action.cautions) <= set(registry.cautions) and set(action.after) <= set(registry.actions), action.key
    for step in registry.steps.values():
        assert set(step.cautions) <= set(registry.cautions) and set(step.sources) <= sources, step.name
    for domain in registry.domains.values():
        assert set(domain.cautions) <= set(registry.cautions)
    for caution in registry.cautions.values():
        assert {figure.source for figure in caution.figures} <= sources, caution.key
        assert {figure.mark for figure in caution.figures} <= {"seen", "memory", "computed", "common practice"}
        assert caution.defer, f"{caution.key} defers to nobody"


def test_keys_in_the_code_exist(registry):
    """Actions and cautions a check names as literals."""
    from importlib import resources

    for name, module in PLUGINS.items():
        for file in resources.files(module).iterdir():
            if file.name.endswith(".py"):
                for key in re.findall(rf'"({name}\.[a-z]+(?:-[a-z]+)+)"', file.read_text(encoding="utf-8")):
                    assert key in registry.actions or key in registry.cautions, f"{file.name}: {key}"


def test_sealing_comes_before_insulating_and_looking_before_both(registry):
    for key in ("envelope.add-attic-insulation", "envelope.fill-wall", "envelope.add-floor-insulation"):
        before = registry.actions[key].after
        assert "envelope.air-seal" in before and any(registry.actions[one].kind == "check" for one in before)


def test_pipes_and_heating_are_left_to_trades(registry):
    for key in (
        "plumbing.repair-pipe",
        "plumbing.pressure-test",
        "plumbing.find-leak",
        "plumbing.flush-radiator",
        "envelope.seal-duct",
    ):
        assert registry.actions[key].who != "owner"


@pytest.mark.parametrize("name", PLUGINS)
def test_importing_a_plugin_is_cheap(name):
    heavy = ("scipy", "yaml", "heatbrief.detect")
    code = f"import heatbrief_{name}, sys; sys.exit(any(one in sys.modules for one in {heavy}))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
