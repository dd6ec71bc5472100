"""A damp ceiling is found between wet bulb and air; colder spots, cold air behind and sharp edges are told apart."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.testing import Imager, Scene, as_thermogram, context_for, render, run_step
from heatbrief.testing.parts import Patch, WetPatch
from heatbrief_plumbing.air import dew_point_of, wet_bulb_of
from heatbrief_plumbing.damp_surface import STEP

DAMP = WetPatch(
    name="damp", centre_px=(80.0, 60.0), radius_m=0.2, soft_m=0.06, ragged=0.1, wetness=0.45, air_c=22.0, humidity=0.45
)


def ceiling(*parts, beyond=22.0, facts=None, humidity=0.45, imager=None, **now):
    scene = Scene(
        name="ceiling",
        distance_m=1.8,
        base_c=22.0,
        reflected_c=22.0,
        air_c=22.0,
        humidity=humidity,
        emissivity=0.94,
        mottle_k=0.05,
        imager=imager or Imager(noise_k=0.05, accuracy_k=2.0),
        parts=parts,
    )
    region = Region(
        "ceiling below the bath",
        "ceiling",
        shows="ceiling",
        facts={"air_beyond": Quantity.exact(beyond, "degC"), **(facts or {})},
    )
    conditions = Conditions(humidity=Quantity.exact(humidity, "1"), **now)
    context = context_for(
        scene,
        regions=(region,),
        facts={"second view": "same place"},
        conditions=conditions,
        view={"shows": "ceiling below the bathroom"},
    )
    rendered = render(scene)
    return as_thermogram(rendered, context), context, {one.name: one for one in rendered.truth.records}


@pytest.mark.parametrize(
    ("air", "humidity", "wet", "dew"), [(20.0, 0.5, 13.78, 9.3), (25.0, 0.3, 14.42, 6.2), (30.0, 0.8, 27.09, 26.2)]
)
def test_wet_bulb_and_dew_point_of_the_table(air, humidity, wet, dew):
    """Domains dossier P5, computed with PsychroLib 2.5.0 at 101 325 Pa."""
    given = Quantity.exact(air, "degC"), Quantity.exact(humidity, "1")
    assert wet_bulb_of(*given).value == pytest.approx(wet, abs=0.02)
    assert dew_point_of(*given).value == pytest.approx(dew, abs=0.06)


def test_a_damp_patch_is_found_with_its_numbers():
    subject, context, records = ceiling(DAMP)
    (finding,) = run_step(STEP, subject, context).findings
    truth = records["damp"]
    assert finding.verdict == "defect" and finding.urgency == "soon"
    assert finding.measured["contrast"].value == pytest.approx(truth.contrast_k, abs=0.35)
    assert finding.measured["area"].low <= truth.area_m2 <= finding.measured["area"].high
    assert 0.1 < finding.measured["share of reach"].value < 0.8
    assert "plumbing.moisture-meter" in finding.actions and "Consistent with" in finding.summary


def test_a_patch_colder_than_the_wet_bulb_is_not_evaporation_alone():
    """Rule (a) of P5: at 22 degC and 45 % the wet bulb is 14.5 degC, so 10 degC needs another cause."""
    subject, context, _ = ceiling(Patch(name="cold", celsius=10.0, ellipse=(80.0, 60.0, 16.0, 14.0), soft_m=0.06))
    (finding,) = run_step(STEP, subject, context).findings
    assert finding.verdict == "suspect"
    assert "colder than evaporation alone" in finding.summary and "damp" not in finding.title


@pytest.mark.parametrize("beyond", [0.0, -10.0])
def test_cold_air_behind_makes_it_inconclusive_until_a_meter_speaks(beyond):
    subject, context, _ = ceiling(DAMP, beyond=beyond)
    (finding,) = run_step(STEP, subject, context).findings
    assert finding.verdict == "inconclusive"
    subject, context, _ = ceiling(DAMP, beyond=beyond, facts={"moisture meter": "wet"})
    assert run_step(STEP, subject, context).findings[0].verdict in ("suspect", "defect")


def test_a_dry_meter_reading_counts():
    subject, context, _ = ceiling(DAMP, facts={"moisture meter": "dry"})
    assert run_step(STEP, subject, context).findings[0].verdict == "suspect"


def test_humid_air_is_a_gate():
    """Rule (c) of P5: above 80 % a wet surface hardly cools."""
    subject, context, _ = ceiling(
        Patch(name="cold", rise_k=-1.5, ellipse=(80.0, 60.0, 16.0, 14.0), soft_m=0.06), humidity=0.9
    )
    assert run_step(STEP, subject, context).findings[0].verdict == "inconclusive"


def test_unknown_humidity_is_at_most_suspect():
    subject, context, _ = ceiling(DAMP)
    bare = replace(context, conditions=replace(context.conditions, humidity=None))
    assert run_step(STEP, subject, bare).findings[0].verdict == "suspect"


def test_a_sharp_patch_is_not_called_water():
    """A repair or a register ends sharply; its rival stays open and is named."""
    subject, context, _ = ceiling(Patch(name="register", rise_k=-3.0, box=(60.0, 45.0, 40.0, 30.0)))
    (finding,) = run_step(STEP, subject, context).findings
    sharp = [one for one in finding.rivals if "sharp outline" in one.explanation]
    assert sharp[0].status == "not ruled out"


@pytest.mark.parametrize(
    "parts",
    [
        (),
        (Patch(name="warm", rise_k=3.0, ellipse=(80.0, 60.0, 16.0, 14.0)),),
        (Patch(name="line", rise_k=-2.0, box=(10.0, 58.0, 140.0, 4.0)),),
    ],
    ids=["plain", "warm", "line"],
)
def test_what_is_not_a_cold_patch_gives_nothing(parts):
    subject, context, _ = ceiling(*parts)
    assert run_step(STEP, subject, context).findings == ()


def test_a_patch_on_a_surface_without_temperatures_is_still_told_from_water():
    """A surface fit for comparison only has contrasts but no temperatures; evaporation reaches about 7 K at 22 degC and 45 %."""
    subject, context, _ = ceiling(Patch(name="cold", celsius=8.0, ellipse=(80.0, 60.0, 16.0, 14.0), soft_m=0.06))
    (finding,) = run_step(STEP, replace(subject, absolute=(False,) * len(subject.absolute)), context).findings
    (gate,) = (one for one in finding.gates if one.name == "not colder than the wet bulb")
    assert "no temperature" in gate.reason and "K colder than around it" in gate.reason
    assert finding.verdict == "suspect"
