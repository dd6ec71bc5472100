"""Tests of the detection core on synthetic pictures with known truth: tilt, patches, blur, lens shading, noise."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.detect import Area
from heatbrief.model import Conditions, ErrorSource, PixelScale, Quantity, Region, Thermogram
from heatbrief.model.finding import Outline
from scipy.ndimage import gaussian_filter

NOISE = 0.05


def thermogram(values, noise=NOISE, name="north-wall", **changes):
    """A picture in kelvin with independent noise and one camera error that all pixels share."""
    errors = (
        ErrorSource("noise", "", noise, "K", (293.15,), (1.0,)),
        ErrorSource("camera accuracy", "camera", 1.0, "K", (293.15,), (1.0,)),
    )
    settings = {"errors": (errors,), "emissivity": (0.95,), "absolute": (True,), **changes}
    return Thermogram(name, np.asarray(values, np.float32), "temperature", **settings)


def scene(
    shape=(120, 160), patches=(), *, seed=0, noise=NOISE, blur=0.5, tilt=1.0, vignetting=0.0, power=1, level=293.15
):
    """(values, truths): patches are (x0, y0, x1, y1, kelvin), upper ends excluded; truths are their masks."""
    height, width = shape
    y, x = np.mgrid[:height, :width]
    values = level + tilt * x / width - tilt * y / height
    radius = ((x - width / 2) ** 2 + (y - height / 2) ** 2) / (width**2 / 4 + height**2 / 4)
    truths = []
    for x0, y0, x1, y1, kelvin in patches:
        truth = np.zeros(shape, bool)
        truth[y0:y1, x0:x1] = True
        truths.append(truth)
        values = values + kelvin * (gaussian_filter(truth.astype(float), blur) if blur else truth)
    values = values - vignetting * radius**power
    return values + np.random.default_rng(seed).normal(0, noise, shape), truths


def picture(*arguments, **settings):
    """A thermogram of a scene."""
    noise = settings.get("noise", NOISE)
    return thermogram(scene(*arguments, **settings)[0], noise)


def area(box=(60, 40, 90, 70), contrast=1.0, **changes):
    """An area as a search would give it: a box (upper ends excluded) of a contrast [K], other numbers as given."""
    x0, y0, x1, y1 = box
    given = Quantity.exact(contrast, "K") if isinstance(contrast, (int, float)) else contrast
    settings = {
        "sign": "warm" if given.value > 0 else "cold",
        "outline": Outline(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), (x1 - x0) * (y1 - y0)),
        "centre": ((x0 + x1 - 1) / 2, (y0 + y1 - 1) / 2),
        "peak": given,
        "contrast_to_noise": abs(given.value) / NOISE,
        "edge_width": 2.0,
        "elongation": 1.0,
        "fill": 1.0,
        "width": float(min(x1 - x0, y1 - y0)),
        "edge_distance": 20.0,
        "touches_edge": False,
        "mean": None,
        "surroundings": None,
        "area": None,
        **changes,
    }
    bits = np.ones((y1 - y0, x1 - x0), bool)
    return Area("north-wall", 1, (x0, y0), bits, contrast=given, pixels=int(bits.sum()), **settings)


def context(*regions, view=None, facts=None, **conditions):
    """A context with conditions given as plain numbers in their own units."""
    units = {
        "inside_air": "degC",
        "outside_air": "degC",
        "humidity": "1",
        "outside_humidity": "1",
        "wind": "m/s",
        "hours_without_sun": "h",
        "hours_without_rain": "h",
        "hours_steady": "h",
        "pressure_difference": "Pa",
    }
    given = {name: Quantity.exact(value, units[name]) if name in units else value for name, value in conditions.items()}
    return Context(conditions=Conditions(**given), regions=regions, view=view or View(), facts=facts or {})


@pytest.fixture(scope="session")
def make():
    """Builders of synthetic input."""
    return SimpleNamespace(
        thermogram=thermogram,
        scene=scene,
        picture=picture,
        area=area,
        context=context,
        noise=NOISE,
        Region=Region,
        PixelScale=PixelScale,
        View=View,
        exact=Quantity.exact,
    )
