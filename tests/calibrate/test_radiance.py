"""The measurement equation through the whole step, against values computed outside the project, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.api import StepError
from heatbrief.calibrate.radiance import STEP
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Picture
from heatbrief.physics.measurement import Settings, Window, apparent_temperature
from heatbrief.physics.planck import IdealBand

ZERO = 273.15
BAND = IdealBand(8.0, 14.0)
# Forward and inverse examples E1..E8, 8-14 um column [computed: independent numerical integration of Planck's law].
# id, T_o, eps, T_r, tau, T_a, T_app, all temperatures in degC.
EXAMPLES = [
    ("E1", 60, 0.95, 20, 1.0, 20, 58.2716),
    ("E2", 60, 0.95, 20, 0.98, 20, 57.6091),
    ("E3", 60, 0.80, 20, 0.98, 20, 52.3733),
    ("E4", 60, 0.30, 20, 0.98, 20, 33.2085),
    ("E5", 20, 0.95, -20, 0.98, 10, 18.2009),
    ("E6", 5, 0.90, -40, 0.95, 0, 1.4103),
    ("E7", 100, 0.60, 25, 0.97, 25, 73.1095),
    ("E8", 35, 0.98, 22, 0.99, 22, 34.6334),
]


def facts_of(eps, reflected, tau, air):
    return {
        "view": {"emissivity": Quantity.exact(eps, "1"), "reflected": Quantity.exact(reflected, "degC")},
        "conditions": {"inside_air": Quantity.exact(air, "degC")},
        "settings": {"transmittance": Quantity.exact(tau, "1"), "least_emissivity": 0.2},
    }


@pytest.mark.parametrize(
    ("name", "t_o", "eps", "t_r", "tau", "t_a", "t_app"), EXAMPLES, ids=[row[0] for row in EXAMPLES]
)
def test_published_examples(thermogram, degrees, name, t_o, eps, t_r, tau, t_a, t_app):
    """0.003 K: four printed decimals, the fit's error below 0.001 K, both times up to 3 for emissivity 0.3."""
    found = thermogram(degrees(t_app), **facts_of(eps, t_r, tau, t_a))
    np.testing.assert_allclose(found.values - ZERO, t_o, atol=0.003)
    assert found.scale == "temperature" and found.values.dtype == np.float32


@pytest.mark.parametrize(
    ("name", "t_o", "eps", "t_r", "tau", "t_a", "t_app"), EXAMPLES, ids=[row[0] for row in EXAMPLES]
)
def test_published_examples_as_counts(thermogram, name, t_o, eps, t_r, tau, t_a, t_app):
    """Counts of 1 mK from -100 degC: half a step more than above, times the slope."""
    count = round((t_app + 100) / 0.001)
    picture = Picture(
        np.full((6, 8), count % 65536, np.uint16),
        False,
        (0.001, 173.15 + 0.001 * (count - count % 65536)),
        0.0,
        65535.0,
    )
    np.testing.assert_allclose(thermogram(picture, **facts_of(eps, t_r, tau, t_a)).values - ZERO, t_o, atol=0.006)


def test_counts_and_kelvin_give_the_same(thermogram):
    counts = np.random.default_rng(4).integers(29000, 36000, (40, 50)).astype(np.uint16)
    facts = facts_of(0.9, 22, 0.97, 25)
    facts["settings"]["bad_pixels"] = False
    table = thermogram(Picture(counts, False, (0.01, 0.0)), **facts)
    direct = thermogram(Picture(counts * 0.01, True), **facts)
    np.testing.assert_allclose(table.values, direct.values, atol=1e-4)


def test_signed_counts_and_inverted_scales(thermogram):
    counts = np.arange(-300, 300, dtype=np.int16).reshape(20, 30)
    rising = thermogram(Picture(counts, False, (0.05, 300.0)), **facts_of(0.95, 20, 1.0, 20))
    falling = thermogram(Picture(-counts, False, (-0.05, 300.0)), **facts_of(0.95, 20, 1.0, 20))
    np.testing.assert_allclose(rising.values, falling.values, atol=1e-4)


def test_window_example(thermogram, degrees):
    """T_o 70, eps 0.92, T_r = T_rw 22, tau 0.98, T_a 22, window 0.85/0.10 at 25 degC reads 60.3564 [computed]."""
    facts = facts_of(0.92, 22, 0.98, 22)
    facts["settings"] |= {
        "window_transmittance": Quantity.exact(0.85, "1"),
        "window_reflectance": Quantity.exact(0.10, "1"),
        "window_temperature": Quantity.exact(25, "degC"),
    }
    found = thermogram(degrees(60.3564), **facts)
    np.testing.assert_allclose(found.values - ZERO, 70.0, atol=0.003)
    assert {"window transmittance", "window temperature"} <= {source.name for source in found.errors[0]}
    without = thermogram(degrees(60.3564), **facts_of(0.92, 22, 0.98, 22))
    np.testing.assert_allclose(without.values - ZERO, 63.933, atol=0.003)


