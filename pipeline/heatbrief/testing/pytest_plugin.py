"""Fixtures for the tests of plugins. heatbrief itself is imported only when a fixture is used."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from heatbrief.model.thermogram import Thermogram
    from heatbrief.testing.rendering import Rendered


@pytest.fixture
def heatbrief_thermogram() -> Callable[..., Thermogram]:
    """Factory of calibrated pictures: `heatbrief_thermogram(22.0, [((60, 40, 20, 20), 3.0)], noise_k=0.05)`."""
    from heatbrief.testing.samples import thermogram

    return thermogram


@pytest.fixture
def heatbrief_scene() -> Callable[..., Rendered]:
    """Factory of rendered scenes with truth: `heatbrief_scene(part, part, base_c=22)`, fields as of Scene."""
    from heatbrief.testing.rendering import render
    from heatbrief.testing.scene import Scene

    def make(*parts: Any, name: str = "scene", **fields: Any) -> Rendered:
        return render(Scene(name=name, parts=parts, **fields))

    return make


@pytest.fixture
def heatbrief_run_step() -> Callable[..., Any]:
    """Runs a step, or an installed one by name: `heatbrief_run_step("my.check", thermogram, context, above=...)`."""
    from heatbrief.testing.samples import run_step

    return run_step
