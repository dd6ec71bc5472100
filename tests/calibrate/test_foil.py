"""The reflected temperature read on crumpled foil, whatever stands before it; checked with the exact band integral."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.api import StepError
from heatbrief.calibrate.statistics import budget
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.physics.measurement import Settings, Window, apparent_temperature, object_temperature
from heatbrief.physics.planck import IdealBand

ZERO = 273.15
BAND = IdealBand(8.0, 14.0)
FOIL = Region("foil", "one", "box", ((2, 2), (6, 6)))
WALL_C, MIRRORED_C, AIR_C, EMISSIVITY = 40.0, 5.0, 25.0, 0.8


def scene(path: float = 1.0, window: Window | None = None, applied: Settings | None = None) -> np.ndarray:
    """What the camera reports [degC] of a wall with foil on it, through air and window, by its own settings."""
    kelvin = np.full((20, 20), float(seen(WALL_C, EMISSIVITY, path, window)))
    kelvin[2:6, 2:6] = seen(MIRRORED_C, 1.0, path, window)
    return (kelvin if applied is None else object_temperature(BAND, kelvin, applied)) - ZERO


def seen(celsius: float, emissivity: float, path: float, window: Window | None):
    truth = Settings(emissivity, MIRRORED_C + ZERO, path, AIR_C + ZERO, window)
    return apparent_temperature(BAND, celsius + ZERO, truth)


def facts(**view) -> dict:
    return {
        "view": {"emissivity": Quantity.exact(EMISSIVITY, "1"), **view},
        "conditions": {"inside_air": Quantity.exact(AIR_C, "degC")},
        "camera": {"band": (8.0, 14.0)},
        "regions": [FOIL],
    }


WINDOW = Window(0.85, 0.10, 30.0 + ZERO, MIRRORED_C + ZERO)
THROUGH = {
    "window_transmittance": Quantity.exact(0.85, "1"),
    "window_reflectance": Quantity.exact(0.10, "1"),
    "window_temperature": Quantity.exact(30.0, "degC"),
}
CASES = {
    "nothing before it": ({}, {}, {}),
    "air": ({"path": 0.9}, {}, {"transmittance": Quantity.exact(0.9, "1")}),
    "window": ({"window": WINDOW}, {}, THROUGH),
    "air and window": ({"path": 0.9, "window": WINDOW}, {}, {**THROUGH, "transmittance": Quantity.exact(0.9, "1")}),
    "camera set to 0.95 and 20 degC": (
        {"applied": Settings(0.95, 20.0 + ZERO)},
        {"applied": {"emissivity": 0.95, "reflected": 20.0}},
        {},
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_foil_tells_what_is_mirrored(thermogram, degrees, case):
    made, view, settings = CASES[case]
    found = thermogram(degrees(scene(**made)), settings={"reflected": "region foil", **settings}, **facts(**view))
    assert found.facts["settings"]["reflected"].value == pytest.approx(MIRRORED_C, abs=0.01)
    np.testing.assert_allclose(found.values[10:] - ZERO, WALL_C, atol=0.01)
    assert any("reflected temperature 5.0 degC, as read on the region 'foil'" in one for one in found.facts["notes"])


def test_foil_that_no_reflection_explains_is_said(thermogram, degrees):
    values = np.full((20, 20), 40.0)
    values[2:6, 2:6] = -90.0
    hot = THROUGH | {
        "window_transmittance": Quantity.exact(0.3, "1"),
        "window_temperature": Quantity.exact(90, "degC"),
    }
    with pytest.raises(StepError) as caught:
        thermogram(degrees(values), settings={"reflected": "region foil", **hot}, **facts())
    assert caught.value.code == "no-solution" and "foil" in caught.value.message


def test_pictures_from_inside_do_not_take_the_sky(thermogram, degrees):
    weather = {"inside_air": Quantity.exact(21, "degC"), "outside_air": Quantity.exact(0, "degC"), "sky": "clear"}
    inside, outside = (
        thermogram(degrees(18.0), view={"shows": shows}, conditions=weather, settings={"reflected": "sky", **EMITS})
        for shows in ("wall, from inside", "wall, from outside")
    )
    assert inside.facts["settings"]["reflected"].value == pytest.approx(21.0)
    assert outside.facts["settings"]["reflected"].value < -20.0


EMITS = {"emissivity": Quantity.exact(0.9, "1")}


def test_temperatures_of_a_file_are_said_to_be_taken_as_seen(thermogram, degrees):
    said = "taken as seen with an emissivity of 1"
    plain = thermogram(degrees(18.0), settings=EMITS).facts["notes"]
    undone = thermogram(degrees(18.0), view={"applied": {"emissivity": 0.95}}, settings=EMITS).facts["notes"]
    kept = thermogram(degrees(18.0)).facts["notes"]
    assert [any(said in note for note in notes) for notes in (plain, undone, kept)] == [True, False, False]


def test_lines_of_a_budget_that_share_a_name_say_whose_they_are(thermogram, degrees):
    spot = Region("pot", "one", "box", ((2, 2), (6, 6)), emissivity=Quantity.normal(0.7, "1", 0.02))
    found = thermogram(degrees(40.0), view={"material": "brick"}, regions=[spot], settings={"reflected": "20 degC"})
    names = [line.name for line in budget(found)]
    assert {"emissivity (pot)", "noise"} <= set(names) and len(set(names)) == len(names)
    assert "emissivity (red brick)" in names
    assert "emissivity" in {line.name for line in budget(found, spot.mask(*found.shape))}
