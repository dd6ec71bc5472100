"""The check on scenes with known truth, with the fixtures that come with heatbrief."""

from __future__ import annotations

import pytest
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import as_thermogram, context_for
from heatbrief.testing.parts import Patch

CALM = Conditions(sun="none", hours_without_rain=Quantity.exact(72.0, "h"), hours_without_sun=Quantity.exact(24.0, "h"))
DECK = Region("north deck", "deck", "box", ((5.0, 5.0), (155.0, 115.0)), "pool deck")
FACTS = {"return line there": "no", "second view": "same place"}


@pytest.fixture
def found(heatbrief_scene, heatbrief_run_step):
    def look(rise_k, conditions=CALM, facts=FACTS):
        scene = heatbrief_scene(Patch(name="leak", box=(60, 40, 30, 24), rise_k=rise_k), name="deck", base_c=22.0)
        context = context_for(scene.scene, regions=[DECK], conditions=conditions, facts=facts)
        return heatbrief_run_step("pool.leak", as_thermogram(scene, context), context).findings

    return look


def test_a_warm_patch_is_a_defect_in_its_place(found):
    (one,) = found(5.0)
    assert (one.verdict, one.urgency) == ("defect", "soon")
    assert one.measured["contrast"].low <= 5.0 <= one.measured["contrast"].high
    assert all(58 <= x <= 92 and 38 <= y <= 66 for x, y in one.outline.polygon)


def test_nothing_where_nothing_is(found):
    assert found(0.0) == ()


def test_a_return_line_or_sun_holds_the_verdict_back(found):
    assert found(5.0, facts={**FACTS, "return line there": "yes"})[0].verdict == "suspect"
    assert found(5.0, conditions=Conditions(sun="direct"))[0].verdict == "inconclusive"


def test_splashes_are_weighed_in_a_check_of_somebody_else():
    from heatbrief.testing import step_named

    assert "splashed" in {fact.name for fact in step_named("plumbing.cold_ground").facts}