def test_what_the_camera_applied_is_undone_first(thermogram, degrees):
    """Emissivity 0.95 set for a true 0.80 errs by -4.27 K at 50 degC among 20 degC surroundings [computed]."""
    facts = facts_of(0.80, 20, 1.0, 20)
    facts["view"]["applied"] = {"emissivity": 0.95, "reflected": 20.0}
    found = thermogram(degrees(50 - 4.27), **facts)
    np.testing.assert_allclose(found.values - ZERO, 50.0, atol=0.012)


def test_applied_settings_without_better_ones_are_kept(thermogram, degrees):
    found = thermogram(
        degrees(45.0),
        view={"applied": {"emissivity": 0.93, "reflected": 21.0}, "reflected": Quantity.exact(21, "degC")},
    )
    np.testing.assert_allclose(found.values - ZERO, 45.0, atol=1e-4)
    assert found.emissivity == (0.93,)


def test_temperatures_as_given_are_not_touched(thermogram):
    values = np.random.default_rng(2).normal(300, 5, (30, 30))
    found = thermogram(
        Picture(values, True),
        conditions={"inside_air": Quantity.exact(21, "degC")},
        view={"distance": Quantity.exact(3, "m")},
    )
    np.testing.assert_array_equal(found.values, values)
    assert found.emissivity == (1.0,) and {source.name for source in found.errors[0]} == {"noise", "camera accuracy"}


def test_no_solution_is_masked_and_counted_never_clipped(thermogram):
    """T_o 25, eps 0.1, T_r 20 read with T_r set to 30 has no solution [computed]."""
    app = apparent_temperature(BAND, 25 + ZERO, Settings(0.1, 20 + ZERO))
    values = np.full((10, 10), 400.0)
    values[:3] = float(app)
    found = thermogram(Picture(values, True), **facts_of(0.1, 30, 1.0, 20))
    assert np.isnan(found.values[:3]).all() and np.isfinite(found.values[3:]).all() and found.facts["no_solution"] == 30
    with pytest.raises(StepError) as caught:
        thermogram(Picture(np.full((4, 4), float(app)), True), **facts_of(0.1, 30, 1.0, 20))
    assert caught.value.code == "no-solution"


def test_regions_paint_their_materials(thermogram, degrees):
    facts = facts_of(0.95, 20, 1.0, 20)
    regions = [
        Region("bar", "one", "box", ((2, 2), (6, 6)), emissivity=Quantity.exact(0.10, "1")),
        Region("tape", "one", "box", ((3, 3), (5, 5)), material="electrical tape"),
        Region("plain", "one", "box", ((9, 9), (11, 11))),
    ]
    facts["settings"].pop("least_emissivity")
    found = thermogram(degrees(40.0), regions=regions, **facts)
    assert len(found.errors) == len(found.emissivity) == len(found.absolute) == 3
    assert found.zones is not None and found.zones.dtype == np.uint8
    assert (found.zones[2, 2], found.zones[4, 4], found.zones[10, 10]) == (1, 2, 0)
    assert found.absolute == (True, False, True)
    assert found.values[2, 2] > found.values[4, 4] >= found.values[0, 0] - 1.0
    ids = {source.shared for zone in found.errors for source in zone if source.name == "emissivity"}
    assert len(ids) == 3


def test_foil_in_the_picture_gives_the_reflected_temperature(thermogram, degrees):
    values = np.full((20, 20), 50.0)
    values[2:6, 2:6] = 18.0
    foil = Region("foil", "one", "box", ((2, 2), (6, 6)))
    facts = {
        "view": {"emissivity": Quantity.exact(0.8, "1")},
        "conditions": {"inside_air": Quantity.exact(25, "degC")},
        "regions": [foil],
    }
    found = thermogram(degrees(values), settings={"reflected": "region foil"}, **facts)
    assert found.facts["settings"]["reflected"].value == pytest.approx(18.0)
    expected = thermogram(degrees(values), settings={"reflected": "18 degC"}, **facts)
    np.testing.assert_allclose(found.values, expected.values, atol=1e-4)
    for wrong, code in (
        ("region mirror", "unknown-region"),
        ("warm", "reflected-setting"),
        ("18", "reflected-setting"),
        ("sky", "conditions-missing"),
    ):
        with pytest.raises(StepError) as caught:
            thermogram(degrees(values), settings={"reflected": wrong}, **facts)
        assert caught.value.code == code


