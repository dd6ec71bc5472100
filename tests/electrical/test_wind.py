"""Wind: the remembered table against the physics, and what wind does to a class."""

from __future__ import annotations

import pytest
from heatbrief.model import Quantity
from heatbrief_electrical import wind
from heatbrief_electrical.twins import STEP

TABLE = (1.00, 1.36, 1.64, 1.86, 2.06, 2.23, 2.40, 2.50)
PHYSICS = (1.00, 1.35, 1.63, 1.87, 2.08, 2.28, 2.46, 2.63)


@pytest.mark.parametrize("speed", range(1, 9))
def test_e12_table_and_physics(speed):
    """E12: table [memory]; 12 mm cylinder in forced convection plus 5.5 W/m2K [computed: K7]; both within the bounds
    given.
    """
    assert float(wind.physics_factor(float(speed))) == pytest.approx(PHYSICS[speed - 1], abs=0.012)
    found = wind.wind_factor(float(speed))
    assert (
        found.value == TABLE[speed - 1]
        and found.low <= PHYSICS[speed - 1] + 0.012
        and found.high >= PHYSICS[speed - 1] - 0.012
    )
    assert found.value == pytest.approx(PHYSICS[speed - 1], rel=0.053) and "memory" in found.method


@pytest.mark.parametrize("speed", [1.0, 3.0, 8.0])
def test_the_correlation_agrees_with_a_reference_library(speed):
    ht = pytest.importorskip("ht")
    from heatbrief.physics.air_properties import conductivity, density, prandtl, viscosity

    number = density(320.0) * speed * 0.012 / viscosity(320.0)
    expected = ht.Nu_cylinder_Churchill_Bernstein(float(number), float(prandtl(320.0))) * conductivity(320.0) / 0.012
    assert float(wind.forced_coefficient(speed)) == pytest.approx(float(expected), rel=1e-6)


def test_outside_the_table_there_is_no_factor():
    assert wind.wind_factor(0.5) is None and wind.wind_factor(9.0) is None and wind.wind_factor(None) is None


def outside(panel, speed):
    made = panel(shows="connector", look="connectors outside", wind=Quantity.exact(speed, "m/s"), sun="none")
    return made.part("first", 6.0, 16, 20, "pair").part("second", 14.0, 16, 20, "pair")


def test_a_breeze_is_allowed_for_and_marked(panel):
    (finding,) = outside(panel, 3.0).run(STEP).findings
    brought = finding.measured["difference brought to 1 m per s"]
    assert (
        brought.value == pytest.approx(8.0 * 1.64, abs=0.3)
        and "table from memory" in finding.summary
        and finding.classes
    )
    assert any("brought to 1 m/s" in row["compares"] for row in finding.classes)


def test_in_strong_wind_there_is_no_class(panel):
    """Above about 4 to 5 m/s no class [CP]."""
    (finding,) = outside(panel, 6.0).run(STEP).findings
    assert finding.classes == () and finding.verdict == "inconclusive" and "no severity is given" in finding.summary
    assert "difference brought to 1 m per s" not in finding.measured


def test_inside_there_is_no_wind(panel):
    (finding,) = (
        panel(wind=Quantity.exact(6.0, "m/s"))
        .part("a", 6.0, 16, 20, "p")
        .part("b", 14.0, 16, 20, "p")
        .run(STEP)
        .findings
    )
    assert finding.classes and not any("1 m per s" in name for name in finding.measured)
