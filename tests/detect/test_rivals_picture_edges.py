"""Reflections, glass and edges of objects at their limits, on areas that are given and not searched for."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.detect import Case
from heatbrief.detect import rivals_picture as picture
from heatbrief.model import Quantity, Region


@pytest.fixture
def about(make):
    """about(area, *regions, eps=..., shows=...) -> a case on a level picture of 120 x 160."""

    def case(area=None, *regions, region=None, eps=0.9, values=None, facts=None, **view):
        context = make.context(*regions, view=make.View(**view), facts=facts)
        level = np.full((120, 160), 293.0) if values is None else values
        subject = make.thermogram(level, emissivity=() if eps is None else (eps,))
        return Case("test.rivals", "test", subject, context, region, area)

    return case


CORNER = (10, 10, 40, 40)


@pytest.mark.parametrize(
    ("contrast", "shows", "needed", "status"),
    [
        # at 0.9 a mirrored thing must differ by nine times the contrast, eps / (1 - eps) [computed]
        (6.6, "wall", 59, "not testable"),
        (6.7, "wall", 60, "ruled out"),  # 60.3: no radiator or lamp is likely to be warmer
        (-2.7, "wall", 24, "not testable"),
        (-2.8, "wall", 25, "ruled out"),  # 25.2: no window pane is likely to be colder
        (-7.7, "flat roof", 69, "not testable"),
        (-7.8, "flat roof", 70, "ruled out"),  # 70.2: nor is a clear sky
        (-7.7, "facade", 69, "not testable"),
        (-2.8, "yard, outdoors", 25, "not testable"),
        (6.7, "flat roof", 60, "ruled out"),
    ],
)
def test_what_a_reflection_would_need_against_what_is_likely(about, make, contrast, shows, needed, status):
    """60 K for warm things, 25 K for cold ones inside, 70 K for the sky (common practice, no source)."""
    rival = picture.reflection(about(make.area(CORNER, contrast), shows=shows))
    word = "warmer" if contrast > 0 else "colder"
    assert rival.status == status and f"need something about {needed} K {word} than" in rival.evidence
    assert ("is the most that is likely" in rival.evidence) is (status == "ruled out")
    assert bool(rival.missing) is (status == "not testable")


def test_exactly_as_much_as_is_likely_is_not_ruled_out(about, make):
    """At 0.75 three times 20 K are the 60 K that is likely; at 0.5 nothing is worked out."""
    assert picture.reflection(about(make.area(CORNER, 20.0), eps=0.75)).status == "not testable"
    assert picture.reflection(about(make.area(CORNER, 20.1), eps=0.75)).status == "ruled out"
    assert "mirrors 50 %" in picture.reflection(about(make.area(CORNER), eps=0.5)).evidence


@pytest.mark.parametrize(("eps", "status"), [(0.6, "not testable"), (0.59, "not ruled out"), (None, "not testable")])
def test_surfaces_that_mirror_too_much(about, make, eps, status):
    """Emissivity of at least 0.6 (common practice, no source)."""
    rival = picture.reflection(about(make.area(CORNER), eps=eps))
    assert rival.status == status
    assert ("mirrors 41 %" in rival.evidence) is (eps == 0.59) and ("not known" in rival.evidence) is (eps is None)


def test_black_surfaces_mirror_nothing(about, make):
    """At an emissivity of 1 the least contrast needs an endless difference; the share mirrored counts from 0.1 %."""
    assert picture.reflection(about(make.area(CORNER, 0.05), eps=1.0)).status == "not testable"
    assert picture.reflection(about(make.area(CORNER, 0.07), eps=1.0)).status == "ruled out"


def test_without_a_contrast_in_kelvin_nothing_is_worked_out(about, make):
    for area in (None, make.area(CORNER, Quantity.exact(500.0, "count"))):
        rival = picture.reflection(about(area))
        assert rival.status == "not testable" and "no contrast in kelvin" in rival.evidence


@pytest.mark.parametrize(
    ("facts", "status", "words"),
    [
        ({"second view": " Moved", "warm body": "stayed"}, "not ruled out", "moved with the point of view"),
        ({"second view": "same place", "warm body": "followed"}, "ruled out", "stayed in place when seen"),
        ({"warm body": "Followed "}, "not ruled out", "followed when a warm body"),
        ({"warm body": "stayed"}, "not testable", "rules out that body alone"),
    ],
)
def test_what_was_seen_of_a_reflection_wins_over_reckoning(about, make, facts, status, words):
    rival = picture.reflection(about(make.area(CORNER, 1.0), eps=0.9, facts=facts))
    assert rival.status == status and words in rival.evidence


@pytest.mark.parametrize(
    ("x", "y", "contrast", "said"),
    [
        (80, 60, 1.0, True),
        (80, 60, -1.0, False),  # a person is warm
        (99, 60, 1.0, True),  # 19 of 200 pixels, the diagonal: less than a tenth
        (101, 60, 1.0, False),
        (80, 79, 1.0, True),
        (80, 81, 1.0, False),
        (61, 60, 1.0, True),
        (92, 76, 1.0, False),  # 12 across and 16 down are 20: a tenth itself is no longer the middle
    ],
)
def test_a_warm_patch_in_the_middle_may_be_whoever_held_the_camera(about, make, x, y, contrast, said):
    """Within a tenth of the diagonal, 3-4-5 times 40 pixels (this project's choice)."""
    area = make.area((x - 5, y - 5, x + 5, y + 5), contrast, centre=(float(x), float(y)))
    assert ("holding the camera" in picture.reflection(about(area)).evidence) is said
    stayed = picture.reflection(about(area, facts={"warm body": "stayed"}))
    assert "holding the camera" not in stayed.evidence


def warm_at(box, rise):
    values = np.full((120, 160), 293.0)
    values[box[1] : box[3], box[0] : box[2]] += rise
    return values


@pytest.mark.parametrize(
    ("rise", "shows", "contrast", "named"),
    [
        (3.0, "person", 1.0, True),  # three times the contrast itself is enough
        (2.9, "person", 1.0, False),
        (3.1, "radiators", 1.0, True),
        (3.1, "desk lamp", 1.0, True),
        (30.0, "door", 1.0, False),
        (30.0, "person", -1.0, False),
    ],
)
def test_a_warm_body_in_the_picture_is_named(about, make, rise, shows, contrast, named):
    """As warm over the middle of the picture as the mirrored thing would have to be: 3 K per kelvin at 0.75 [computed]."""
    body = Region("the owner", "north-wall", "box", ((100, 80), (130, 110)), shows=shows)
    case = about(make.area(CORNER, contrast), body, eps=0.75, values=warm_at((100, 80, 130, 110), rise))
    assert ('"the owner" in the same picture is that warm' in picture.reflection(case).evidence) is named


def test_a_warm_body_counts_by_its_warm_tenth_and_beside_the_area(about, make):
    box = (100, 80, 130, 110)
    body = Region("the owner", "north-wall", "box", ((100, 80), (130, 110)), shows="person")

    def named(*regions, values, area=CORNER, **more):
        return '"the owner"' in picture.reflection(about(make.area(area), *regions, values=values, **more)).evidence

    some = warm_at((100, 80, 130, 84), 20.0)  # 4 of 30 rows; 2 would be less than a tenth
    assert named(body, values=some) and not named(body, values=warm_at((100, 80, 130, 82), 20.0))
    assert not named(body, values=warm_at(box, 20.0), region=body)
    assert not named(body, values=warm_at(box, 20.0), area=box)  # nothing of it lies outside the area
    assert not named(Region("the owner", "north-wall", shows="person"), values=warm_at((0, 0, 60, 120), 20.0))
    door = Region("door", "north-wall", "box", ((0, 80), (20, 110)), shows="door")
    assert named(door, body, values=warm_at(box, 20.0))


PANE = {"shape": "box", "shows": "window"}


@pytest.mark.parametrize(
    ("rows", "status"),
    [(3, "not testable"), (4, "not ruled out"), (30, "not ruled out")],
)
def test_a_tenth_of_an_area_on_glass_is_enough(about, make, rows, status):
    """More than 10 % (this project's choice): 3 of 30 rows are 10 %, 4 are 13 %."""
    pane = Region("the pane", "north-wall", points=((0, 10), (60, 10 + rows)), **PANE)
    rival = picture.glass(about(make.area(CORNER), pane))
    assert rival.status == status
    assert (f"{rows / 30:.0%} of the area" in rival.evidence) is (status == "not ruled out")


@pytest.mark.parametrize(
    ("view", "status"),
    [
        ({"material": "glazed tile"}, "not ruled out"),
        ({"material": "plaster", "shows": "mirror"}, "ruled out"),  # what the surface is wins over the picture's words
        ({"shows": "polished floor"}, "not ruled out"),
        ({"shows": "wall"}, "not testable"),
        ({"material": "gloss paint"}, "not ruled out"),
    ],
)
def test_glass_by_words(about, make, view, status):
    rival = picture.glass(about(make.area(CORNER), **view))
    assert rival.status == status and bool(rival.missing) is (status == "not testable")


def test_glass_by_regions(about, make):
    """A region of glass by its material too; not the whole picture; none of the area when it lies elsewhere."""
    over = ((0, 0), (60, 60))
    front = Region("oven front", "north-wall", "box", over, material="glass")
    assert "100% of the area" in picture.glass(about(make.area(CORNER), front)).evidence
    assert picture.glass(about(make.area(CORNER), Region("all", "north-wall", shows="glass"))).status == "not testable"
    assert picture.glass(about(make.area(CORNER), Region("wood", "north-wall", "box", over))).status == "not testable"
    beyond = Region("far", "north-wall", "point", ((900, 900),))
    assert picture.glass(about(None, front, region=beyond)).status == "not testable"
    spot = Region("spot", "north-wall", "point", ((5, 5),))
    assert "100% of the area" in picture.glass(about(None, front, region=spot)).evidence


def test_an_area_at_the_edge_of_what_was_searched(about, make):
    assert picture.object_edge(about()) is None
    inner, outer = (picture.object_edge(about(make.area(edge_distance=7.0, touches_edge=one))) for one in (False, True))
    assert (inner.status, outer.status) == ("ruled out", "not ruled out") and "ends 7 pixels before" in inner.evidence
