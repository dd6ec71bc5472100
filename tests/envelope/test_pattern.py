"""Pictures without a scale: a strong and a weak patch are found, and nothing is ever said in degrees or called sure."""

from __future__ import annotations

import pytest
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import context_for, run_step, thermogram
from heatbrief.testing.scene import Scene
from heatbrief_envelope.pattern import STEP

STRONG, WEAK = ((20, 50, 50, 50), 8.0), ((100, 30, 24, 18), 1.3)
"""The strong one raises the scatter so far that a single search does not find the weak one."""
SCENE = {"name": "facade", "mottle_k": 0.25, "mottle_px": 6.0}
WALL = Region("front", "facade", "box", ((4.0, 4.0), (156.0, 116.0)), "wall")


def findings(*patches, inside=21.0, outside=5.0, shows="wall, from outside", unscaled=True):
    picture = thermogram(10.0, patches, unscaled=unscaled, **SCENE)
    conditions = Conditions(
        inside_air=Quantity.exact(inside, "degC"),
        outside_air=Quantity.exact(outside, "degC"),
        wind=Quantity.exact(1.0, "m/s"),
        sun="none",
        hours_without_sun=Quantity.exact(24.0, "h"),
        hours_steady=Quantity.exact(24.0, "h"),
    )
    context = context_for(
        Scene(**SCENE),
        regions=[WALL],
        conditions=conditions,
        view={"shows": shows},
        facts={"second view": "same place"},
    )
    return run_step(STEP, picture, context)


def over(finding, box) -> bool:
    x, y, width, height = box
    return all(x - 3 <= px <= x + width + 3 and y - 3 <= py <= y + height + 3 for px, py in finding.outline.polygon)


def test_a_strong_patch_does_not_hide_a_weak_one():
    found = findings(STRONG, WEAK).findings
    assert [[over(one, box) for box in (WEAK[0], STRONG[0])] for one in found] == [[True, False], [False, True]]
    assert len({one.id for one in found}) == 2


def test_the_best_conditions_still_make_it_a_suspicion_without_degrees():
    (one,) = findings(STRONG).findings
    assert one.verdict == "suspect" and one.urgency == "watch"
    assert all(gate.passed for gate in one.gates if gate.name != "temperature scale")
    assert {quantity.unit for quantity in one.measured.values()} == {"1", "m2"}
    assert "counts brighter" in one.summary and "If brighter means warmer" in one.summary


@pytest.mark.parametrize(("inside", "outside", "count"), [(21.0, 5.0, 1), (5.0, 21.0, 0), (21.0, 21.2, 0)])
def test_only_the_direction_that_the_air_temperatures_drive(inside, outside, count):
    assert len(findings(STRONG, inside=inside, outside=outside).findings) == count


def test_without_a_drive_it_says_why_there_is_nothing():
    assert "as warm beyond as on this side" in findings(STRONG, inside=21.0, outside=21.2).notes[0]


def test_pictures_with_a_scale_are_left_to_the_other_checks():
    assert findings(STRONG, unscaled=False).findings == ()


def test_a_plain_surface_has_no_pattern():
    assert findings().findings == ()