def test_a_modelled_sky_is_colder_than_the_air_and_clouds_warm_it(thermogram, degrees):
    def reflected(sky):
        conditions = {
            "outside_air": Quantity.exact(15, "degC"),
            "outside_humidity": Quantity.exact(0.5, "1"),
            "sky": sky,
        }
        found = thermogram(
            degrees(10.0),
            view={"emissivity": Quantity.exact(0.9, "1"), "shows": "roof"},
            conditions=conditions,
            settings={"reflected": "sky"},
        )
        return found.facts["settings"]["reflected"].value

    assert reflected("clear") < reflected("partly cloudy") < reflected("overcast") < 15.0
    assert reflected("clear") < -15.0


@pytest.mark.parametrize(
    ("shows", "room", "expected"),
    [
        ("ceiling", "bedroom", 21.0),
        ("north facade", "", -3.0),
        ("roof from inside", "", 21.0),
        ("wall from outside", "hall", -3.0),
        ("wall", "", 21.0),
    ],
)
def test_the_assumed_reflected_temperature_is_that_of_the_right_air(thermogram, degrees, shows, room, expected):
    conditions = {"inside_air": Quantity.exact(21, "degC"), "outside_air": Quantity.exact(-3, "degC")}
    found = thermogram(
        degrees(15.0), view={"shows": shows, "room": room, "material": "painted plaster"}, conditions=conditions
    )
    used = found.facts["settings"]["reflected"]
    assert (
        used.value == pytest.approx(expected)
        and used.half_width > 3.0
        and any("assumed" in note for note in found.facts["notes"])
    )


def test_distance_brings_in_the_air(thermogram, degrees):
    facts = {"conditions": {"inside_air": Quantity.exact(20, "degC"), "humidity": Quantity.exact(0.5, "1")}}
    near = thermogram(
        degrees(60.0), view={"emissivity": Quantity.exact(0.95, "1"), "distance": Quantity.exact(1, "m")}, **facts
    )
    far = thermogram(
        degrees(60.0), view={"emissivity": Quantity.exact(0.95, "1"), "distance": Quantity.exact(50, "m")}, **facts
    )
    off = thermogram(
        degrees(60.0),
        view={"emissivity": Quantity.exact(0.95, "1"), "distance": Quantity.exact(50, "m")},
        settings={"atmosphere": False},
        **facts,
    )
    assert off.values[0, 0] < near.values[0, 0] < far.values[0, 0]
    assert "atmospheric transmittance" in {source.name for source in far.errors[0]}


def test_unscaled_pictures_get_no_temperature(thermogram):
    counts = np.random.default_rng(2).integers(5000, 6000, (20, 30)).astype(np.uint16)
    found = thermogram(Picture(counts, False), view={"material": "brick"})
    assert (found.scale, found.errors, found.values.dtype) == ("unscaled", (), np.float32)


@pytest.mark.parametrize(
    ("view", "code"),
    [
        ({"material": "unobtainium"}, "unknown-material"),
        ({"emissivity": Quantity.exact(1.2, "1")}, "emissivity"),
        ({"material": "painted plaster", "distance": Quantity.exact(-3, "m")}, "calibration-input"),
    ],
)
def test_wrong_facts(thermogram, degrees, view, code):
    with pytest.raises(StepError) as caught:
        thermogram(degrees(20.0), view=view)
    assert caught.value.code == code and caught.value.remedy


@pytest.mark.parametrize("scale", [(0.0, 300.0), (float("nan"), 0.0), (-1.0, 0.0), (1e9, 1.0)])
def test_impossible_scales(thermogram, scale):
    with pytest.raises(StepError):
        thermogram(Picture(np.full((4, 4), 100, np.uint16), False, scale))


@pytest.mark.parametrize("band", [(14.0, 8.0), (0.5, 0.6), (3.0, 5.0), (7.5, 13.0)])
def test_any_band_gives_temperatures_or_a_reason(thermogram, degrees, band):
    try:
        found = thermogram(
            degrees(40.0),
            view={"emissivity": Quantity.exact(0.9, "1"), "reflected": Quantity.exact(20, "degC")},
            camera={"band": band},
        )
    except StepError as error:
        assert band[0] in (14.0, 0.5) and error.remedy
    else:
        truth = apparent_temperature(IdealBand(*band), found.values[0, 0].astype(float), Settings(0.9, 293.15))
        assert truth - ZERO == pytest.approx(40.0, abs=0.01)


def test_the_step_is_offered_completely():
    assert (STEP.name, STEP.stage) == ("heatbrief.radiance", "calibrate") and "regions" in STEP.reads


def test_window_in_the_equation_agrees_with_the_reference_form():
    """The example of the window test, forwards [computed: 60.3564]."""
    window = Window(0.85, 0.10, 25 + ZERO, 22 + ZERO)
    app = apparent_temperature(BAND, 70 + ZERO, Settings(0.92, 22 + ZERO, 0.98, 22 + ZERO, window))
    assert app - ZERO == pytest.approx(60.3564, abs=1e-3)
