"""Tests of `heatbrief.calibrate`: from counts to temperatures, and every source of error that belongs to them."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.api import Camera, Context, View
from heatbrief.calibrate.radiance import calibrate
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.model.conditions import Conditions
from heatbrief.model.quantity import Quantity
from heatbrief.model.thermogram import Picture

ZERO = 273.15


@pytest.fixture
def degrees():
    """A picture of temperatures in degC as the file reports them."""

    def make(celsius, shape=(12, 16)) -> Picture:
        values = np.broadcast_to(np.asarray(celsius, float), shape if np.ndim(celsius) == 0 else np.shape(celsius))
        return Picture(values + ZERO, True)

    return make


@pytest.fixture
def exact():
    """A quantity stated without bounds."""
    return Quantity.exact


@pytest.fixture
def thermogram():
    """Calibrate a picture: view, conditions and settings as keyword dictionaries."""

    def make(picture, view=None, conditions=None, settings=None, camera=None, regions=()):
        context = Context(
            conditions=Conditions(**(conditions or {})),
            camera=Camera(**(camera or {})),
            view=View(thermogram="one", **(view or {})),
            regions=tuple(regions),
        )
        return calibrate(picture, RadianceSettings(**(settings or {})), context)

    return make


@pytest.fixture
def surveyed(tmp_path):
    """What the calibrate step makes of a picture, with every fact and setting read from a manifest's text."""
    from heatbrief.calibrate.radiance import STEP
    from heatbrief.engine.context import thermogram_context
    from heatbrief.manifest.load import load_manifest
    from heatbrief.registry import load_registry

    def make(picture, text: str, head: str = ""):
        path = tmp_path / "survey.yaml"
        path.write_text(
            f"format: 1\nproperty: {{name: A house}}\n{head}\nthermograms:\n  - file: one.tiff\n{text}\n", "utf-8"
        )
        manifest = load_manifest(path, load_registry())
        stages = manifest.stages.calibrate
        settings = stages[0].settings if stages else RadianceSettings()
        context = thermogram_context(manifest, manifest.thermograms[0])
        return STEP.run(picture, settings, context.only(STEP.reads)), context

    return make
