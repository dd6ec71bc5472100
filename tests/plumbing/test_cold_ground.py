"""One picture decides between shade and water only where physics or the owner's word does; growing shade is no leak."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import Imager, Scene, as_thermogram, context_for, render, run_step
from heatbrief.testing.parts import Patch, Shade
from heatbrief_plumbing import cold_ground, wet_ground
from heatbrief_plumbing.floors import floors_of, wet_beside
from heatbrief_plumbing.ground import SHADE

exact = Quantity.exact
AIR, HUMIDITY = 30.0, 0.3


def weather(**now):
    given = {
        "outside_air": exact(AIR, "degC"),
        "outside_humidity": exact(HUMIDITY, "1"),
        "wind": exact(1.5, "m/s"),
        "sky": "clear",
        "sun": "low",
        "hours_without_sun": exact(0.0, "h"),
        "hours_without_rain": exact(200.0, "h"),
    }
    return Conditions(**(given | now))


def yard(spot, *, base=42.0, facts=None, accuracy=1.0, taken="2026-07-14T18:00-07:00", **now):
    """Ground with one cold place of the given temperature [degC]."""
    part = Patch(name="cold", celsius=spot, ellipse=(80.0, 60.0, 18.0, 16.0), soft_m=0.05)
    scene = Scene(
        name="bed",
        distance_m=3.0,
        base_c=base,
        reflected_c=10.0,
        air_c=AIR,
        humidity=HUMIDITY,
        emissivity=0.95,
        mottle_k=0.2,
        imager=Imager(noise_k=0.05, offset_k=0.2, accuracy_k=accuracy),
        parts=(part,),
    )
    region = Region("planting bed", "bed", shows="irrigated ground", facts=facts or {})
    known = {"second view": "same place", "same material": "yes"}
    context = context_for(
        scene,
        regions=(region,),
        facts=known,
        conditions=weather(**now),
        view={"shows": "irrigated ground", "taken": taken},
    )
    return replace(as_thermogram(render(scene), context), taken=taken), context


def judged(*args, **more):
    (finding,) = run_step(cold_ground.STEP, *yard(*args, **more)).findings
    return finding, next(one for one in finding.rivals if one.explanation == SHADE)


def test_open_between_shade_and_water_it_names_the_fact_that_settles_it():
    finding, shade = judged(33.0)
    assert finding.verdict == "inconclusive" and shade.status == "not testable"
    assert "shadow there" in shade.missing and "cannot tell" in finding.summary and "m2" in finding.summary
    told, shade = judged(33.0, facts={"shadow there": "yes"})
    assert told.verdict == "inconclusive" and "moved on" in shade.missing


@pytest.mark.parametrize(
    "more",
    [
        {"facts": {"shadow there": "no"}},
        {"sun": "none", "hours_without_sun": exact(9.0, "h")},
        {
            "facts": {"latitude": exact(33.4, "deg"), "longitude": exact(-112.0, "deg")},
            "taken": "2026-07-15T04:30-07:00",
        },
    ],
    ids=["the owner's word", "no sun for long", "the place of the sun"],
)
def test_without_a_shadow_it_is_water(more):
    finding, shade = judged(30.0, base=36.0, **more)
    assert finding.verdict == "suspect" and shade.status == "ruled out"
    assert any("picture" in text for text in finding.next_time), "growth was not seen, so it stays a suspect"


def test_a_sun_that_set_just_now_decides_nothing():
    facts = {"latitude": exact(33.4, "deg"), "longitude": exact(-112.0, "deg")}
    finding, _ = judged(
        30.0, base=36.0, facts=facts, taken="2026-07-14T21:30-07:00", sun="none", hours_without_sun=None
    )
    assert finding.verdict == "inconclusive" and finding.measured["sun elevation"].value < 0


def test_colder_than_shade_can_make_it_is_water_once_the_ground_is_known():
    """At 30 degC and 30 % the wet bulb is 18.0 degC (dossier P5); dry ground under a clear sky stays far above 14
    degC."""
    ground = exact(29.0, "degC")
    assert judged(14.0, base=40.0, ground=ground)[0].verdict == "suspect"
    assert judged(33.0, base=40.0, ground=ground)[0].verdict == "inconclusive"
    blind, shade = judged(20.0, base=32.0)
    assert blind.verdict == "inconclusive" and shade.status == "not testable"


def test_colder_than_water_can_make_it_is_shade():
    finding, shade = judged(15.5, base=58.0)
    assert finding.verdict == "inconclusive" and "more than water alone" in finding.title
    assert shade.status == "not ruled out" and finding.urgency == "watch"


def test_wet_beside_is_the_balance_of_the_reference():
    """Radiometry dossier section 7 with surroundings at air temperature: 30 degC, 30 %, h_c 10: 19.862 degC [computed];
    here the radiative coefficient is 5.5 instead of the exact one, about 0.1 K."""
    assert wet_beside(30.0, 30.0, 10.0, 0.3) == pytest.approx(19.862, abs=0.15)


def test_under_a_clear_night_sky_the_wet_bulb_is_no_floor():
    """Dossier P5 d and T13: at 20 degC and 50 % under a sky of -10 degC wet and dry ground stand at 9.7 and 10.0 degC
    [computed], both below the wet bulb of 13.8 degC."""
    calm = Conditions(
        outside_air=exact(20.0, "degC"),
        outside_humidity=exact(0.5, "1"),
        sky="clear",
        wind=exact(1.5, "m/s"),
        ground=exact(20.0, "degC"),
    )
    floors = floors_of(calm, exact(12.0, "degC"))
    assert floors.both.low < 13.8 and floors.dry.low < 20.0
    assert floors.water.value > 9.0 and 12.0 - floors.water.value < 3.0, "little is left for evaporation to take"


def test_limits_need_the_air():
    floors = floors_of(Conditions(), None)
    assert (floors.dry, floors.water, floors.both) == (None, None, None)


# --- sequences ----------------------------------------------------------------------------

TIMES = (("17:58", "shut"), ("18:06", "open"), ("18:12", "open"), ("18:20", "open"))


def sequence(parts_of, *, base=42.0, facts=None, **now):
    subjects, contexts = [], []
    for place, (clock, valve) in enumerate(TIMES):
        scene = Scene(
            name=f"bed-{place}",
            texture="bed",
            distance_m=3.0,
            base_c=base,
            reflected_c=10.0,
            air_c=AIR,
            humidity=HUMIDITY,
            emissivity=0.95,
            mottle_k=0.3,
            imager=Imager(noise_k=0.05, offset_k=0.2, accuracy_k=2.0),
            parts=parts_of(place),
        )
        region = Region("planting bed", scene.name, shows="irrigated ground", facts=facts or {})
        context = context_for(
            scene,
            regions=(region,),
            facts={"valve": valve},
            conditions=weather(**now),
            view={"shows": "irrigated ground", "sequence": "bed"},
        )
        subjects.append(replace(as_thermogram(render(scene), context), taken=f"2026-07-14T{clock}:00-07:00"))
        contexts.append(context)
    whole = replace(
        contexts[-1],
        regions=tuple(region for one in contexts for region in one.regions),
        views={one.view.thermogram: one.view for one in contexts},
        facts_of={one.view.thermogram: one.facts for one in contexts},
        conditions_of={one.view.thermogram: one.conditions for one in contexts},
    )
    return run_step(wet_ground.STEPS[0], tuple(subjects), whole).findings


def shadow(left, right, bottom):
    return Shade(
        name="shadow", outline=((left, -2.0), (right, -2.0), (right, bottom), (left, bottom)), drop_k=8.0, soft_m=0.02
    )


def grown(sign):
    """A place that grows from frame to frame and reads warmer or colder by 4 K."""

    def parts(place):
        size = 6.0 * place
        return (Patch(name="wet", rise_k=sign * 4.0, ellipse=(80.0, 60.0, size, size), soft_m=0.04),) if place else ()

    return parts


@pytest.mark.parametrize(
    "parts",
    [
        lambda place: (shadow(60.0, 85.0, 30.0 + 15.0 * place),),
        lambda place: (shadow(-5.0, 2.0 + 9.0 * place, 125.0),) if place else (),
    ],
    ids=["lengthens", "enters the picture"],
)
def test_a_shadow_that_grows_is_not_called_a_leak(parts):
    """Its edge, its place and its growth look like water; where it came from does not."""
    findings = sequence(parts)
    assert findings and all(one.verdict != "defect" for one in findings)
    came = [one for each in findings for one in each.rivals if one.explanation.startswith("a shadow that came")]
    assert came and any(one.status == "not ruled out" for one in came)


def test_a_place_that_grows_free_of_old_shade_is_found():
    (wet,) = [one for one in sequence(grown(-1.0)) if one.verdict == "defect"]
    assert wet.measured["growth rate"].unit == "m2/h" and wet.measured["growth rate"].low > 0


def test_after_dark_wet_ground_may_be_the_warmer_one():
    """Dossier P6 [seen]: the sign turns after dark; by day a warm place is never water."""
    night = sequence(grown(1.0), base=24.0, sun="none", hours_without_sun=exact(3.0, "h"))
    assert [one.verdict for one in night] == ["defect"] and "warmer" in night[0].summary
    assert all(one.verdict != "defect" for one in sequence(grown(1.0)))
