"""Size of a pixel from distance and field of view, tilt, or as stated."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.model.quantity import Quantity
from heatbrief.model.thermogram import Picture


def scale(thermogram, shape, view, field=None):
    return thermogram(Picture(np.full(shape, 300.0), True), view=view, camera={"field_of_view": field}).pixel


@pytest.mark.parametrize(
    ("field", "size", "distance", "width_mm", "height_mm", "area_mm2"),
    [
        ((25, 19), (320, 240), 1, 1.3856, 1.3945, 1.9322),
        ((45, 34), (320, 240), 3, 7.7665, 7.6433, 59.3615),
        ((24, 18), (640, 480), 10, 6.6424, 6.5994, 43.8355),
    ],
)
def test_published_fields_of_view(thermogram, field, size, distance, width_mm, height_mm, area_mm2):
    """Pixel sizes [computed], relative 1e-4."""
    found = scale(thermogram, size[::-1], {"distance": Quantity.exact(distance, "m")}, field)
    assert (found.width, found.height, found.area) == pytest.approx(
        (width_mm / 1e3, height_mm / 1e3, area_mm2 / 1e6), rel=1e-4
    )
    upright = scale(thermogram, size, {"distance": Quantity.exact(distance, "m")}, field)
    assert upright.width == pytest.approx(height_mm / 1e3, rel=1e-4)


@pytest.mark.parametrize(("tilt", "factor"), [(15, 1.03528), (45, 1.41421), (60, 2.0), (75, 3.86370)])
def test_tilt_makes_the_area_larger(thermogram, tilt, factor):
    """1/cos of the tilt [computed]; the uncertainty grows with it."""
    facing = scale(
        thermogram, (240, 320), {"distance": Quantity.exact(2, "m"), "tilt": Quantity.exact(0, "deg")}, (45, 34)
    )
    tilted = scale(
        thermogram, (240, 320), {"distance": Quantity.exact(2, "m"), "tilt": Quantity.exact(tilt, "deg")}, (45, 34)
    )
    assert tilted.area / facing.area == pytest.approx(factor, rel=1e-4) and tilted.relative > facing.relative


def test_a_stated_pixel_size_wins(thermogram):
    found = scale(
        thermogram,
        (10, 10),
        {"distance": Quantity.exact(2, "m"), "pixel_size": Quantity.normal(0.006, "m", 0.0003)},
        (45, 34),
    )
    assert (found.width, found.relative, found.method) == (0.006, pytest.approx(0.05), "pixel size given")
    assert scale(thermogram, (10, 10), {"distance": Quantity.exact(2, "m")}) is None
