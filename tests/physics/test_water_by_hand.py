"""Water worked by hand from the formulas of the handbooks named, and general laws that must hold."""

from __future__ import annotations

import ht
import numpy as np
import pytest
from heatbrief.physics import water
from heatbrief.physics.psychrometrics import saturation_pressure


@pytest.mark.parametrize(("ra", "pr"), [(1e-3, 0.7), (1e3, 0.7), (1e5, 7.0), (1e9, 100.0)])
def test_nusselt_of_a_cylinder(ra: float, pr: float) -> None:
    """Churchill and Chu 1975, as the library ht has it."""
    expected = ht.Nu_horizontal_cylinder_Churchill_Chu(pr, ra / pr)
    assert float(water.churchill_chu_cylinder_nusselt(ra, pr)) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("t_water", "t_air", "cooling", "freezing"),
    [
        (10.0, -10.0, 8372.0 * np.log(2.0), 66800.0),
        (0.0, -10.0, 0.0, 66800.0),
        (10.0, -5.0, 8372.0 * np.log(3.0), 133600.0),
        (10.0, 0.0, np.inf, np.inf),
        (10.0, 5.0, np.inf, np.inf),
    ],
)
def test_freezing_of_a_pipe(t_water: float, t_air: float, cooling: float, freezing: float) -> None:
    """rho c D / 4 h = 1000 x 4186 x 0.016 / (4 x 2) = 8372 s; rho L D / (4 h dT) with L 334 kJ/kg; first-order cooling."""
    found = water.freeze_times(0.016, t_water + 273.15, t_air + 273.15, 2.0)
    assert [float(one) for one in found] == pytest.approx([cooling, freezing], rel=1e-9)


def test_flow_of_a_hole() -> None:
    """Torricelli: 3 mm at 4 bar; sqrt(2 x 400000 / 999.1) = 28.30 m/s, times 0.61 and 7.0686e-6 m2: 0.122 L/s."""
    assert float(water.leak_flow(0.003, 4e5)) == pytest.approx(0.61 * 7.06858e-6 * 28.2968, rel=1e-5)
    assert float(water.leak_flow(0.003, 4e5, 1.0, 1000.0)) == pytest.approx(7.06858e-6 * 28.28427, rel=1e-6)
    assert float(water.implied_discharge(water.leak_flow(0.003, 4e5, 0.5), 0.003, 4e5)) == pytest.approx(0.5)


def test_drips_and_heat_of_water() -> None:
    assert float(water.drip_flow(2.0)) == pytest.approx(0.66e-6) and float(water.drip_flow(2.0, 1e-7)) == 2e-7
    assert float(water.heated_water_energy(0.002, 10.0)) == pytest.approx(2.0 * 4186.0 * 10.0)
    assert float(water.seep_from_wet_area(3.0, 2e-5)) == pytest.approx(6e-8)
    assert float(water.seep_from_wet_area(3.0, -2e-5)) == 0.0, "condensation is no seep"
    assert float(water.evaporative_flux(2e-5, 273.15)) == pytest.approx(50.02)


def test_dalton_and_lewis() -> None:
    """h/cp (Ws - Wa): 10 / (1006 + 1860 x 0.01) x 0.005; Le^(-2/3) of 0.125 is 4."""
    plain = 10.0 / 1024.6 * 0.005
    assert float(water.evaporation_lewis(10.0, 0.015, 0.010)) == pytest.approx(plain)
    assert float(water.evaporation_lewis(10.0, 0.015, 0.010, 0.125)) == pytest.approx(4.0 * plain)
    assert float(water.evaporation_lewis(10.0, 0.005, 0.010)) == pytest.approx(-plain)


def test_pools() -> None:
    """(0.089 + 0.0782 V)(pw - pa) Fa / Y at 0 degC, Y 2501 kJ/kg: still air 0.089 x 1000 / 2501000."""
    assert float(water.evaporation_carrier(2000.0, 1000.0, 0.0, 273.15)) == pytest.approx(89.0 / 2.501e6)
    assert float(water.evaporation_carrier(2000.0, 1000.0, 2.0, 273.15, 0.5)) == pytest.approx(0.5 * 245.4 / 2.501e6)


