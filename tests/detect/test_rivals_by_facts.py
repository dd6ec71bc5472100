"""Rivals that a photo, a later picture, a moved warm body or the calibration settle."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from heatbrief.detect import RIVALS, Case, argue, find_areas
from heatbrief.model import ErrorSource, Quantity, Region

NAMED = (
    "reflection",
    "shade or sun",
    "wet film",
    "material change",
    "lens shading",
    "out of focus",
    "thermal lag",
    "unsteady indoors",
    "recent touch",
    "camera not settled",
    "load",
    "glass",
    "object edge",
)
"""The explanations the core promises to every domain."""


@pytest.fixture(scope="module")
def warm(make):
    thermogram = make.picture((120, 160), [(60, 40, 90, 70, 1.0)])
    return thermogram, find_areas(thermogram)[0]


def outcome(name, found, context, **changes):
    thermogram, area = found
    return argue(Case("envelope.test", "envelope", thermogram, context, area=area, **changes), (name,))[0][0]


def test_every_promised_explanation_is_there():
    assert set(NAMED) == set(RIVALS)


@pytest.mark.parametrize(
    ("name", "facts", "status"),
    [
        ("reflection", {"warm body": "followed"}, "not ruled out"),
        ("reflection", {"warm body": "stayed"}, "not testable"),
        ("shade or sun", {"later picture": "moved"}, "not ruled out"),
        ("shade or sun", {"later picture": "faded"}, "not ruled out"),
        ("shade or sun", {"later picture": "grew"}, "ruled out"),
        ("shade or sun", {"later picture": "unchanged"}, "not testable"),
        ("shade or sun", {"ordinary photo": "shadow"}, "not ruled out"),
        ("material change", {"ordinary photo": "another finish"}, "not ruled out"),
        ("material change", {"ordinary photo": "nothing"}, "ruled out"),
        ("material change", {"ordinary photo": "shadow"}, "not testable"),
        ("recent touch", {"later picture": "faded"}, "not ruled out"),
        ("recent touch", {"later picture": "unchanged"}, "ruled out"),
        ("recent touch", {"later picture": "unchanged", "touched": "yes"}, "not ruled out"),
        ("recent touch", {"later picture": "moved"}, "not testable"),
        ("unsteady indoors", {"indoor swing": Quantity.exact(-1.5, "K")}, "ruled out"),
        ("unsteady indoors", {"indoor swing": Quantity.exact(-3, "K")}, "not ruled out"),
        ("unsteady indoors", {}, "not testable"),
    ],
)
def test_facts_settle_what_they_can(make, warm, name, facts, status):
    """Indoor air within 2 K during a survey: EN 13187 [memory]; the others follow from what the words mean."""
    rival = outcome(name, warm, make.context(facts=facts))
    assert rival.status == status
    assert bool(rival.missing) == (status == "not testable")


def test_steady_conditions_rule_out_an_unsteady_room(make, warm):
    assert outcome("unsteady indoors", warm, make.context(hours_steady=4)).status == "ruled out"
    assert outcome("unsteady indoors", warm, make.context(hours_steady=3)).status == "not testable"


def test_a_photo_shows_a_wet_film_on_a_cold_patch_only(make, warm):
    thermogram = make.picture((120, 160), [(60, 40, 90, 70, -1.0)])
    wet = make.context(facts={"ordinary photo": "wet"})
    assert outcome("wet film", (thermogram, find_areas(thermogram)[0]), wet).status == "not ruled out"
    assert outcome("wet film", warm, wet).status == "ruled out"


def test_a_person_warm_enough_to_be_mirrored_is_named(make):
    """At emissivity 0.95 a mirrored source differs by contrast x 19 (test_rivals.py): 0.5 K needs 9.5 K."""
    person = Region("the owner", "north-wall", "box", ((5, 5), (20, 30)), shows="person")
    for rise, named in ((14.0, True), (5.0, False)):
        thermogram = make.picture((120, 160), [(60, 40, 90, 70, 0.5), (5, 5, 21, 31, rise)])
        area = next(one for one in find_areas(thermogram) if one.box[0] > 40)
        rival = outcome("reflection", (thermogram, area), make.context(person))
        assert rival.status == "not testable"
        assert ('"the owner"' in rival.evidence) == named


@pytest.mark.parametrize(("standard", "status"), [(0.02, "ruled out"), (0.3, "not ruled out")])
def test_what_the_calibration_left_of_the_shading_counts(make, warm, standard, status):
    """1.96 x sqrt 2 x 0.02 K = 0.06 K and x 0.3 K = 0.83 K of a contrast of 1 K (computed)."""
    thermogram, area = warm
    left = ErrorSource("lens shading", "lens shading", standard, "K", (293.15,), (1.0,), reach=20.0)
    known = replace(thermogram, errors=((*thermogram.errors[0], left),))
    rival = outcome("lens shading", (known, area), make.context())
    assert rival.status == status
    assert f"up to {2.772 * standard:.2f} K may be left" in rival.evidence


def test_what_is_left_of_the_shading_is_evidence_where_no_trend_can_be_seen(make):
    values = np.full((120, 160), np.nan, np.float32)
    values[40:60, 40:58] = make.scene((120, 160), [(46, 46, 52, 52, 1.0)])[0][40:60, 40:58]
    thermogram = make.thermogram(values)
    area = find_areas(thermogram)[0]
    assert outcome("lens shading", (thermogram, area), make.context()).status == "not testable"
    left = ErrorSource("lens shading", "lens shading", 0.02, "K", (293.15,), (1.0,), reach=20.0)
    known = replace(thermogram, errors=((*thermogram.errors[0], left),))
    assert outcome("lens shading", (known, area), make.context()).status == "ruled out"
