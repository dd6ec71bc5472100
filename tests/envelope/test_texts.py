"""Actions of both building plugins: what comes before what, and who does it; loading either is cheap."""

from __future__ import annotations

import subprocess
import sys

import heatbrief_envelope
import heatbrief_plumbing
import pytest
from heatbrief.registry import build_registry

PLUGINS = {"envelope": heatbrief_envelope, "plumbing": heatbrief_plumbing}


@pytest.fixture(scope="module")
def registry():
    return build_registry([(name, "this project", lambda module=module: module) for name, module in PLUGINS.items()])


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
