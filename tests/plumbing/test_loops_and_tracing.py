"""Uneven radiators and floor loops; lines over pipes, and what depth and time allow to be seen."""

from __future__ import annotations

import pytest
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import Imager, Scene, as_thermogram, context_for, render, run_step
from heatbrief.testing.parts import Patch, PipeRidge
from heatbrief_plumbing import loops, tracing

exact = Quantity.exact


def room(*parts, regions=(), facts=None, shows="room", base=20.0, **now):
    scene = Scene(
        name="room",
        distance_m=2.0,
        base_c=base,
        reflected_c=20.0,
        air_c=20.0,
        emissivity=0.94,
        mottle_k=0.05,
        imager=Imager(noise_k=0.05, offset_k=0.5, accuracy_k=2.0),
        parts=parts,
    )
    known = {"second view": "same place", "same material": "yes", **(facts or {})}
    given = Conditions(sun="none", hours_without_sun=exact(24.0, "h"), **now)
    context = context_for(scene, regions=regions, facts=known, conditions=given, view={"shows": shows})
    return as_thermogram(render(scene), context), context


def group(temperatures, shows="radiator", **facts):
    parts, regions = [], []
    for place, celsius in enumerate(temperatures):
        left = 6.0 + 52.0 * place
        parts.append(Patch(name=f"{shows} {place}", box=(left, 30.0, 44.0, 50.0), celsius=celsius))
        corners = ((left + 3, 33.0), (left + 41, 77.0))
        regions.append(Region(f"{shows} {place + 1}", "room", "box", corners, shows, group="heating", facts=facts))
    return parts, tuple(regions)


READY = {"heating for": exact(180.0, "min"), "loop_valve": "open", "covered": "no"}


def test_a_cold_radiator_among_warm_ones():
    """Output goes with the rise to the power 1.3 (EN 442, from memory): 16 K against 35 K gives 36 %."""
    parts, regions = group((55.0, 36.0, 55.0))
    subject, context = room(*parts, regions=regions, facts=READY)
    findings = run_step(loops.STEP, subject, context).findings
    (cold,) = [one for one in findings if one.verdict == "defect"]
    assert cold.region == "radiator 2" and cold.actions == ("plumbing.balance-heating",)
    share = cold.measured["output against the others"]
    assert share.low <= (16 / 35) ** 1.3 <= share.high


def test_sisters_that_agree_are_not_mentioned():
    parts, regions = group((55.0, 53.5, 56.0))
    subject, context = room(*parts, regions=regions, facts=READY)
    assert run_step(loops.STEP, subject, context).findings == ()


@pytest.mark.parametrize(
    "facts", [{"loop_valve": "throttled"}, {"heating for": exact(5.0, "min")}], ids=["throttled", "just turned on"]
)
def test_what_explains_it_keeps_it_open(facts):
    parts, regions = group((55.0, 36.0, 55.0))
    subject, context = room(*parts, regions=regions, facts={**READY, **facts})
    assert all(one.verdict != "defect" for one in run_step(loops.STEP, subject, context).findings)


@pytest.mark.parametrize(("temperatures", "verdict"), [((27.5, 21.0, 27.5), ["defect"]), ((27.5, 25.0, 27.5), [])])
def test_floor_loops_may_differ_by_five_kelvin(temperatures, verdict):
    """P12: more than 5 K over a heated floor is unwanted (trade text) [seen]."""
    parts, regions = group(temperatures, shows="underfloor loop")
    subject, context = room(*parts, regions=regions, facts=READY)
    findings = run_step(loops.STEP, subject, context).findings
    assert [one.verdict for one in findings] == verdict


def test_an_engine_radiator_and_a_cold_system_are_left_alone():
    parts, regions = group((55.0, 36.0, 55.0), shows="engine radiator")
    subject, context = room(*parts, regions=regions, facts=READY)
    assert run_step(loops.STEP, subject, context).findings == ()
    parts, regions = group((24.0, 20.5, 24.0))
    subject, context = room(*parts, regions=regions, facts=READY)
    assert all(one.verdict != "defect" for one in run_step(loops.STEP, subject, context).findings)


# --- tracing ------------------------------------------------------------------------------

FLOOR = (Region("hall floor", "room", shows="floor over pipes"),)


def ridge(rise=5.0, depth=0.03):
    return PipeRidge(name="ridge", line=((0.0, 60.0), (159.0, 62.0)), depth_m=depth, rise_k=rise)


def test_a_line_is_traced_with_its_greatest_depth():
    """Under a plane a line source is twice its depth wide at half height (method of images)."""
    subject, context = room(
        ridge(), regions=FLOOR, facts={"pipe_depth": exact(0.03, "m"), "water_running_for": exact(60.0, "min")}
    )
    (line,) = run_step(tracing.STEP, subject, context).findings
    assert line.verdict == "normal" and "warm line" in line.title.casefold()
    depth = line.measured["greatest depth"]
    assert depth.low <= 0.03 <= depth.high


def test_a_floor_hotter_than_the_limit_for_floors_is_not_normal():
    """P12, EN 1264: 29 degC where people stay, that is 9 K over a room of 20 degC [seen]."""
    facts = {"pipe_depth": exact(0.03, "m"), "water_running_for": exact(60.0, "min")}
    subject, context = room(ridge(rise=20.0), regions=FLOOR, facts=facts)
    assert run_step(tracing.STEP, subject, context).findings[0].verdict != "normal"


def test_a_plain_floor_says_what_could_have_shown():
    """P9 [computed]: 0.3 m in wet sand needs about a day; after an hour nothing has come up."""
    facts = {"pipe_depth": exact(0.45, "m"), "water_running_for": exact(60.0, "min"), "soil": "dry clay"}
    subject, context = room(regions=FLOOR, facts=facts)
    output = run_step(tracing.STEP, subject, context)
    assert output.findings == () and "Nothing could show yet" in output.notes[0]
    facts = {"pipe_depth": exact(0.05, "m"), "water_running_for": exact(120.0, "min")}
    subject, context = room(regions=FLOOR, facts=facts)
    assert "At most" in run_step(tracing.STEP, subject, context).notes[0]


def test_a_declared_route_is_left_to_the_check_of_leaks():
    regions = (*FLOOR, Region("route", "room", "line", ((0.0, 60.0), (159.0, 62.0)), "pipe"))
    subject, context = room(ridge(), regions=regions)
    assert run_step(tracing.STEP, subject, context).findings == ()