def test_penman_of_radiation_alone_and_of_wind_alone() -> None:
    """Saturated air: D Rn / (lam (D + g)). No sun: g 6.43 (1 + 0.536 u) deficit / (lam (D + g)) mm/d (Shuttleworth)."""
    t, lam = 293.15, 2501.0 - 2.361 * 20.0
    slope = float(saturation_pressure(t + 0.01) - saturation_pressure(t - 0.01)) / 0.02 / 1e3
    gamma = 1.013e-3 * 101.325 / (0.622 * lam / 1e3)
    sun = float(water.evaporation_penman(t, 1.0, 3.0, 200.0))
    assert sun == pytest.approx(slope * 200.0 / (lam * 1e3 * (slope + gamma)), rel=1e-4)
    wind = float(water.evaporation_penman(t, 0.5, 3.0, 0.0))
    deficit = 0.5 * float(saturation_pressure(t)) / 1e3
    assert wind * 86400.0 == pytest.approx(gamma * 6.43 * 2.608 * deficit / (lam / 1e3 * (slope + gamma)), rel=1e-4)
    assert float(water.evaporation_penman(t, 0.5, 3.0, 200.0)) == pytest.approx(wind + sun, rel=0.5)


def test_insulated_pipe() -> None:
    """dT / (ln(Do/D) / 2 pi k + 1 / (h pi Do)): 40 K, 20 mm with 20 mm of k 0.04, h 9: ln 3 and 60 mm."""
    resistance = np.log(3.0) / (2 * np.pi * 0.04) + 1.0 / (9.0 * np.pi * 0.06)
    given = (333.15, 293.15, 0.02, 0.02, 0.04)
    assert float(water.insulated_pipe_loss(*given)) == pytest.approx(40.0 / resistance)
    skin = 293.15 + 40.0 / resistance / (9.0 * np.pi * 0.06)
    assert float(water.insulated_pipe_skin(*given)) == pytest.approx(skin)
    better = float(water.insulated_pipe_loss(*given, 18.0))
    assert better == pytest.approx(40.0 / (resistance - 1.0 / (18.0 * np.pi * 0.06)))
    assert float(water.insulated_pipe_skin(*given, 18.0)) == pytest.approx(293.15 + better / (18.0 * np.pi * 0.06))


def test_bare_pipe_is_convection_and_radiation() -> None:
    """Black and bright differ by 4 sigma Tm^3 to first order: 5.67e-8 (333^4 - 293^4) x 0.9 W/m2."""
    given = (333.15, 293.15, 0.02)
    dull, bright = float(water.bare_pipe_loss(*given)), float(water.bare_pipe_loss(*given, 0.0))
    assert bright == pytest.approx(np.pi * 0.02 * 40.0 * float(water.pipe_convection(*given)))
    assert dull - bright == pytest.approx(np.pi * 0.02 * 0.9 * 5.670374e-8 * (333.15**4 - 293.15**4), rel=1e-5)


def test_tanks_radiators_and_floors() -> None:
    """2 m2 behind 50 mm of 0.04 W/mK and 0.13 m2K/W: 2 / 1.38 W/K; (25/50)^1.3; 8.92 x 9^1.1 = 100 W/m2 (EN 1264)."""
    assert float(water.tank_conductance(2.0, 0.05, 0.04)) == pytest.approx(2.0 / 1.38)
    assert float(water.tank_conductance(2.0, 0.05, 0.04, 0.25)) == pytest.approx(2.0 / 1.5)
    assert float(water.tank_cooling_rate(2.0, 40.0, 0.2)) == pytest.approx(80.0 / (200.0 * 4186.0))
    assert float(water.radiator_output_ratio(25.0)) == pytest.approx(0.5**1.3)
    assert float(water.radiator_output_ratio(30.0, 1.0, 60.0)) == 0.5
    assert float(water.floor_output(9.0)) == pytest.approx(100.0, abs=0.1) and float(water.floor_output(-3.0)) == 0.0
    assert float(water.floor_output(1.0)) == pytest.approx(8.92)
