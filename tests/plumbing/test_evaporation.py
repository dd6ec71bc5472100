"""Evaporated water against the Lewis relation by hand and against a published measurement."""

from __future__ import annotations

import psychrolib
import pytest
from heatbrief.api import Context
from heatbrief.model import Conditions, Finding, Quantity
from heatbrief_plumbing.evaporating import mass_flux
from heatbrief_plumbing.evaporation import STEP, Settings, run
from support import run_held

psychrolib.SetUnitSystem(psychrolib.SI)


def finding(check="plumbing.damp_surface", **measured):
    given = {
        "area": Quantity.between(0.18, 0.22, "m2", 0.2),
        "mean temperature": Quantity.between(18.5, 19.5, "degC", 19.0),
        **measured,
    }
    return Finding(
        "one",
        "plumbing",
        check,
        "kitchen",
        "ceiling",
        "t",
        "s",
        "defect",
        "soon",
        0.9,
        measured={k: v for k, v in given.items() if v is not None},
    )


def room(**prices):
    return Context(
        conditions=Conditions(
            inside_air=Quantity.exact(22.0, "degC"),
            humidity=Quantity.exact(0.45, "1"),
            outside_air=Quantity.exact(35.0, "degC"),
            outside_humidity=Quantity.exact(0.25, "1"),
            wind=Quantity.exact(1.5, "m/s"),
        ),
        prices=prices,
    )


def test_mass_flux_is_the_lewis_relation():
    """hc / cp (Ws - Wa) with the humidity ratios of PsychroLib and cp 1006 + 1860 W J/kgK of moist air; surface 19
    degC, room 22 degC and 45 %, hc 3.5."""
    exact = Quantity.exact
    got = mass_flux(exact(19.0, "degC"), exact(22.0, "degC"), exact(0.45, "1"), exact(3.5, "W/m2/K"), exact(1.0, "1"))
    wet = psychrolib.GetHumRatioFromRelHum(19.0, 1.0, 101325)
    dry = psychrolib.GetHumRatioFromRelHum(22.0, 0.45, 101325)
    assert got.value == pytest.approx(3.5 / (1006.0 + 1860.0 * dry) * (wet - dry), rel=0.01)


def test_a_damp_ceiling_loses_a_plausible_amount():
    """At least what half-wet plaster loses and at most open water: 0.2 m2 x 3.5/1006 x 0.0063 x 3600 s = 16 g/h when
    fully wet."""
    (estimate,) = run_held(STEP, (finding(),), Settings(), room(water=Quantity.exact(2.0, "USD/m3"))).estimates
    flow = estimate.quantities["evaporation"]
    assert flow.unit == "L/h" and flow.low <= 0.016 * 0.6 <= flow.high
    year = estimate.quantities["yearly_water"]
    assert year.unit == "m3/a" and year.value == pytest.approx(flow.value * 8.760)
    assert estimate.quantities["yearly_cost"].value == pytest.approx(2.0 * year.value)
    assert any("lower bound" in note for note in estimate.notes)


def test_ground_has_no_yearly_figure_until_the_running_time_is_given():
    wet = finding(
        "plumbing.wet_ground",
        **{"mean temperature": Quantity.between(26.0, 30.0, "degC", 28.0), "area": Quantity.exact(0.8, "m2")},
    )
    (bare,) = run((wet,), Settings(), room()).estimates
    assert "yearly_water" not in bare.quantities and any("hours_a_day_outside" in note for note in bare.notes)
    (timed,) = run_held(STEP, (wet,), Settings(hours_a_day_outside=1.0, days_a_year_outside=100.0), room()).estimates
    assert timed.quantities["yearly_water"].value == pytest.approx(timed.quantities["evaporation"].value * 0.1)


@pytest.mark.parametrize("missing", ["area", "mean temperature"])
def test_what_is_missing_is_said(missing):
    output = run((finding(**{missing: None}),), Settings(), room())
    assert output.estimates == () and "not known" in output.notes[0]


def test_no_evaporation_into_saturated_air():
    humid = Context(conditions=Conditions(inside_air=Quantity.exact(22.0, "degC"), humidity=Quantity.exact(1.0, "1")))
    output = run((finding(),), Settings(), humid)
    assert output.estimates == () and "too humid" in output.notes[0]


def test_normal_findings_and_other_checks_are_left_alone():
    assert run((finding("plumbing.pipe"),), Settings(), room()) == run((), Settings(), room())
    assert STEP.stage == "estimate"
