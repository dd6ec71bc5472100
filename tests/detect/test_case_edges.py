"""What a case knows of its place, and what of it goes into a finding."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from heatbrief.detect import Case, Criterion, conclude, read_region
from heatbrief.detect.conclude import what_next
from heatbrief.model import Gate, Quantity, Region, Rival

BOX = Region("shelf", "north-wall", "box", ((10, 10), (30, 40)))


@pytest.fixture
def about(make):
    def case(region=None, area=None, reading=None, facts=None, view=None, subject=None, **more):
        given = make.thermogram(np.full((120, 160), 293.15)) if subject is None else subject
        return Case("test.case", "test", given, make.context(view=view, facts=facts), region, area, reading, **more)

    return case


@pytest.mark.parametrize(
    ("fact", "number", "yes"),
    [
        (Quantity.exact(12.0, "A"), 12.0, None),
        (3, 3.0, None),
        (2.5, 2.5, None),
        (True, None, True),
        (False, None, False),
        ("yes", None, True),
        (" Yes ", None, True),
        ("true", None, True),
        ("no", None, False),
        ("False", None, False),
        ("perhaps", None, None),
    ],
)
def test_facts_as_numbers_and_as_yes_or_no(about, fact, number, yes):
    case = about(facts={"fact": fact})
    assert case.number("fact") == number and case.yes("fact") is yes
    assert case.number("another") is None and case.yes("another") is None


def test_the_place_is_the_area_else_the_region_else_the_picture(about, make):
    area = make.area((60, 40, 90, 70))
    assert about(BOX, area).mask.sum() == 900 and about(BOX).mask.sum() == 600 and about().mask.all()
    assert about(BOX, area).mask[50, 70] and about(BOX).mask[20, 20] and not about(BOX).mask[50, 70]


@pytest.mark.parametrize(("contrast", "warm"), [(2.0, True), (-2.0, False), (None, None)])
def test_warm_cold_or_neither(about, make, contrast, warm):
    case = about(area=None if contrast is None else make.area(contrast=contrast))
    assert case.warm is warm and (case.contrast is None) is (contrast is None)


def test_emissivity_of_region_then_zone_then_picture(about, make):
    exact = make.exact
    told = make.View(emissivity=exact(0.7, "1"))
    zones = np.zeros((120, 160), np.uint8)
    zones[:, 80:] = 1
    two = make.thermogram(np.full((120, 160), 293.15), emissivity=(0.95, 0.4), zones=zones, errors=(), absolute=())
    bare = make.thermogram(np.full((120, 160), 293.15), emissivity=())
    assert about(replace(BOX, emissivity=exact(0.3, "1")), view=told, subject=two).emissivity == 0.3
    assert about(BOX, view=told, subject=two).emissivity == 0.95
    assert about(area=make.area((90, 10, 120, 40)), view=told, subject=two).emissivity == 0.4
    assert about(view=told, subject=bare).emissivity == 0.7 and about(subject=bare).emissivity is None
    assert about(view=told, subject=replace(two, emissivity=(0.95,)), area=make.area((90, 10, 120, 40))).emissivity == (
        0.7
    )


def test_material_of_region_then_picture(about, make):
    told = make.View(material="plaster")
    assert about(replace(BOX, material="tile"), view=told).material == "tile"
    assert about(BOX, view=told).material == about(view=told).material == "plaster"
    assert about(BOX).material == ""
    assert about().conditions.wind is None


@pytest.mark.parametrize(
    ("region", "tag", "area", "name"),
    [
        (None, "", False, "test-case-north-wall"),
        (BOX, "", False, "test-case-north-wall-shelf"),
        (replace(BOX, name="whole picture"), "", False, "test-case-north-wall"),
        (replace(BOX, name=""), "low", False, "test-case-north-wall-low"),
        (BOX, "low", True, "test-case-north-wall-shelf-low-1"),
    ],
)
def test_identifiers(about, make, region, tag, area, name):
    assert about(region, make.area() if area else None, tag=tag).id == name


FAILED, OPEN = (Gate("wind", passed, "asked and given", remedy="wait for calm") for passed in (False, None))
MET = Gate("wind", True, "asked and given", remedy="never said")
BARE = Gate("rain", None, "asked and given")


def test_what_to_do_next_time():
    """Remedies of what did not pass, then what a rival lacks, then what is left; nothing twice."""
    rivals = (
        Rival("a ghost", "not testable", "dark", "a lamp"),
        Rival("a draught", "ruled out", "calm", "never said"),
        Rival("a shoal", "not ruled out", "deep", "never said"),
        Rival("a mirage", "not testable", "hot"),
    )
    said = what_next((FAILED, MET, OPEN, BARE), rivals, ("wait for calm", "sweep"))
    assert said == ("wait for calm", "Worth having: a lamp.", "sweep")


def found(case, verdict_of=2.0, **more):
    contrast = Quantity.exact(verdict_of, "K")
    return conclude(case, title="t", summary="s", criterion=Criterion(1.0), contrast=contrast, **more)


def test_gates_bring_their_sources_once_and_in_order(about):
    gates = (replace(MET, source="b"), replace(MET, source=""), replace(MET, source="a"))
    case = about()
    finding = conclude(
        case,
        title="t",
        summary="s",
        criterion=Criterion(1.0, sources=("own", "a")),
        contrast=Quantity.exact(2.0, "K"),
        gates=gates,
        sources=("first",),
    )
    assert finding.sources == ("first", "own", "a", "b")


@pytest.mark.parametrize(("contrast", "actions"), [(0.5, ()), (2.0, ("test.look",))])
def test_normal_findings_ask_for_nothing(about, contrast, actions):
    finding = found(about(), contrast, actions=("test.look",))
    assert finding.actions == actions and (finding.verdict == "normal") is (not actions)


def test_the_room_of_the_region_wins_over_that_of_the_picture(about, make):
    told = make.View(room="hall")
    assert found(about(replace(BOX, room="attic"), view=told)).room == "attic"
    assert found(about(BOX, view=told)).room == found(about(view=told)).room == "hall"
    assert found(about(BOX)).region == "shelf" and found(about()).region == ""


def test_outlines_are_those_of_the_area_else_of_a_drawn_region(about, make):
    area = make.area()
    assert found(about(BOX, area)).outline == area.outline
    drawn = found(about(BOX)).outline
    assert drawn.pixels == 600 and set(drawn.polygon) == {(9.5, 9.5), (29.5, 9.5), (29.5, 39.5), (9.5, 39.5)}
    assert found(about()).outline is None and found(about(Region("all", "north-wall"))).outline is None
    beyond = replace(BOX, points=((300, 300), (310, 310)))
    assert found(about(beyond)).outline is None


DEGREES = Quantity.exact(20.0, "degC")
OWN = {"skin": DEGREES, "drop": Quantity.exact(3.0, "K"), "level": Quantity.exact(9.0, "count")}
SIZE = {"length": Quantity.exact(2.0, "m")}


def test_an_area_is_measured_and_own_numbers_win(about, make):
    area = make.area(contrast=-2.0, mean=DEGREES, surroundings=DEGREES, contrast_to_noise=-40.004, area=SIZE["length"])
    case = about(area=area, reading=read_region(make.thermogram(np.full((20, 20), 300.0)), np.ones((20, 20), bool)))
    measured = conclude(case, title="t", summary="s", criterion=Criterion(1.0), measured={"area": DEGREES}).measured
    assert list(measured) == [
        "contrast",
        "peak contrast",
        "contrast to noise",
        "area",
        "mean temperature",
        "surrounding temperature",
    ]
    assert measured["contrast"].value == -2.0 and measured["contrast to noise"].value == 40.0
    assert measured["area"] == DEGREES, "the check's own number wins"
    fine = about(area=make.area(contrast_to_noise=4.126))
    assert found(fine).measured["contrast to noise"].value == 4.13


def test_without_an_area_the_reading_is_told(about, make):
    warm = read_region(make.thermogram(np.full((20, 20), 300.0)), np.ones((20, 20), bool))
    measured = found(about(reading=warm)).measured
    assert set(measured) == {"contrast", "mean temperature", "highest temperature"}
    assert measured["mean temperature"].value == pytest.approx(26.85, abs=1e-4)


def test_surfaces_fit_for_comparison_only_tell_no_temperature_of_their_own(about, make):
    """Nor do counts tell a kelvin; what a check worked out itself from other readings stays in degrees Celsius."""
    area = make.area(mean=DEGREES, surroundings=DEGREES)
    dull = make.thermogram(np.full((120, 160), 293.15), absolute=(False,))
    told = found(about(area=area, subject=dull), measured=OWN | SIZE).measured
    assert "mean temperature" not in told and {"skin", "drop", "level", "length", "contrast"} <= set(told)
    plain = found(about(area=area), measured=OWN | SIZE).measured
    assert {"mean temperature", "surrounding temperature", "skin", "contrast"} <= set(plain)
    unknown = make.thermogram(np.full((120, 160), 293.15), absolute=())
    assert "mean temperature" in found(about(area=area, subject=unknown)).measured


def test_counts_tell_no_temperature_at_all(about, make):
    counts = make.thermogram(np.full((120, 160), 293.15), absolute=(), emissivity=(), errors=())
    counts = replace(counts, scale="unscaled")
    case = about(area=make.area(mean=DEGREES), subject=counts)
    finding = found(case, measured=OWN | SIZE)
    assert set(finding.measured) == {"contrast to noise", "length"}
    assert finding.gates[0].name == "temperature scale" and finding.gates[0].passed is None
    assert case.unscaled and not about().unscaled
