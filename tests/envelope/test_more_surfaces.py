"""Empty bays, kinds of shortfall, water against insulation, roofs, heated parts, shades, and limits by name."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import run_step
from heatbrief.testing.parts import Framing, MissingInsulation, Patch, ThermalBridge
from heatbrief_envelope import condensation, heated_parts, insulation, roof_moisture, shade, thermal_bridge
from heatbrief_envelope.limit_sets import Design, design_factor, limits_of
from heatbrief_envelope.surfaces import Airs

EXACT = Quantity.exact
STUDS = {"spacing_m": 0.4, "width_m": 0.038, "first_px": 22.0, "soft_m": 0.012}


def degrees(value):
    return EXACT(value, "degC")


# --- bays and patches ---------------------------------------------------------------------


@pytest.mark.parametrize("far", [-17.8, 55.0], ids=["heating", "cooling"])
def test_studs_that_show_inverted_mean_empty_bays(room, far):
    """EX-7.5: R_T of the stud 7.105 and of the empty cavity 3.73 h ft2 degF/Btu; the stud is nearer to the room."""
    r_ip = 0.1761101838
    seen = room(
        21.1,
        far,
        Framing(name="studs", near_c=21.1, far_c=far, resistance=7.105 * r_ip, **STUDS),
        film=0.68 * r_ip,
        resistance=3.73 * r_ip,
        width=200,
        height=150,
    )
    findings = run_step(insulation.STEP, seen.subject, seen.context).findings
    (bays,) = [one for one in findings if "bays" in one.title]
    assert bays.verdict in ("defect", "suspect") and bays.measured["contrast"].value * (1 if far < 0 else -1) > 0
    assert "envelope.fill-wall" in bays.actions


@pytest.mark.parametrize(("left", "word"), [(0.5, "missing insulation"), (1.7, "thin or compressed")])
def test_missing_and_thin_are_told_apart(room, left, word):
    bay = MissingInsulation(
        name="bay",
        near_c=21.0,
        far_c=1.0,
        resistance=left,
        outline=((60, 30), (96, 30), (96, 86), (60, 86)),
        soft_m=0.015,
    )
    seen = room(21.0, 1.0, bay, resistance=5.0)
    (finding,) = run_step(insulation.STEP, seen.subject, seen.context).findings
    assert word in finding.summary
    assert finding.classes[0]["table"] == "extent of the shortfall"


def test_insulation_that_fell_from_the_top_of_a_wall(room):
    bay = MissingInsulation(
        name="bay",
        near_c=21.0,
        far_c=1.0,
        resistance=0.5,
        outline=((60, -2), (96, -2), (96, 45), (60, 45)),
        soft_m=0.015,
    )
    seen = room(21.0, 1.0, bay)
    (finding,) = run_step(insulation.STEP, seen.subject, seen.context).findings
    assert "settled or fallen from the top" in finding.summary


def test_water_cannot_be_colder_than_the_wet_bulb_of_the_room(room):
    """20 degC and 50 %: wet bulb 13.8 degC (PsychroLib 2.5.0, computed), so drying takes at most 6.2 K."""
    shape = {"ellipse": (80.0, 60.0, 22.0, 18.0), "soft_m": 0.15}
    cold, mild = (Patch(name="patch", rise_k=rise, **shape) for rise in (-18.0, -3.0))
    argued = {}
    for name, part in (("cold", cold), ("mild", mild)):
        seen = room(20.0, -20.0, part, resistance=8.0, humidity=EXACT(0.5, "1"))
        finding = run_step(insulation.STEP, seen.subject, seen.context).findings[0]
        argued[name] = next(one for one in finding.rivals if "damp" in one.explanation)
    assert argued["cold"].status == "ruled out" and "6.2 K" in argued["cold"].evidence
    assert argued["mild"].status == "not testable" and "some days later" in argued["mild"].missing


@pytest.mark.parametrize(("sky", "passed"), [("overcast", True), ("clear", None), (None, None)])
def test_from_outside_the_sky_and_rain_are_gates(room, sky, passed):
    bay = MissingInsulation(
        name="bay", near_c=1.0, far_c=21.0, resistance=0.5, outline=((60, 30), (96, 30), (96, 86), (60, 86)), film=0.1
    )
    seen = room(1.0, 21.0, bay, shows="facade", view={"shows": "facade"}, sky=sky)
    now = replace(seen.context.conditions, inside_air=degrees(21.0), outside_air=degrees(1.0))
    (finding,) = run_step(insulation.STEP, seen.subject, replace(seen.context, conditions=now)).findings
    gates = {one.name: one.passed for one in finding.gates}
    assert gates["sky"] is passed and gates["dry surface"] is True
    assert finding.measured["contrast"].value > 0, "from outside a gap is warm in the heating season"
    assert "transmittance" not in finding.measured


def test_loss_per_length_of_a_bridge(room, holds):
    """Truth: rise of U on the line times its width, plus what its sides lose: (1/R_b - 1/R) (w + 2 soft)."""
    bridge = ThermalBridge(
        name="beam",
        near_c=21.0,
        far_c=-9.0,
        resistance=0.55,
        line=((20.0, 60.0), (150.0, 60.0)),
        width_m=0.06,
        soft_m=0.03,
    )
    seen = room(21.0, -9.0, bridge, width=200, height=150)
    (finding,) = run_step(thermal_bridge.STEP, seen.subject, seen.context).findings
    holds(finding.measured["extra loss per length"], (1 / 0.55 - 1 / 4.0) * (0.06 + 2 * 0.03))


# --- limits by name -----------------------------------------------------------------------


def test_the_stricter_limit_is_the_default_and_is_named(room):
    """EX-4.2 and EX-4.6: room 20 degC, 50 %, outside 0 degC: 80 % is reached at 12.6 degC, factor 0.75 at 15.0."""
    airs = Airs(degrees(20.0), degrees(0.0), "the outside air")
    now = Conditions(inside_air=degrees(20.0), outside_air=degrees(0.0), humidity=EXACT(0.5, "1"))
    none = Design(None, None, None)
    found = limits_of("strictest", "wall", now, airs, 0.8, none)
    assert [(one.name, round(one.temperature.value, 1)) for one in found] == [
        ("dwelling-junction", 15.0),
        ("din-4108-2", 14.0),
        ("surface-humidity", 12.6),
    ]
    assert [one.name for one in limits_of("din-4108-2", "wall", now, airs, 0.8, none)] == ["din-4108-2"]
    assert [one.name for one in limits_of("strictest", "window frame", now, airs, 0.8, none)] == ["surface-humidity"]
    corner = Patch(name="corner", rise_k=-9.5, box=(100.0, 80.0, 40.0, 30.0), soft_m=0.03)
    seen = room(20.0, 0.0, corner, resistance=8.0, humidity=EXACT(0.5, "1"))
    (strict,) = run_step(condensation.STEP, seen.subject, seen.context).findings
    assert "dwelling-junction" in strict.summary and strict.verdict == "defect"
    (loose,) = run_step(condensation.STEP, seen.subject, seen.context, limit_set="surface-humidity").findings
    assert "surface-humidity" in loose.summary and loose.verdict == "suspect"
    assert {row["table"] for row in strict.classes} >= {"limit set din-4108-2", "limit set surface-humidity"}


def test_a_design_month_gives_the_factor():
    """EX-4.3: 20 degC and 50 % inside, -5 degC outside ask for 0.705; DIN rounds it to 0.70."""
    found = design_factor(Design(degrees(-5.0), degrees(20.0), EXACT(0.5, "1")), 0.8)
    assert found.value == pytest.approx(0.705, abs=0.002)
    airs = Airs(degrees(20.0), degrees(-5.0), "the outside air")
    now = Conditions(inside_air=degrees(20.0), outside_air=degrees(-5.0))
    (limit,) = limits_of(
        "design-climate", "wall", now, airs, 0.8, Design(degrees(-5.0), degrees(20.0), EXACT(0.5, "1"))
    )
    assert limit.temperature.value == pytest.approx(12.63, abs=0.03)


def test_temperature_factors_do_not_judge_the_cooling_season():
    airs = Airs(degrees(24.0), degrees(38.0), "the outside air")
    now = Conditions(inside_air=degrees(24.0), outside_air=degrees(38.0), humidity=EXACT(0.5, "1"))
    assert [one.name for one in limits_of("strictest", "wall", now, airs, 0.8, Design(None, None, None))] == [
        "surface-humidity"
    ]


@pytest.mark.parametrize(("outside", "judged"), [(15.5, False), (15.0, True)])
def test_temperature_factors_need_the_drive_that_en_13187_asks_for(outside, judged):
    """EN 13187 never accepts less than 5 K between the airs (from memory); one of them is not known exactly here."""
    now = Conditions(inside_air=degrees(20.0), outside_air=degrees(outside))
    airs = Airs(degrees(20.0), degrees(outside), "the outside air")
    assert bool(limits_of("din-4108-2", "wall", now, airs, 0.8, Design(None, None, None))) is judged


# --- roofs --------------------------------------------------------------------------------

EVENING = {
    "sky": "clear",
    "hours_without_sun": EXACT(3.0, "h"),
    "hours_without_rain": EXACT(72.0, "h"),
    "wind": EXACT(1.0, "m/s"),
}
ROOF_FACTS = {
    "sunny day": "yes",
    "day high": degrees(22.0),
    "insulation above deck": "yes",
    "dry surface": "yes",
    "same material": "yes",
}


def roof(room, rise, facts=ROOF_FACTS, **now):
    wet = Patch(name="wet", rise_k=rise, box=(50.0, 40.0, 60.0, 40.0), soft_m=0.05)
    seen = room(
        14.0,
        16.0,
        wet,
        shows="flat roof",
        facts=facts,
        distance=8.0,
        resistance=4.0,
        view={"shows": "flat roof from outside"},
        **{**EVENING, **now},
    )
    given = replace(seen.context.conditions, inside_air=degrees(16.0), outside_air=degrees(14.0))
    return run_step(roof_moisture.STEP, seen.subject, replace(seen.context, conditions=given)).findings


def test_a_roof_that_stays_warm_asks_for_a_core(room):
    (finding,) = roof(room, 3.0)
    assert finding.verdict == "defect" and finding.actions[0] == "envelope.roof-core"
    assert roof(room, -3.0) == ()


@pytest.mark.parametrize(
    ("facts", "now"),
    [
        ({"sunny day": "no"}, {}),
        ({"day high": degrees(3.0)}, {}),
        ({"insulation above deck": "no"}, {}),
        ({}, {"hours_without_sun": EXACT(14.0, "h")}),
        ({}, {"sun": "low"}),
        ({}, {"sky": "overcast"}),
        ({}, {"wind": EXACT(9.0, "m/s")}),
        ({}, {"hours_without_rain": EXACT(5.0, "h")}),
    ],
)
def test_roof_conditions_of_the_practices(room, facts, now):
    """ASTM C1153 and two summaries of roof surveys: evening of a sunny day above 10 degC, dry, wind below 6.7 m/s."""
    (finding,) = roof(room, 3.0, {**ROOF_FACTS, **facts}, **now)
    assert finding.verdict == "inconclusive"


# --- heated parts -------------------------------------------------------------------------


@pytest.mark.parametrize(("rise", "verdicts"), [(2.5, {"defect"}), (0.0, {"normal"}), (-2.5, {"normal"})])
def test_a_radiator_niche_seen_from_outside(room, rise, verdicts):
    """Heat that leaves shows warm from outside; a colder niche is no loss."""
    niche = Region("below the window", "wall", "box", ((60.0, 60.0), (110.0, 100.0)), shows="radiator niche")
    wall = Region("the facade", "wall", shows="facade")
    seen = room(
        0.0,
        20.0,
        Patch(name="niche", rise_k=rise, box=(60.0, 60.0, 50.0, 40.0)),
        regions=(wall, niche),
        view={"shows": "facade"},
        sky="overcast",
    )
    now = replace(seen.context.conditions, inside_air=degrees(20.0), outside_air=degrees(0.0))
    findings = run_step(heated_parts.STEP, seen.subject, replace(seen.context, conditions=now)).findings
    assert {one.verdict for one in findings} == verdicts
    assert all("envelope.insulate-niche" in one.actions for one in findings if one.verdict == "defect")


@pytest.mark.parametrize(("surface", "found"), [(25.0, 0), (36.0, 1)])
def test_heated_floors_against_the_surface_limit(room, surface, found):
    """29 degC for occupied floors (EN 1264, read in trade texts); the camera is good to 2 K."""
    warm = Patch(name="loop", rise_k=surface - 21.0, box=(0.0, 0.0, 160.0, 120.0))
    seen = room(21.0, 21.0, warm, shows="heated floor", outside_air=degrees(5.0))
    output = run_step(heated_parts.STEP, seen.subject, seen.context)
    assert len(output.findings) == found
    assert found or "not a defect" in output.notes[0]


# --- shades -------------------------------------------------------------------------------

WINDOW = ((50.0, 30.0), (110.0, 90.0))


def shades(room, up_k, down_k, marker="tape on the glass", states=("up", "down"), far=1.0):
    """Tape on the pane reads up_k off the room with the shade up, the shade's face down_k with it down."""
    made = {}
    for name, rise, shows, state in (
        ("open", up_k, marker, states[0]),
        ("closed", down_k, "cellular shade", states[1]),
    ):
        region = Region("the window", name, "box", WINDOW, shows=shows)
        made[name] = (
            room(
                21.0,
                far,
                Patch(name="face", rise_k=rise, box=(48.0, 28.0, 64.0, 64.0)),
                name=name,
                resistance=8.0,
                regions=(region,),
            ),
            {"shade": state, "touched": "no"},
        )
    first = made["open"][0]
    context = replace(
        first.context,
        conditions_of={name: one.context.conditions for name, (one, _) in made.items()},
        facts_of={name: facts for name, (_, facts) in made.items()},
        regions=tuple(region for one, _ in made.values() for region in one.context.regions),
        views={name: one.context.view for name, (one, _) in made.items()},
    )
    return tuple(one.subject for one, _ in made.values()), context


