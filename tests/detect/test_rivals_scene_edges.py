"""Rivals of weather, material and people at their limits, and which statement wins over which."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from heatbrief.detect import Case
from heatbrief.detect import rivals_scene as scene
from heatbrief.model import Quantity, Region

ROOM = {"inside_air": Quantity.exact(20.0, "degC"), "humidity": Quantity.exact(0.5, "1")}
YARD = {"outside_air": Quantity.exact(20.0, "degC"), "outside_humidity": Quantity.exact(0.5, "1")}


@pytest.fixture
def about(make):
    """about(area, shows=..., facts=..., **conditions as quantities) -> a case without any search."""

    def case(area=None, *regions, region=None, shows="", material="", facts=None, zones=None, **conditions):
        context = make.context(*regions, view=make.View(shows=shows, material=material), facts=facts)
        for name, value in conditions.items():
            object.__setattr__(context.conditions, name, value)
        subject = make.thermogram(np.full((120, 160), 293.15), zones=zones)
        return Case("test.rivals", "test", subject, context, region, area)

    return case


def hours(low, high=None):
    return Quantity.between(low, high or low, "h")


@pytest.mark.parametrize(
    ("surface", "low", "status"),
    [
        ("plaster", 3.0, "ruled out"),
        ("plaster", 2.9, "not ruled out"),
        *((heavy, 8.0, "ruled out") for heavy in ("brick", "concrete wall", "stucco", "roof tiles", "garden soil")),
        *((heavy, 7.9, "not ruled out") for heavy in ("brick", "concrete wall", "stucco", "roof tiles", "garden soil")),
    ],
)
def test_heavy_surfaces_keep_the_sun_for_eight_hours_and_light_ones_for_three(about, surface, low, status):
    """ASTM C1060: 3 h [seen], 8 h for masonry [memory]; by the material or by what the picture shows."""
    for told in ({"material": surface}, {"shows": surface}):
        rival = scene.shade_or_sun(about(**told, hours_without_sun=hours(low, 12.0)))
        assert rival.status == status and f"{8 if 'plaster' not in surface else 3} h are asked" in rival.evidence


@pytest.mark.parametrize(
    ("facts", "status", "words"),
    [
        ({"later picture": "moved", "ordinary photo": "nothing"}, "not ruled out", "had moved in a later picture"),
        ({"later picture": " Faded "}, "not ruled out", "had faded in a later picture"),
        ({"later picture": "grew", "ordinary photo": "Shadow"}, "not ruled out", "photo shows a shadow"),
        ({"later picture": "grew"}, "ruled out", "had grown in place"),
        ({"later picture": "unchanged"}, "not ruled out", "low sun stood on the surfaces"),
    ],
)
def test_what_was_seen_of_a_shadow_wins_over_the_hours(about, facts, status, words):
    rival = scene.shade_or_sun(about(facts=facts, sun="low", hours_without_sun=hours(20.0)))
    assert rival.status == status and words in rival.evidence and not rival.missing


@pytest.mark.parametrize(("fill", "said"), [(0.85, False), (0.86, True), (None, False)])
def test_straight_sides_are_said_of_compact_areas_only(about, make, fill, said):
    """Compact: more than 85 % of its box (this project's choice)."""
    area = None if fill is None else make.area(fill=fill)
    assert ("straight sides" in scene.shade_or_sun(about(area, sun="direct")).evidence) is said


@pytest.mark.parametrize(("sun", "missing"), [("none", "hours without sun"), (None, "sun on the surface")])
def test_what_is_missing_about_the_sun(about, sun, missing):
    rival = scene.shade_or_sun(about(sun=sun))
    assert rival.status == "not testable" and missing in rival.missing


def wet_bulb(air, humidity):
    """ASHRAE Handbook of Fundamentals 2017, chapter 1 [computed by psychrolib]."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    return psychrolib.GetTWetBulbFromRelHum(air, humidity, 101325.0)


@pytest.mark.parametrize(("above", "status"), [(-0.55, "ruled out"), (-0.45, "not ruled out"), (0.5, "not ruled out")])
def test_a_reading_below_the_wet_bulb_is_no_wet_film(about, make, above, status):
    """Below by more than 0.5 K with its bounds (this project's choice), and only where no sky can cool it."""
    high = wet_bulb(20.0, 0.5) + above
    area = make.area(contrast=-1.0, mean=Quantity(high - 0.2, "degC", high - 0.4, high))
    assert scene.wet_film(about(area, **ROOM)).status == status
    assert scene.wet_film(about(area, shows="flat roof", **YARD)).status == "not ruled out"


@pytest.mark.parametrize(("beyond", "status"), [(0.55, "ruled out"), (0.45, "not ruled out")])
def test_a_contrast_beyond_what_drying_takes_is_no_wet_film(about, make, beyond, status):
    reach = 20.0 - wet_bulb(20.0, 0.5)
    contrast = Quantity(-(reach + beyond + 0.3), "K", -(reach + beyond + 1.0), -(reach + beyond))
    rival = scene.wet_film(about(make.area(contrast=contrast), **ROOM))
    assert rival.status == status and f"{reach:.1f} K" in rival.evidence
    if status == "ruled out":
        assert f"is {reach + beyond + 0.3:.1f} K colder" in rival.evidence
    assert scene.wet_film(about(make.area(contrast=contrast), shows="facade", **YARD)).status == "not ruled out"
    counts = make.area(contrast=Quantity(contrast.value, "count", contrast.low, contrast.high))
    assert scene.wet_film(about(counts, **ROOM)).status == "not ruled out"


@pytest.mark.parametrize(
    ("shows", "dry", "status"),
    [
        ("facade", hours(24.0, 30.0), "ruled out"),
        ("facade", hours(23.9, 30.0), "not ruled out"),
        ("facade", None, "not ruled out"),
        ("bedroom wall", hours(48.0), "not ruled out"),  # rain says nothing about a room
    ],
)
def test_a_day_without_rain_dries_what_lies_outside(about, make, shows, dry, status):
    """24 h: practice citing EN 13187 [seen]."""
    rival = scene.wet_film(about(make.area(contrast=-1.0), shows=shows, hours_without_rain=dry, **ROOM, **YARD))
    assert rival.status == status


@pytest.mark.parametrize("missing", ["inside_air", "humidity"])
def test_both_facts_of_the_air_are_needed_and_those_of_the_right_side(about, make, missing):
    area = make.area(contrast=-1.0)
    rival = scene.wet_film(about(area, **{name: value for name, value in ROOM.items() if name != missing}))
    assert rival.status == "not testable" and "relative humidity" in rival.missing
    assert scene.wet_film(about(area, shows="lawn", **ROOM)).status == "not testable"
    assert scene.wet_film(about(area, **YARD)).status == "not testable"


@pytest.mark.parametrize(("stated", "counts"), [(1.4, 1.0), (-0.4, 0.0)])
def test_impossible_humidities_count_as_the_nearest_possible(about, make, stated, counts):
    said = [
        scene.wet_film(about(make.area(contrast=-0.1), **{**ROOM, "humidity": Quantity.exact(value, "1")})).evidence
        for value in (stated, counts)
    ]
    assert said[0] == said[1]


def test_a_case_without_an_area_may_still_be_wet(about):
    assert scene.wet_film(about(**ROOM)).status == "not ruled out"


PATCH = {"shape": "box", "material": "steel"}


@pytest.mark.parametrize(
    ("corners", "status"),
    [
        (((60, 40), (90, 50)), "not ruled out"),  # 300 of 900 pixels: a third
        (((60, 40), (90, 49)), "not testable"),  # 270 of 900: 30 % itself is not alike
        (((60, 40), (90, 130)), "not ruled out"),  # 900 of 2 400, cut off by the picture: 37.5 %
        (((30, 10), (160, 120)), "not testable"),
    ],
)
def test_a_declared_surface_that_is_a_third_alike_may_be_the_pattern(about, make, corners, status):
    """More than 30 % of both together (this project's choice)."""
    rival = scene.material_change(about(make.area(), Region("plate", "north-wall", points=corners, **PATCH)))
    assert rival.status == status and (("stated to be steel" in rival.evidence) is (status == "not ruled out"))


def test_surfaces_that_are_no_change_of_material(about, make):
    """Its own region, the whole picture, one without a material, and one of the material all around."""
    corners = ((60, 40), (90, 70))
    own = Region("plate", "north-wall", points=corners, **PATCH)
    whole = Region("all", "north-wall", material="steel")
    unnamed = Region("plate", "north-wall", "box", corners)
    assert scene.material_change(about(make.area(), own, region=own)).status == "not testable"
    assert scene.material_change(about(make.area((0, 0, 160, 120)), whole)).status == "not testable"
    assert scene.material_change(about(make.area(), unnamed)).status == "not testable"
    assert scene.material_change(about(make.area(), own, material="steel")).status == "not testable"
    assert "100% alike" in scene.material_change(about(make.area(), own)).evidence


def test_regions_beyond_the_picture_are_alike_with_nothing(about):
    for place, status in ((300, "not testable"), (5, "not ruled out")):
        spot, own = (
            Region(name, "north-wall", "point", ((place, place),), material=name) for name in ("steel", "wood")
        )
        rival = scene.material_change(about(None, spot, region=own))
        assert rival.status == status and ("100% alike" in rival.evidence) is (place == 5)


@pytest.mark.parametrize(("columns", "status"), [(100, "not testable"), (75, "not ruled out")])
def test_an_area_across_zones_lies_across_surfaces(about, make, columns, status):
    zones = np.zeros((120, 160), np.uint8)
    zones[:, columns:] = 1
    assert scene.material_change(about(make.area(), zones=zones)).status == status


@pytest.mark.parametrize(
    ("facts", "status", "words"),
    [
        ({"same material": "yes", "ordinary photo": "another finish"}, "ruled out", "to be the same as around it"),
        ({"same material": "no", "ordinary photo": "nothing"}, "not ruled out", "to be not the same as around it"),
        ({"ordinary photo": "another finish"}, "not ruled out", "shows another finish"),
        ({"ordinary photo": "nothing"}, "ruled out", "shows nothing"),
        ({"ordinary photo": "wet"}, "not testable", "shows wet"),
    ],
)
def test_what_is_stated_of_the_material_wins_over_a_photo(about, facts, status, words):
    rival = scene.material_change(about(facts=facts))
    assert rival.status == status and words in rival.evidence and bool(rival.missing) == (status == "not testable")


@pytest.mark.parametrize(("low", "status"), [(4.0, "ruled out"), (3.9, "not ruled out")])
def test_four_hours_of_steady_conditions(about, low, status):
    """ASTM C1060 [memory]: 4 h, with the lower bound of what was given."""
    assert scene.thermal_lag(about(hours_steady=hours(low, 9.0))).status == status
    other = scene.unsteady_indoors(about(hours_steady=hours(low, 9.0))).status
    assert other == ("ruled out" if status == "ruled out" else "not testable")


@pytest.mark.parametrize(
    ("swing", "status"), [(2.0, "ruled out"), (-2.0, "ruled out"), (2.1, "not ruled out"), (-2.1, "not ruled out")]
)
def test_two_kelvin_of_indoor_swing(about, swing, status):
    """EN 13187 [memory]; it wins over steady hours."""
    facts = {"indoor swing": Quantity.exact(swing, "K")}
    rival = scene.unsteady_indoors(about(facts=facts, hours_steady=hours(9.0)))
    assert rival.status == status and f"changed by {abs(swing):g} K; up to 2 K" in rival.evidence


@pytest.mark.parametrize(
    ("touched", "later", "status"),
    [
        (None, "faded", "not ruled out"),
        ("no", "faded", "not ruled out"),
        (None, "grew", "ruled out"),
        (None, "unchanged", "ruled out"),
        ("yes", "grew", "not ruled out"),
        ("no", "moved", "ruled out"),
        (None, "moved", "not testable"),
        (None, None, "not testable"),
        ("yes", None, "not ruled out"),
        ("no", None, "ruled out"),
    ],
)
def test_touches_and_later_pictures(about, touched, later, status):
    facts = {name: value for name, value in (("touched", touched), ("later picture", later)) if value}
    rival = scene.recent_touch(about(facts=facts))
    assert rival.status == status and bool(rival.missing) == (status == "not testable")
    if touched and later != "faded":
        assert ("stated not to have been" in rival.evidence) is (touched == "no")
