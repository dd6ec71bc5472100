"""Calculators against the dossier's tables and vectors; the number of the table stands beside each."""

from __future__ import annotations

import math

import pytest
from heatbrief.api import Context
from heatbrief.model import Quantity
from heatbrief.physics.electrical import class_table, classify, shown_temperature
from heatbrief.testing import run_step
from heatbrief_electrical import calculators as c
from heatbrief_electrical import classes


@pytest.mark.parametrize(
    ("rise", "share", "low", "usual", "high"),
    [
        (8.0, 0.5, 24.25, 27.86, 32.00),
        (5.0, 0.4, 21.66, None, 31.25),
        (3.0, 0.5, 9.09, None, 12.00),
        (12.4, 0.55, 32.3, None, 41.0),
    ],
)
def test_e9_rise_at_full_load(rise, share, low, usual, high):
    """E9 [computed: K1], exponent 1.6 to 2.0 [seen: S3]."""
    found = c.rise_at_other_load(rise, share, 1.0)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.05)
    assert usual is None or found.value == pytest.approx(usual, abs=0.005)


def test_e9_the_class_can_change_with_the_load():
    """8 K at 50 %: NETA similar class 2, at full load 4 [computed: K1]."""
    full = c.rise_at_other_load(8.0, 0.5, 1.0)
    assert classify(8.0, "neta-similar").code == 2 and {
        classify(one, "neta-similar").code for one in (full.low, full.high)
    } == {4}


@pytest.mark.parametrize(
    ("amps", "ohm", "volt", "watt"),
    [
        (15, 1e-3, 0.015, 0.225),
        (15, 1e-2, 0.15, 2.25),
        (15, 0.1, 1.5, 22.5),
        (40, 5e-3, 0.2, 8.0),
        (100, 1e-2, 1.0, 100.0),
        (1200, 50e-6, 0.06, 72.0),
        (1200, 200e-6, 0.24, 288.0),
    ],
)
def test_e14_joints(amps, ohm, volt, watt):
    """E14 [computed: K2]; 288 W [seen: S19]."""
    assert c.resistance_of(watt, amps).value == pytest.approx(ohm)
    assert c.drop_of(watt, amps).value == pytest.approx(volt)


def test_e14_bounds():
    """I known to 10 %, heat exact: resistance within about 20 %; no current, no resistance."""
    found = c.resistance_of(2.25, Quantity.between(13.5, 16.5, "A", 15.0))
    assert (found.low, found.high) == pytest.approx((2.25 / 16.5**2, 2.25 / 13.5**2))
    assert c.resistance_of(1.0, 0.0) is None


@pytest.mark.parametrize(
    ("volts", "percent"),
    [((480, 476, 472), 0.840), ((460, 467, 450), 1.961), ((429, 415, 419), 1.900), ((400, 395, 388), 1.606)],
)
def test_e15_unbalance(volts, percent):
    """E15 [seen: S17a, b, d]; the last one is printed as 1.45 % with the wrong phase [seen: S17c], trap T2."""
    found = 100 * c.unbalance(volts).value
    assert found == pytest.approx(percent, abs=0.001) and found != pytest.approx(1.45, abs=0.05)


def test_e15_unbalance_has_the_bounds_of_its_readings():
    volts = [Quantity.between(one - 2, one + 2, "V") for one in (400.0, 395.0, 388.0)]
    found = c.unbalance(volts)
    assert found.low < 0.01606 < found.high and found.half_width > 0.003


@pytest.mark.parametrize(("share", "more"), [(0.02, 0.08), (0.03, 0.18), (0.035, 0.245)])
def test_e15_winding(share, more):
    """2 u squared per cent [memory: DOE motor tip sheet, MG-1; K14]."""
    assert c.winding_rise_more(share).value == pytest.approx(more) and "memory" in c.winding_rise_more(share).method


def test_e15_neutral():
    """60/40/20 A: 34.6 A; balanced with 30 % third harmonic: 90 % of the phase current [computed: K14]."""
    assert c.neutral_current(60, 40, 20).value == pytest.approx(34.64, abs=0.01)
    assert c.neutral_current(100, 100, 100, 0.3).value == pytest.approx(90.0)


@pytest.mark.parametrize(("excess", "factor"), [(10, 0.5), (20, 0.25), (5, 0.707)])
def test_e8_ten_degrees(excess, factor):
    """E8 [computed: K14]."""
    assert c.life_factor(90.0 + excess, 90.0).value == pytest.approx(factor, abs=0.001)


def test_e8_applies_only_near_the_rating():
    """-20 K gives 4 by the formula [seen: S15], but the rule says nothing about a part well below its rating (E8
    text).
    """
    assert c.life_factor(69.0, 90.0) is None and c.life_factor(81.0, 90.0).value == pytest.approx(2**0.9)