@pytest.mark.parametrize("far", [1.0, 41.0], ids=["heating", "cooling"])
def test_a_shade_that_halves_the_flow(room, holds, far):
    sign = -1 if far < 21 else 1
    subjects, context = shades(room, sign * 8.0, sign * 4.0, far=far)
    (finding,) = run_step(shade.STEP, subjects, context).findings
    base = 0.13 * 20 / 8
    holds(finding.measured["effect of shade"], 1 - (4.0 + base) / (8.0 + base))
    assert finding.verdict == "normal" and finding.actions == ()


def test_a_shade_with_gaps_is_pointed_out(room):
    subjects, context = shades(room, -8.0, -7.9)
    (finding,) = run_step(shade.STEP, subjects, context).findings
    assert finding.verdict in ("defect", "suspect") and "gaps along its edges" in finding.summary


def test_bare_glass_is_not_read(room):
    subjects, context = shades(room, -8.0, -4.0, marker="glass")
    output = run_step(shade.STEP, subjects, context)
    assert output.findings == () and "tape" in output.notes[0]


def test_a_sequence_about_something_else_is_left_alone(room):
    subjects, context = shades(room, -8.0, -4.0)
    assert (
        run_step(shade.STEP, subjects, replace(context, facts_of={"open": {}, "closed": {}}))
        == type(run_step(shade.STEP, subjects, context))()
    )


def test_masked_pictures_do_not_break_the_shade(room):
    subjects, context = shades(room, -8.0, -4.0)
    blind = replace(subjects[0], values=np.full_like(subjects[0].values, np.nan))
    assert run_step(shade.STEP, (blind, subjects[1]), context).findings == ()
