"""Shared by the tests of the calibrate step."""

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
