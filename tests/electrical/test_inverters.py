"""Inverters in pairs, and what an overheated part gives off."""

from __future__ import annotations

import pytest
from heatbrief.api import Context
from heatbrief.model import Quantity
from heatbrief_electrical.inverters import STEP
from heatbrief_electrical.waste import STEP as WASTE

AIR = {"air_around": Quantity.exact(30.0, "degC")}


def inverters(panel, left, right, loads=(13.0, 13.0)):
    made = panel("inverter", look="inverters inside", material="painted steel", sun="none")
    return made.part("left inverter", left, loads[0], 16, "inverters").part(
        "right inverter", right, loads[1], 16, "inverters"
    )


def test_the_warmer_of_two_at_the_same_load(panel):
    """Paired index: 27 K at 3.0 kW against 18 K at 3.2 kW is 1.60 (domains dossier E18 [computed: K14])."""
    (finding,) = inverters(panel, 18.0, 27.0, (15.0 * 3.2 / 3.2, 15.0 * 3.0 / 3.2)).run(STEP, facts=AIR).findings
    assert finding.region == "right inverter" and finding.urgency == "soon"
    assert finding.measured["rise for load over twin"].value == pytest.approx(1.60, abs=0.03)
    assert "blocked cooling" in finding.summary


def test_alike_is_no_finding(panel):
    output = inverters(panel, 18.0, 20.0).run(STEP, facts=AIR)
    assert output.findings == () and output.notes


@pytest.mark.parametrize(("load", "status"), [(None, "not testable"), (13.0, "ruled out"), (0.0, "not ruled out")])
def test_the_cold_one_is_off(panel, load, status):
    (finding,) = inverters(panel, 20.0, 0.5, (13.0, load)).run(STEP, facts=AIR).findings
    assert (
        finding.region == "right inverter"
        and "off, has tripped" in finding.summary
        and finding.urgency in ("plan", "watch")
    )
    assert [one.status for one in finding.rivals if "meant to be off" in one.explanation] == [status]
    assert (finding.verdict == "defect") == (status != "not ruled out")


def estimates(findings, prices=None, **settings):
    return WASTE.run(tuple(findings), WASTE.settings(**settings), Context(prices=prices or {}))


def test_watts_agree_with_a_handbook_plate(panel):
    """Churchill-Chu vertical plate from the ht library plus grey radiation, at the two temperatures; bounds hold the
    difference.
    """
    ht = pytest.importorskip("ht")
    (finding,) = inverters(panel, 18.0, 38.0).run(STEP, facts=AIR).findings
    estimate = estimates([finding]).estimates[0]
    area = finding.measured["face area"].value

    def loss(surface):
        film, off = (surface + 303.15) / 2, surface - 303.15
        nu, k, pr = 1.6e-5 * (film / 300) ** 1.7, 0.0263 * (film / 300) ** 0.8, 0.71
        height = area**0.5
        grashof = 9.80665 * off / film * height**3 / nu**2
        return area * (
            ht.Nu_vertical_plate_Churchill(pr, grashof) * k / height * off
            + 0.9 * 5.670374e-8 * (surface**4 - 303.15**4)
        )

    flow, expected = estimate.quantities["heat_flow"], loss(341.15) - loss(321.15)
    assert flow.low < expected < flow.high and flow.value == pytest.approx(expected, rel=0.15)
    assert set(estimate.quantities) == {"heat_flow"} and estimates([finding]).notes


def test_yearly_figures_need_the_hours(panel):
    (finding,) = inverters(panel, 18.0, 38.0).run(STEP, facts=AIR).findings
    price = {"electricity": Quantity.exact(0.16, "USD/kWh")}
    found = estimates([finding], price, hours=1500.0).estimates[0].quantities
    assert (
        found["yearly_energy"].value == pytest.approx(found["heat_flow"].value * 1.5)
        and found["yearly_energy"].unit == "kWh/a"
    )
    assert (
        found["yearly_cost"].value == pytest.approx(found["yearly_energy"].value * 0.16)
        and found["yearly_cost"].unit == "USD/a"
    )
    assert "yearly_cost" not in estimates([finding], None, hours=1500.0).estimates[0].quantities


def test_the_pair_by_power(panel):
    """E18 [computed: K14]: 27 K at 3.0 kW over 18 K at 3.2 kW is 1.60, by the powers on the displays."""
    made = panel("inverter", look="inverters inside", material="painted steel", sun="none")
    for name, rise, watts in (("left inverter", 18.0, 3200.0), ("right inverter", 27.0, 3000.0)):
        powers = {"power": Quantity.exact(watts, "W"), "rated power": Quantity.exact(4000.0, "W")}
        made.part(name, rise, None, None, "inverters", **powers)
    (finding,) = made.run(STEP, facts=AIR).findings
    assert finding.measured["rise for load over twin"].value == pytest.approx(1.60, abs=0.03)
    assert finding.classes and "75 % load" in finding.summary


def test_the_resistance_that_would_make_the_heat(panel):
    """R = P / I^2 and V = P / I (E14), for the heat of the seen face."""
    from heatbrief_electrical.twins import STEP as TWINS

    made = panel().part("a", 6.0, 32, 40, "pair").part("b", 16.0, 32, 40, "pair")
    (finding,) = made.run(TWINS, facts={**AIR, "load held": Quantity.exact(60.0, "min")}).findings
    found = estimates([finding]).estimates[0].quantities
    assert found["resistance_that_makes_it"].value == pytest.approx(found["heat_flow"].value / 32**2)
    assert found["voltage_across_it"].value == pytest.approx(found["heat_flow"].value / 32)