@pytest.mark.parametrize(
    ("emissivity", "shown", "apart"), [(0.05, 28.7, 2.9), (0.10, 32.3, 5.6), (0.30, 45.6, 15.6), (0.60, 62.8, 28.1)]
)
def test_e13_emissivity_trap(emissivity, shown, apart):
    """True 80 and 40 degC, reflected 25, camera at 0.95 [computed: K14]."""
    hot, cool = (float(shown_temperature(one + 273.15, 298.15, emissivity)) - 273.15 for one in (80.0, 40.0))
    assert (hot, hot - cool) == pytest.approx((shown, apart), abs=0.06)
    true, seen = classify(40.0, "neta-similar").code, classify(hot - cool, "neta-similar").code
    assert seen < true or emissivity >= 0.3, "bright lugs under-report by a class or more"


def test_watts_of_a_face_against_a_reference_library():
    """Vertical plate by Churchill from the ht library and grey radiation; the bounds hold it."""
    ht = pytest.importorskip("ht")
    area, surface, air = 0.04, 338.15, 298.15
    film, off, height = (surface + air) / 2, surface - air, math.sqrt(area)
    nu, k, pr = 1.6e-5 * (film / 300) ** 1.7, 0.0263 * (film / 300) ** 0.8, 0.71
    convection = ht.Nu_vertical_plate_Churchill(pr, 9.80665 * off / film * height**3 / nu**2) * k / height * off
    expected = area * (convection + 0.9 * 5.670374e-8 * (surface**4 - air**4))
    found = c.heat_of_face(area, 65.0, 25.0, Quantity.between(0.8, 1.0, "1", 0.9))
    assert found.low < expected < found.high and c.heat_of_face(area, 20.0, 25.0) is None


def test_cost_of_the_waste():
    """22.8 W for 1800 h is 41.0 kWh; at 0.16 it costs 6.57 (arithmetic)."""
    energy = c.yearly_energy(Quantity.normal(22.8, "W", 2.0), 1800.0)
    price = Quantity.exact(0.16, "USD/kWh")
    assert energy.value == pytest.approx(41.04) and c.yearly_cost(energy, price, "USD").value == pytest.approx(
        6.566, abs=0.001
    )
    assert c.yearly_cost(energy, Quantity.exact(1.0, "USD/m3"), "USD") is None


def test_t1_a_rise_is_a_difference():
    """50 K is 90 degF of difference, not 122 degF (trap T1): rises carry the unit K."""
    assert c.rise_at_other_load(50.0, 1.0, 1.0).unit == "K"


def test_t10_the_top_class_starts_anywhere_from_15_to_75_k():
    """Trap T10: a factor of 5 between tables."""
    tops = [
        class_table(one).bands[-1].start
        for one in ("neta-similar", "neta-ambient", "mil-std-2194", "experience", "inspection-body")
    ]
    assert (min(tops), max(tops)) == (15.0, 75.0)


@pytest.mark.parametrize(
    ("share", "table", "stage"),
    [
        (None, "neta-similar", "unknown"),
        (0.39, "neta-similar", "pattern only"),
        (0.45, "neta-similar", "low load"),
        (0.6, "neta-similar", "classed"),
        (0.6, "european-phases", "pattern only"),
        (0.74, "european-ambient", "pattern only"),
        (0.75, "european-phases", "classed"),
    ],
)
def test_t8_the_load_a_table_is_stated_for(share, table, stage):
    """E11, trap T8: 40 % is the project's choice, the European table is stated for 75 % and more [seen: S5]."""
    assert classes.stage(share, table) == stage


def test_18_k_within_3_is_not_simply_major():
    """P(above 15 K) for 18 K with a 95 % half-width of 3 K: normal distribution, 97.5 %; of 2 standard 3 K: 84.1 %."""
    ninety_five = classes.probabilities(Quantity(18.0, "K", 15.0, 21.0), "neta-similar")
    standard = classes.probabilities(Quantity.normal(18.0, "K", 3.0), "neta-similar")
    assert ninety_five[4] == pytest.approx(0.975, abs=0.001) and standard[4] == pytest.approx(0.8413, abs=0.0002)
    found = classes.classed(Quantity.normal(18.0, "K", 3.0), "neta-similar", "test")
    assert [row["class"] for row in found.rows] == [
        "major discrepancy",
        "probable deficiency",
    ] and "84 %" in found.rows[0]["probability"]


def test_the_waste_of_a_poor_contact_is_priced(panel):
    """The finding of a scene goes on to the calculator; 2000 h at 0.16 per kWh (arithmetic)."""
    from heatbrief_electrical.twins import STEP
    from heatbrief_electrical.waste import STEP as WASTE

    made = panel().part("a", 30.0, 16, 20, "p").part("b", 10.0, 16, 20, "p")
    findings = made.run(STEP, facts={"air_around": Quantity.exact(25.0, "degC")}).findings
    prices = {"electricity": Quantity.exact(0.16, "USD/kWh")}
    output = run_step(WASTE, tuple(findings), Context(prices=prices), hours=2000.0)
    for estimate in output.estimates:
        energy = estimate.quantities["yearly_energy"]
        assert energy.value == pytest.approx(2.0 * estimate.quantities["heat_flow"].value)
        assert estimate.quantities["yearly_cost"].value == pytest.approx(0.16 * energy.value, rel=0.01)
    assert output.estimates, output.notes
