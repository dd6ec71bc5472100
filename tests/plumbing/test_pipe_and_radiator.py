"""The ridge over a hot pipe is normal, a swelling is not; radiators are told apart by where they stay cold."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import Imager, Scene, as_thermogram, context_for, render, run_step
from heatbrief.testing.parts import Patch, PipeRidge, Radiator, WarmSpread
from heatbrief_plumbing import pipe, radiator

LINE = ((0.0, 40.0), (80.0, 52.0), (159.0, 80.0))
RIDGE = PipeRidge(name="ridge", line=LINE, depth_m=0.05, rise_k=4.0)
LEAK = WarmSpread(name="leak", centre_px=(105.0, 62.0), radius_m=0.18, rise_k=5.0, ragged=0.1)


def floor(*parts, route=True, facts=None):
    scene = Scene(
        name="hall",
        distance_m=1.5,
        base_c=22.0,
        reflected_c=22.0,
        air_c=22.0,
        emissivity=0.92,
        mottle_k=0.1,
        imager=Imager(noise_k=0.05, accuracy_k=2.0),
        parts=parts,
    )
    regions = (
        Region("hall floor", "hall", shows="floor", facts=facts or {}),
        *((Region("hot pipe route", "hall", "line", LINE, "pipe"),) if route else ()),
    )
    conditions = Conditions(sun="none", hours_without_sun=Quantity.exact(24.0, "h"))
    context = context_for(
        scene,
        regions=regions,
        facts={"second view": "same place"},
        conditions=conditions,
        view={"shows": "floor over the hot pipe"},
    )
    rendered = render(scene)
    return as_thermogram(rendered, context), context, {one.name: one for one in rendered.truth.records}


def test_a_swelling_beside_the_ridge_is_found():
    subject, context, records = floor(RIDGE, LEAK)
    (finding,) = run_step(pipe.STEP, subject, context).findings
    assert finding.verdict == "defect" and finding.urgency == "soon"
    x, y = zip(*finding.outline.polygon, strict=True)
    assert min(x) < 105 < max(x) and min(y) < 62 < max(y)
    assert 0.5 * records["leak"].contrast_k < finding.measured["contrast"].value < 5.0
    assert finding.measured["ridge height"].value == pytest.approx(4.0, abs=0.8)


def test_the_ridge_alone_is_normal():
    subject, context, _ = floor(RIDGE)
    output = run_step(pipe.STEP, subject, context)
    assert [one for one in output.findings if one.verdict != "normal"] == []
    assert any("as expected" in note for note in output.in_order)


def test_without_the_route_it_is_at_most_suspect():
    subject, context, _ = floor(RIDGE, LEAK, route=False)
    findings = run_step(pipe.STEP, subject, context).findings
    assert findings and all(one.verdict == "suspect" for one in findings)
    assert any("route" in text for text in findings[0].next_time)


def test_a_known_fitting_keeps_it_a_suspect():
    subject, context, _ = floor(RIDGE, LEAK, facts={"fitting there": "yes"})
    assert run_step(pipe.STEP, subject, context).findings[0].verdict == "suspect"


def test_a_cold_floor_gives_nothing():
    subject, context, _ = floor(Patch(name="cold", rise_k=-4.0, ellipse=(105.0, 62.0, 20.0, 20.0)))
    assert run_step(pipe.STEP, subject, context).findings == ()


# --- radiators ----------------------------------------------------------------------------


def heater(shows="radiator", room=20.0, flow=60.0, **fault):
    part = Radiator(
        name="radiator",
        box=(20.0, 20.0, 120.0, 70.0),
        flow_c=flow,
        return_c=flow - 10.0,
        room_c=room,
        defect=bool(fault),
        **fault,
    )
    scene = Scene(
        name="lounge",
        distance_m=2.0,
        base_c=room,
        reflected_c=room,
        air_c=room,
        emissivity=0.93,
        imager=Imager(noise_k=0.05, accuracy_k=2.0),
        parts=(part,),
    )
    region = Region("radiator under the window", "lounge", "box", ((22.0, 22.0), (137.0, 87.0)), shows=shows)
    context = context_for(
        scene,
        regions=(region,),
        facts={"second view": "same place", "same material": "yes", "heating for": Quantity.exact(60.0, "min")},
        view={"shows": shows},
    )
    return as_thermogram(render(scene), context), context


@pytest.mark.parametrize(
    ("fault", "word", "action"),
    [
        ({"sludge": 0.4}, "low in the middle", "plumbing.flush-radiator"),
        ({"air": 0.2}, "along the top", "plumbing.bleed-radiator"),
    ],
)
def test_cold_parts_are_told_by_their_place(fault, word, action):
    subject, context = heater(**fault)
    findings = [one for one in run_step(radiator.STEP, subject, context).findings if one.verdict == "defect"]
    assert len(findings) == 1 and word in findings[0].title and action in findings[0].actions


def test_a_sound_radiator_gives_nothing():
    """The fall from flow to return over the height, 10 K by design (EN 442, 75/65/20), is no defect."""
    subject, context = heater()
    assert [one for one in run_step(radiator.STEP, subject, context).findings if one.verdict != "normal"] == []


def test_a_radiator_that_is_off_is_not_judged():
    subject, context = heater(flow=24.0, sludge=0.4)
    assert all(one.verdict in ("inconclusive", "normal") for one in run_step(radiator.STEP, subject, context).findings)


def test_a_car_radiator_is_left_to_others():
    subject, context = heater(shows="engine radiator", sludge=0.4)
    assert run_step(radiator.STEP, subject, context).findings == ()


def test_a_radiator_just_turned_on_is_at_most_suspect():
    subject, context = heater(sludge=0.4)
    early = replace(context, facts={**context.facts, "heating for": Quantity.exact(4.0, "min")})
    assert all(one.verdict != "defect" for one in run_step(radiator.STEP, subject, early).findings)
