"""Water that enters with a sharp front is found, with and without a scale; slow changes stay undecided."""

from __future__ import annotations

import pytest
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import context_for, run_step, thermogram
from heatbrief.testing.parts import Patch
from heatbrief.testing.scene import Scene
from heatbrief_plumbing.inflow import INTENDED, SHALLOW, STEP

SCENE = {"name": "river", "distance_m": 30.0, "emissivity": 0.96}
WATER = Region("river", "river", "box", ((2.0, 2.0), (158.0, 118.0)), "river")
CALM = Conditions(
    wind=Quantity.exact(1.0, "m/s"), sun="none", hours_without_sun=Quantity.exact(24.0, "h"), sky="overcast"
)
KNOWN = {"second view": "same place", "inlet there": "no", "shallow there": "no"}


def plume(rise_k=2.0, soft_m=0.0):
    return Patch(name="plume", ellipse=(60.0, 60.0, 22.0, 16.0), rise_k=rise_k, soft_m=soft_m)


def findings(*parts, unscaled=False, facts=KNOWN):
    picture = thermogram(12.0, parts, unscaled=unscaled, **SCENE)
    context = context_for(
        Scene(**SCENE), regions=[WATER], conditions=CALM, view={"shows": "river from above"}, facts=facts
    )
    return run_step(STEP, picture, context).findings


@pytest.mark.parametrize(("rise", "word"), [(2.0, "warmer"), (-2.0, "colder")])
def test_an_inflow_with_a_front_is_found_with_its_contrast(rise, word):
    (one,) = findings(plume(rise))
    assert one.verdict == "defect" and one.urgency == "plan" and word in one.title
    assert one.measured["contrast"].low <= rise <= one.measured["contrast"].high
    assert all(36 <= x <= 84 and 42 <= y <= 78 for x, y in one.outline.polygon)


def test_without_a_scale_it_is_a_suspicion_in_counts():
    (one,) = findings(plume(), unscaled=True)
    assert one.verdict == "suspect" and "counts brighter" in one.summary
    assert {quantity.unit for quantity in one.measured.values()} == {"1", "m2"}


def test_water_without_a_front_stays_undecided():
    found = findings(plume(3.0, soft_m=1.2))
    assert found and {one.verdict for one in found} == {"inconclusive"}
    assert "no sharp edge" in found[0].summary


@pytest.mark.parametrize(("fact", "explanation"), [("inlet there", INTENDED), ("shallow there", SHALLOW)])
def test_what_the_owner_knows_holds_the_verdict_back(fact, explanation):
    (one,) = findings(plume(), facts={**KNOWN, fact: "yes"})
    assert one.verdict == "suspect"
    assert [rival.status for rival in one.rivals if rival.explanation == explanation] == ["not ruled out"]
    (asked,) = findings(plume(), facts={name: value for name, value in KNOWN.items() if name != fact})
    assert any(fact in words for words in asked.next_time)


def test_still_water_has_no_inflow():
    assert findings() == ()
