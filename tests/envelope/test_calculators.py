"""Void effect, leak flow and duct delivery against the worked examples of the dossier (computed unless said)."""

from __future__ import annotations

import pytest
from heatbrief.api import Context
from heatbrief.model import Conditions, Finding, Quantity, Region
from heatbrief_envelope import duct_delivery, leak_flow, void_effect
from support import run_held

EXACT = Quantity.exact
R_IP, CFM, BTU_H, FT2 = 0.1761101838, 0.3048**3 / 60.0, 0.29307107, 0.3048**2


def finding(check, **measured):
    return Finding("one", "envelope", check, "room", "the wall", "t", "s", "defect", "plan", 0.9, measured=measured)


def context(facts=None, **now):
    return Context(
        conditions=Conditions(**now), regions=(Region("the wall", "room", shows="ceiling", facts=facts or {}),)
    )


# --- voids --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("share", "bare", "whole"),
    [(0.01, 1.6, 30.96), (0.05, 1.6, 17.78), (0.10, 1.6, 11.60), (0.05, 3.0, 24.00), (0.02, 1.0, 21.84)],
)
def test_a_bare_share_of_a_ceiling(share, bare, whole):
    """EX-7.1: R-38 with a void; 5 % bare leaves R 17.78, the published loss of 54 % of R."""
    sound, void = 1 / (38.0 * R_IP), 1 / (bare * R_IP)
    found = void_effect.void_effect(EXACT(share, "1"), EXACT(void - sound, "W/m2/K"), EXACT(sound, "W/m2/K"))
    assert found["resistance_whole"].value / R_IP == pytest.approx(whole, rel=1e-3)


def test_a_hatch_of_r_one_half():
    """EX-7.2: 74 ft2 R-19 and 1 ft2 R-0.5 make R 12.723 (the source's 12.66 rounds 1/19)."""
    sound, void = 1 / (19.0 * R_IP), 1 / (0.5 * R_IP)
    found = void_effect.void_effect(EXACT(1 / 75, "1"), EXACT(void - sound, "W/m2/K"), EXACT(sound, "W/m2/K"))
    assert found["resistance_whole"].value / R_IP == pytest.approx(12.723, rel=1e-3)


def test_the_estimate_needs_a_sound_u():
    patch = finding(
        "envelope.insulation", **{"share of region": EXACT(0.05, "1"), "added transmittance": EXACT(3.4, "W/m2/K")}
    )
    output = run_held(void_effect.STEP, (patch,), void_effect.Settings(), context())
    assert output.estimates == () and "expected_u" in output.notes[0]
    (estimate,) = run_held(
        void_effect.STEP, (patch,), void_effect.Settings(), context({"expected_r": EXACT(38 * R_IP, "m2*K/W")})
    ).estimates
    assert estimate.quantities["extra_share"].value == pytest.approx(0.05 * 3.4 * 38 * R_IP)


# --- air ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("pressure", "flow"), [(4.0, 0.015723), (10.0, 0.024861)])
def test_orifice(pressure, flow):
    """EX-8.9: 0.01 m2 with a discharge coefficient of 0.61."""
    found = leak_flow.through_opening(EXACT(0.01, "m2"), EXACT(-pressure, "Pa"))
    assert found.value == pytest.approx(3600 * flow, rel=1e-3)
    assert found.low == pytest.approx(found.value * 0.5 / 0.61, rel=1e-6)


def test_stack_and_wind():
    """EX-8.10: 20 to 0 degC over 5 m is 4.323 Pa; EX-8.11: 5 m/s is 15.05 Pa, here times the coefficient 0.4."""
    airs = {"inside_air": EXACT(20.0, "degC"), "outside_air": EXACT(0.0, "degC")}
    still = leak_flow.natural_pressure(Conditions(**airs), EXACT(5.0, "m"))
    assert still.value == pytest.approx(4.323, rel=1e-3)
    windy = leak_flow.natural_pressure(Conditions(**airs, wind=EXACT(5.0, "m/s")), EXACT(5.0, "m"))
    assert windy.value == pytest.approx((4.323**2 + (0.4 * 15.05) ** 2) ** 0.5, rel=1e-3)
    assert leak_flow.natural_pressure(Conditions(**airs), None) is None


def test_heat_of_air():
    """EX-8.14: 200 cfm at 50 degF of difference is 3165 W."""
    now = Conditions(inside_air=EXACT(70 / 1.8, "degC"), outside_air=EXACT(20 / 1.8, "degC"))
    assert leak_flow.heat_of(EXACT(200 * CFM * 3600, "m3/h"), now).value == pytest.approx(3165.0, rel=0.006)


