"""Any facts a manifest can hold give temperatures with finite bounds or a StepError, and nothing else."""

from __future__ import annotations

import numpy as np
from heatbrief.api import Camera, Context, StepError, View
from heatbrief.calibrate.radiance import calibrate
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.calibrate.statistics import budget, statistics
from heatbrief.model.conditions import Conditions
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Picture
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st


def quantities(low: float, high: float, unit: str):
    """None, an exact value, or one with bounds, within the limits of the manifest."""
    value = st.floats(low, high)
    exact = value.map(lambda number: Quantity.exact(number, unit))
    bounded = st.tuples(value, st.floats(0, 0.3)).map(lambda two: Quantity.normal(two[0], unit, two[1] * abs(two[0])))
    return st.none() | exact | bounded


VIEWS = st.builds(
    View,
    thermogram=st.just("one"),
    emissivity=quantities(0.01, 1.0, "1"),
    reflected=quantities(-120, 500, "degC"),
    distance=quantities(0.01, 5000, "m"),
    tilt=quantities(0, 85, "deg"),
    material=st.sampled_from(["", "painted plaster", "brick"]),
    applied=st.fixed_dictionaries(
        {},
        optional={
            "emissivity": st.floats(0.01, 1),
            "reflected": st.floats(-120, 500),
            "transmittance": st.floats(0.05, 1),
        },
    ),
)
CONDITIONS = st.builds(
    Conditions,
    inside_air=quantities(-60, 80, "degC"),
    outside_air=quantities(-70, 70, "degC"),
    humidity=quantities(0, 1, "1"),
    outside_humidity=quantities(0, 1, "1"),
    sky=st.sampled_from([None, "clear", "overcast"]),
)
CAMERAS = st.builds(
    Camera,
    field_of_view=st.none() | st.tuples(st.floats(0.1, 170), st.floats(0.1, 170)),
    noise=st.none() | st.floats(0, 5),
    accuracy=st.none() | st.floats(0, 50),
    accuracy_percent=st.none() | st.floats(0, 0.2),
    band=st.sampled_from([None, (7.5, 14.0), (3.0, 5.0)]),
)
SETTINGS = st.builds(
    RadianceSettings,
    reflected=st.sampled_from(["", "sky", "region spot", "region none", "-30 degC", "warm", "70 degF +- 2 K"]),
    window_transmittance=quantities(0.05, 1, "1"),
    window_reflectance=quantities(0, 0.9, "1"),
    size_of_source=quantities(0, 0.2, "1"),
)
COUNTS = np.random.default_rng(3).integers(0, 65536, (9, 11)).astype(np.uint16)
PICTURES = st.sampled_from(
    [
        Picture(COUNTS, False, (0.01, 0.0), 0.0, 65535.0),
        Picture(COUNTS.astype(np.int16), False, (0.02, 300.0)),
        Picture(np.where(COUNTS > 60000, np.nan, COUNTS / 200.0), True),
        Picture(COUNTS, False),
        Picture(np.full((1, 1), 300.0), True),
    ]
)
SPOT = Region("spot", "one", "box", ((2, 2), (5, 5)), emissivity=Quantity.exact(0.3, "1"))


@settings(max_examples=250, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(PICTURES, VIEWS, CONDITIONS, CAMERAS, SETTINGS, st.booleans())
def test_only_temperatures_or_reasons(picture, view, conditions, camera, chosen, spot):
    context = Context(conditions=conditions, camera=camera, view=view, regions=(SPOT,) if spot else ())
    try:
        thermogram = calibrate(picture, chosen, context)
    except StepError as error:
        assert error.code and error.message
        return
    assert not np.isinf(thermogram.values).any() and thermogram.valid.any()
    assert np.all(thermogram.values[thermogram.valid] >= 0)
    unit = "degC" if thermogram.scale == "temperature" else "count"
    assert all(one.unit == unit for one in statistics(thermogram).values())
    assert all(np.isfinite(line.effect) for line in budget(thermogram))
