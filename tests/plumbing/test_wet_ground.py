"""Growth after the valve opens is a wet spot; shade that was there, or moves, is not; one picture cannot decide."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import Imager, Scene, as_thermogram, context_for, render, run_step
from heatbrief.testing.parts import Shade, WetPatch
from heatbrief_plumbing import cold_ground, wet_ground

SEQUENCE, SINGLE = wet_ground.STEPS[0], cold_ground.STEP
TIMES = ((0.0, "17:58", "shut"), (480.0, "18:06", "open"), (840.0, "18:12", "open"), (1320.0, "18:20", "open"))
WET = WetPatch(
    name="leak",
    centre_px=(100.0, 60.0),
    radius_m=0.5,
    soft_m=0.08,
    ragged=0.1,
    wetness=0.8,
    air_c=35.0,
    humidity=0.25,
    h_convection=12.0,
    h_radiation=6.0,
    start_s=120.0,
    tau_s=500.0,
)
POST = Shade(name="post", outline=((20.0, -1.0), (36.0, -1.0), (40.0, 121.0), (24.0, 121.0)), drop_k=9.0, soft_m=0.02)


def bed(*parts, times=TIMES, moving=0.0, drift=0.0):
    subjects, views, facts, conditions, regions = [], {}, {}, {}, []
    given = Conditions(
        outside_air=Quantity.exact(35.0, "degC"),
        outside_humidity=Quantity.exact(0.25, "1"),
        wind=Quantity.exact(1.5, "m/s"),
        sun="low",
        hours_without_rain=Quantity.exact(200.0, "h"),
    )
    truth = {}
    for place, (seconds, clock, valve) in enumerate(times):
        name = f"bed-{place}"
        shown = tuple(
            replace(one, outline=tuple((x + moving * place, y) for x, y in one.outline))
            if isinstance(one, Shade)
            else one
            for one in parts
        )
        scene = Scene(
            name=name,
            texture="bed",
            distance_m=3.0,
            base_c=44.0 - drift * place,
            reflected_c=20.0,
            air_c=35.0,
            humidity=0.25,
            emissivity=0.95,
            mottle_k=0.5,
            time_s=seconds,
            imager=Imager(noise_k=0.05, accuracy_k=2.0, camera=4),
            parts=shown,
        )
        region = Region("planting bed", name, shows="irrigated ground")
        context = context_for(
            scene, regions=(region,), conditions=given, view={"shows": "irrigated ground", "sequence": "bed"}
        )
        rendered = render(scene)
        subjects.append(replace(as_thermogram(rendered, context), taken=f"2026-07-14T{clock}:00-07:00"))
        views[name], facts[name], conditions[name] = context.view, {"valve": valve}, context.conditions
        regions.append(region)
        truth = {one.name: one for one in rendered.truth.records}
    return (
        tuple(subjects),
        replace(context, regions=tuple(regions), views=views, facts_of=facts, conditions_of=conditions),
        truth,
    )


def test_a_wet_spot_that_grows_is_found_and_shade_is_normal():
    subjects, context, truth = bed(WET, POST)
    findings = run_step(SEQUENCE, subjects, context).findings
    wet = [one for one in findings if one.verdict == "defect"]
    assert len(wet) == 1 and wet[0].urgency == "soon" and wet[0].thermogram == "bed-3"
    assert wet[0].measured["contrast"].value == pytest.approx(truth["leak"].contrast_k, abs=1.5)
    assert wet[0].measured["area"].low <= truth["leak"].area_m2 <= wet[0].measured["area"].high
    assert wet[0].measured["growth rate"].low > 0
    others = [one for one in findings if one is not wet[0]]
    assert others and all(one.verdict == "normal" for one in others)
    assert all(max(x for x, _ in one.outline.polygon) < 60 for one in others), "the shade lies left of the leak"


def test_shade_alone_is_never_a_leak():
    subjects, context, _ = bed(POST)
    findings = run_step(SEQUENCE, subjects, context).findings
    assert [one.verdict for one in findings] == ["normal"]
    assert findings[0].actions == ()


def test_shade_that_moves_is_not_a_leak():
    subjects, context, _ = bed(POST, moving=6.0)
    findings = run_step(SEQUENCE, subjects, context).findings
    assert all(one.verdict != "defect" for one in findings)
    moved = [rival for one in findings for rival in one.rivals if "shade" in rival.explanation]
    assert moved and all(rival.status == "not ruled out" for rival in moved)


def test_ground_that_cools_evenly_is_not_a_leak():
    subjects, context, _ = bed(POST, drift=2.0)
    assert all(one.verdict == "normal" for one in run_step(SEQUENCE, subjects, context).findings)


def test_two_pictures_show_a_change_but_not_growth():
    subjects, context, _ = bed(WET, times=(TIMES[0], TIMES[3]))
    wet = [one for one in run_step(SEQUENCE, subjects, context).findings if one.verdict != "normal"]
    assert [one.verdict for one in wet] == ["suspect"]


def test_without_the_valve_nothing_is_claimed():
    subjects, context, _ = bed(WET)
    output = run_step(SEQUENCE, subjects, replace(context, facts_of={}))
    assert output.findings == () and "valve: shut" in output.notes[0]


def test_one_picture_is_undecided_and_says_what_would_settle_it():
    subjects, context, _ = bed(WET)
    alone = replace(
        context,
        view=replace(context.views["bed-3"], sequence=""),
        views={},
        regions=(context.regions[3],),
        facts={"valve": "open"},
    )
    findings = run_step(SINGLE, subjects[3], alone).findings
    assert findings and {one.verdict for one in findings} == {"inconclusive"}
    assert any("valve shut" in text for text in findings[0].next_time)
    assert findings[0].actions == ("plumbing.picture-valve-shut",)


def test_one_picture_of_a_sequence_is_left_to_the_sequence():
    subjects, context, _ = bed(WET)
    assert run_step(SINGLE, subjects[3], replace(context, view=context.views["bed-3"])).findings == ()