def test_a_fan_test():
    """EX-8.1: 2000 cfm at 50 Pa, exponent 0.65 has 709.1 cm2; EX-8.2: 7.5 changes an hour in 16 000 ft3; EX-8.8: two
    storeys, class 3, 15 K, 3 m/s pass 0.05686 m3/s."""
    settings = leak_flow.Settings(
        flow_at_50=EXACT(2000 * CFM * 3600, "m3/h"), exponent=EXACT(0.65, "1"), volume=EXACT(453.07, "m3"), storeys=2
    )
    now = Conditions(inside_air=EXACT(20.0, "degC"), outside_air=EXACT(5.0, "degC"), wind=EXACT(3.0, "m/s"))
    found = leak_flow.whole_house(settings, now)
    assert found["leakage_area"].value == pytest.approx(709.1, rel=1e-3)
    assert found["air_changes_at_50_pa"].value == pytest.approx(7.5, rel=1e-3)
    assert found["air_flow_of_the_day"].value == pytest.approx(3600 * 0.05686, rel=1e-3)
    assert found["air_flow_of_the_day"].low <= 0.65 * found["air_flow_of_the_day"].value


def test_a_leak_without_its_opening_gets_no_flow():
    leak = finding("envelope.air_leakage_pair")
    output = run_held(leak_flow.STEP, (leak,), leak_flow.Settings(), context())
    assert output.estimates == () and "opening" in output.notes[0]
    now = {
        "inside_air": EXACT(21.0, "degC"),
        "outside_air": EXACT(1.0, "degC"),
        "pressure_difference": EXACT(-25.0, "Pa"),
    }
    facts = {"opening": EXACT(5e-4, "m2"), "height from middle": EXACT(2.5, "m")}
    (estimate,) = run_held(leak_flow.STEP, (leak,), leak_flow.Settings(), context(facts, **now)).estimates
    assert {"air_flow_with_the_fan", "air_flow_by_warmth_and_wind", "heat_flow"} <= set(estimate.quantities)


# --- ducts --------------------------------------------------------------------------------


def system(**more):
    """EX-9.2: 60 kBtu/h, 1000 cfm, 540 and 200 ft2, nominal R-6, room 68 and attic 42 degF: rise 55.556 degF."""
    given = {
        "supply_area": EXACT(540 * FT2, "m2"),
        "return_area": EXACT(200 * FT2, "m2"),
        "resistance": EXACT(6 * R_IP, "m2*K/W"),
        "flow": EXACT(1000 * CFM * 3600, "m3/h"),
        "room_air": EXACT(20.0, "degC"),
        "supply_air": EXACT(20.0 + 60000 / 1080 / 1.8, "degC"),
        "around": EXACT(20.0 - 26 / 1.8, "degC"),
        **more,
    }
    return duct_delivery.Settings(**given)


@pytest.mark.parametrize(
    ("supply", "back", "plain", "regained"),
    [(0.0, 0.0, 0.8625, 0.8762), (0.10, 0.10, 0.7388, 0.7604), (0.15, 0.05, 0.7154, 0.7416)],
    ids=["EX-9.2", "EX-9.3", "EX-9.4"],
)
def test_delivery_of_ashrae_152(supply, back, plain, regained):
    found = duct_delivery.delivery(system(supply_leak=EXACT(supply, "1"), return_leak=EXACT(back, "1")))
    assert found["delivery_effectiveness"].value == pytest.approx(plain, abs=2e-4)
    assert found["delivery_with_regain"].value == pytest.approx(regained, abs=2e-4)


@pytest.mark.parametrize(("nominal", "gain", "outlet"), [(4.2, 9532, 62.4), (6, 7878, 61.1), (8, 6605, 60.1)])
def test_conduction_gain_in_a_hot_attic(nominal, gain, outlet):
    """EX-9.5: 1200 cfm at 55 degF, 540 ft2, attic 140 degF."""
    settings = system(
        flow=EXACT(1200 * CFM * 3600, "m3/h"),
        supply_air=EXACT(23 / 1.8, "degC"),
        around=EXACT(60.0, "degC"),
        room_air=EXACT(24.0, "degC"),
        resistance=EXACT(nominal * R_IP, "m2*K/W"),
    )
    found = duct_delivery.delivery(settings)
    assert found["conduction_gain"].value == pytest.approx(gain * BTU_H, rel=1e-3)
    assert found["air_at_the_outlet"].value * 1.8 + 32 == pytest.approx(outlet, abs=0.06)


def test_cooling_delivers_less_when_the_attic_is_hotter():
    cool = {"supply_air": EXACT(13.0, "degC"), "room_air": EXACT(24.0, "degC")}
    mild, hot = (
        duct_delivery.delivery(system(**cool, around=EXACT(around, "degC")))["delivery_effectiveness"]
        for around in (30.0, 55.0)
    )
    assert 0.0 < hot.value < mild.value < 1.0 and hot.low < hot.value < hot.high


def test_nothing_is_invented_for_a_system_that_is_not_described():
    assert run_held(duct_delivery.STEP, (), duct_delivery.Settings(), context()).notes == ()
    output = run_held(duct_delivery.STEP, (finding("envelope.duct"),), duct_delivery.Settings(), context())
    assert output.estimates == () and "`flow`" in output.notes[0]
    (estimate,) = run_held(duct_delivery.STEP, (), system(), context()).estimates
    assert estimate.kind == "duct-delivery" and estimate.assumptions
