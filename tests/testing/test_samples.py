"""Helpers and fixtures for plugin authors."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass

import numpy as np
import pytest
from heatbrief.api import Step, StepOutput
from heatbrief.errors import UserError
from heatbrief.testing import as_thermogram, context_for, masked, run_step, step_named, thermogram
from heatbrief.testing.parts import Breaker, Patch
from heatbrief.testing.pytest_plugin import *  # noqa: F403


@dataclass(frozen=True)
class Settings:
    above: float = 1.0


def look(subject, settings, context):
    return StepOutput(
        notes=(
            f"{np.count_nonzero(subject.values > 295.15 + settings.above)}",
            context.view.thermogram,
            str(context.conditions.inside_air),
        )
    )


def spoil(subject, settings, context):
    subject.values[0, 0] = 0.0
    return StepOutput()


STEP = Step("sample.look", "detect", 1, look, settings=Settings, reads=("view",))


def test_a_thermogram_has_its_temperatures_bounds_and_geometry():
    found = thermogram(22.0, [((60, 40, 20, 20), 3.0)])
    assert found.values.dtype == np.float32
    assert found.values[45:55, 65:75].mean() - 273.15 == pytest.approx(25.0, abs=0.05)
    assert found.values[:30].mean() - 273.15 == pytest.approx(22.0, abs=0.05)
    assert found.values[:30].std() == pytest.approx(found.noise(), rel=0.1)
    assert found.pixel is not None and found.scale == "temperature"
    assert {"noise", "camera accuracy"} <= {source.name for source in found.errors[0]}


def test_an_unscaled_one_has_counts_and_no_errors():
    found = thermogram(22.0, unscaled=True)
    assert found.scale == "unscaled" and found.errors == ()
    assert found.values.mean() == pytest.approx(29515, abs=30)


def test_calibration_with_the_true_settings_gives_the_true_temperatures(heatbrief_scene):
    hot = Breaker(box=(30, 30, 60, 40), load_a=18.0, ambient_c=25.0, emissivity=0.9)
    made = heatbrief_scene(
        Patch(box=(100, 80, 30, 30), rise_k=-6.0), hot, base_c=25.0, emissivity=0.9, reflected_c=21.0, distance_m=4.0
    )
    error = as_thermogram(made).values - made.kelvin
    smooth = np.abs(np.gradient(made.kelvin)).max(axis=0) < 0.05
    assert np.abs(error[smooth].mean()) < 0.01
    assert error[smooth].std() < 0.07


def test_run_step_gives_only_what_a_step_declares(heatbrief_run_step, heatbrief_thermogram, heatbrief_scene):
    picture = heatbrief_thermogram(22.0, [((60, 40, 20, 20), 3.0)], noise_k=0.02)
    context = context_for(heatbrief_scene(name="wall").scene)
    assert context.conditions.inside_air is not None, "known, but not declared by the step"
    output = heatbrief_run_step(STEP, picture, context, above=2.0)
    assert 340 <= int(output.notes[0]) <= 420
    assert output.notes[1:] == ("wall", "None")
    assert run_step(STEP, picture).notes[1] == "thermogram"


def test_run_step_catches_a_step_that_writes_into_its_input():
    with pytest.raises(ValueError, match="read-only"):
        run_step(Step("sample.spoil", "detect", 1, spoil), thermogram(22.0))


def test_unknown_steps_are_named():
    with pytest.raises(UserError, match="no installed plugin offers this step"):
        step_named("no.such-step")


def test_masked_pixels_are_not_valid():
    found = masked(thermogram(22.0), np.eye(120, 160, dtype=bool))
    assert np.count_nonzero(~found.valid) == 120


def test_the_pytest_plugin_does_not_import_heatbrief_early():
    """Early imports hide lines from coverage."""
    code = (
        "import sys, heatbrief.testing.pytest_plugin; "
        "print(sorted(m for m in sys.modules if m.startswith('heatbrief') or m in ('numpy', 'scipy')))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.strip() == "['heatbrief', 'heatbrief.testing', 'heatbrief.testing.pytest_plugin']"
