"""Tables and correlations of surface coefficients, value by value, from the sources named and the library ht."""

from __future__ import annotations

import ht
import numpy as np
import pytest
from heatbrief.physics import surface_coefficients as sc
from heatbrief.physics.air_properties import conductivity, prandtl, rayleigh


def test_conventional_resistances_and_films() -> None:
    """ISO 6946: Rsi 0.10 up, 0.13, 0.17 down, Rse 0.04; ISO 13789: hc 5.0, 2.5, 0.7; ASHRAE 1.63, 1.46, 1.08, 6.00 and
    4.00 Btu/(h ft2 degF) at 5.678 W/m2K (from memory)."""
    assert sc.ISO_RSI == {"up": 0.10, "horizontal": 0.13, "down": 0.17} and sc.ISO_RSE == 0.04
    assert sc.ISO_H_CONVECTION == {"up": 5.0, "horizontal": 2.5, "down": 0.7}
    imperial = {
        "inside horizontal": 1.46,
        "inside up": 1.63,
        "inside down": 1.08,
        "outside winter": 6.0,
        "outside summer": 4.0,
    }
    assert {key: pytest.approx(one * 5.678263, rel=3e-3) for key, one in imperial.items()} == sc.ASHRAE_FILM


@pytest.mark.parametrize(
    ("surface", "d", "e", "f"),
    [
        ("stucco", 11.58, 5.894, 0.0),
        ("brick", 12.49, 4.065, 0.028),
        ("concrete", 10.79, 4.192, 0.0),
        ("clear pine", 8.23, 4.0, -0.057),
        ("smooth plaster", 10.22, 3.1, 0.0),
        ("glass", 8.23, 3.33, -0.036),
    ],
)
def test_simple_combined_coefficients(surface: str, d: float, e: float, f: float) -> None:
    """ASHRAE 1989 as printed in the EnergyPlus Engineering Reference, table of roughness coefficients (seen)."""
    assert float(sc.simple_combined(0.0, surface)) == d
    assert float(sc.simple_combined(1.0, surface)) == pytest.approx(d + e + f)
    assert float(sc.simple_combined(10.0, surface)) == pytest.approx(d + 10 * e + 100 * f)
    assert float(sc.simple_combined(3.0)) == float(sc.simple_combined(3.0, "brick"))


@pytest.mark.parametrize(
    ("roughness", "factor"),
    [
        ("very rough", 2.17),
        ("rough", 1.67),
        ("medium rough", 1.52),
        ("medium smooth", 1.13),
        ("smooth", 1.11),
        ("very smooth", 1.0),
    ],
)
def test_roughness_multiplies_the_forced_part(roughness: str, factor: float) -> None:
    """Walton 1981 as in EnergyPlus (seen): 2.537 Wf Rf sqrt(P V / A); P 10 m, A 5 m2, 2 m/s: 2.537 x 2."""
    assert float(sc.tarp_forced(2.0, 10.0, 5.0, roughness)) == pytest.approx(2.537 * 2.0 * factor)
    assert float(sc.tarp_forced(2.0, 10.0, 5.0, roughness, False)) == pytest.approx(2.537 * factor)
    natural = float(sc.tarp_vertical(303.15, 295.15))
    glass = np.hypot(natural, 3.26 * 3.0**0.89)
    found = float(sc.doe2(303.15, 295.15, 3.0, roughness))
    assert found == pytest.approx(natural + factor * (glass - natural))


def test_rough_and_windward_unless_said() -> None:
    assert float(sc.tarp_forced(2.0, 10.0, 5.0)) == float(sc.tarp_forced(2.0, 10.0, 5.0, "rough", True))
    assert float(sc.doe2(303.15, 295.15, 3.0)) == float(sc.doe2(303.15, 295.15, 3.0, "rough", True, 0.0))
    assert float(sc.mowitt(303.15, 295.15, 3.0)) == float(sc.mowitt(303.15, 295.15, 3.0, True))


@pytest.mark.parametrize(("windward", "a", "b"), [(True, 3.26, 0.89), (False, 3.55, 0.617)])
def test_facades_in_the_field(windward: bool, a: float, b: float) -> None:
    """Yazdanian and Klems 1994 as in EnergyPlus (seen): 0.84 dT^(1/3) and a V^b; 8 K make 1.68."""
    assert float(sc.mowitt(303.15, 295.15, 3.0, windward)) == pytest.approx(np.hypot(1.68, a * 3.0**b))
    assert float(sc.mowitt(295.15, 295.15, 3.0, windward)) == pytest.approx(a * 3.0**b)


@pytest.mark.parametrize(
    ("terrain", "exponent", "layer"),
    [("open", 0.14, 270.0), ("rough or wooded", 0.22, 370.0), ("towns", 0.33, 460.0), ("ocean", 0.10, 210.0)],
)
def test_wind_over_other_ground(terrain: str, exponent: float, layer: float) -> None:
    """ASHRAE Fundamentals 2005 as in EnergyPlus (seen)."""
    at_station = 5.0 * (270.0 / 10.0) ** 0.14
    assert float(sc.wind_at_height(5.0, 4.0, terrain)) == pytest.approx(at_station * (4.0 / layer) ** exponent)
    assert float(sc.wind_at_height(5.0, 10.0, terrain, 10.0, terrain)) == pytest.approx(5.0)
    assert float(sc.wind_at_height(5.0, 4.0)) == float(sc.wind_at_height(5.0, 4.0, "towns", 10.0, "open"))


@pytest.mark.parametrize(("wind", "iso", "juerges", "mcadams"), [(0.0, 4.0, 5.8, 5.7), (2.0, 12.0, 13.4108, 13.3)])
def test_straight_lines_of_the_wind(wind: float, iso: float, juerges: float, mcadams: float) -> None:
    """4 + 4 v (ISO 6946), 5.8 + 3.8054 v (Juerges 1924), 5.7 + 3.8 v (McAdams 1954), all from memory."""
    found = [float(one(wind)) for one in (sc.iso_outside_convection, sc.juerges, sc.mcadams_wind)]
    assert found == pytest.approx([iso, juerges, mcadams])


@pytest.mark.parametrize(
    ("cos_tilt", "sky", "air", "ground"),
    [(1.0, 1.0, 0.0, 0.0), (0.0, 0.5**1.5, 0.5 - 0.5**1.5, 0.5), (-1.0, 0.0, 0.0, 1.0), (0.28, 0.512, 0.128, 0.36)],
)
def test_what_a_tilted_surface_sees(cos_tilt: float, sky: float, air: float, ground: float) -> None:
    """EnergyPlus (seen): sky (1 + cos)/2 times its root, the rest of that air, ground (1 - cos)/2."""
    assert [float(one) for one in sc.longwave_shares(cos_tilt)] == pytest.approx([sky, air, ground])


# --- natural convection --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("dt", "cos_tilt", "h"),
    [
        (8.0, 0.0, 2.62),
        (8.0, 1.0, 9.482 * 2.0 / 6.283),
        (8.0, -1.0, 1.810 * 2.0 / 2.382),
        (-8.0, 1.0, 1.810 * 2.0 / 2.382),
        (-8.0, -0.5, 9.482 * 2.0 / 6.783),
        (8.0, -0.5, 1.810 * 2.0 / 1.882),
    ],
)
def test_tilted_surfaces(dt: float, cos_tilt: float, h: float) -> None:
    """Walton 1983 as in EnergyPlus (seen); the cube root of 8 is 2."""
    assert float(sc.tarp_tilted(295.15 + dt, 295.15, cos_tilt)) == pytest.approx(h)
    assert float(sc.tarp_vertical(295.15 + dt, 295.15)) == pytest.approx(2.62)


def test_walls_floors_and_ceilings_of_alamdari_and_hammond() -> None:
    """16 K and 1 m: 1.5 x 2 and 1.23 x 2.5198 of a wall; floor 1.4 x 2 and 1.63 x 2.5198; stable 0.6 (16/4)^(1/5)."""
    wall = ((1.5 * 2.0) ** 6 + (1.23 * 16 ** (1 / 3)) ** 6) ** (1 / 6)
    assert float(sc.alamdari_hammond_vertical(309.15, 293.15, 1.0)) == pytest.approx(wall)
    low = float(sc.alamdari_hammond_vertical(309.15, 293.15, 16.0))
    assert low == pytest.approx((1.5**6 + (1.23 * 16 ** (1 / 3)) ** 6) ** (1 / 6))
    floor = ((1.4 * 2.0) ** 6 + (1.63 * 16 ** (1 / 3)) ** 6) ** (1 / 6)
    assert float(sc.alamdari_hammond_horizontal(309.15, 293.15, 1.0, 1.0)) == pytest.approx(floor)
    assert float(sc.alamdari_hammond_horizontal(277.15, 293.15, 2.0, 1.0)) == pytest.approx(0.6 * 4.0**0.2)


@pytest.mark.parametrize("cos_tilt", [1.0, -1.0])
@pytest.mark.parametrize("length", [0.05, 0.3, 1.5])
def test_horizontal_plates_against_ht(length: float, cos_tilt: float) -> None:
    warm, air = 313.15, 293.15
    film = 0.5 * (warm + air)
    ra, pr = float(rayleigh(warm, air, length)), float(prandtl(film))
    for ours, theirs in (
        (sc.mcadams_horizontal, ht.Nu_horizontal_plate_McAdams),
        (sc.rohsenow_horizontal, ht.Nu_horizontal_plate_Rohsenow),
    ):
        expected = theirs(pr, ra / pr, buoyancy=cos_tilt > 0) * float(conductivity(film)) / length
        assert float(ours(warm, air, length, cos_tilt)) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("ra", "pr"), [(1e2, 0.7), (1e6, 0.7), (1e9, 6.0), (1e11, 0.7)])
def test_vertical_plates_against_ht(ra: float, pr: float) -> None:
    expected = ht.Nu_vertical_plate_Churchill(pr, ra / pr)
    assert float(sc.churchill_chu_vertical_nusselt(ra, pr)) == pytest.approx(expected, rel=1e-9)


# --- spreads -------------------------------------------------------------------------------


def test_low_median_and_high() -> None:
    found = sc.spread_of([3.0, np.array([1.0, 9.0]), 2.0])
    assert found.low.tolist() == [1.0, 2.0] and found.best.tolist() == [2.0, 3.0] and found.high.tolist() == [3.0, 9.0]


@pytest.mark.parametrize(("facing", "cos_tilt", "iso"), [("up", 1.0, 5.0), ("down", -1.0, 0.7)])
def test_floors_and_ceilings_spread_over_five_correlations(facing: str, cos_tilt: float, iso: float) -> None:
    """A warm floor lifts air, a warm ceiling does not. 3 m x 2 m: area over perimeter 0.6 m, hydraulic diameter 2.4 m."""
    warm, air = 298.15, 293.15
    members = [
        float(sc.tarp_tilted(warm, air, cos_tilt)),
        float(sc.alamdari_hammond_horizontal(warm, air, 2.4, cos_tilt)),
        float(sc.mcadams_horizontal(warm, air, 0.6, cos_tilt)),
        float(sc.rohsenow_horizontal(warm, air, 0.6, cos_tilt)),
        iso,
    ]
    found = sc.convection_spread(warm, air, facing, 3.0, 2.0)
    assert (found.low, found.best, found.high) == pytest.approx((min(members), np.median(members), max(members)))
    square = sc.convection_spread(warm, air, facing, 3.0)
    assert square == sc.convection_spread(warm, air, facing, 3.0, 3.0) != found


def test_walls_are_two_and_a_half_metres_high_unless_said() -> None:
    assert sc.convection_spread(298.15, 293.15, "sideways") == sc.convection_spread(298.15, 293.15, "sideways", 2.5)
    with pytest.raises(ValueError, match="facing"):
        sc.convection_spread(298.15, 293.15, "north")


def test_outside_the_wind_decides() -> None:
    """Eight members: two lines of the wind, and three correlations on each side of the house; a square of 2 m has P/A 2."""
    warm, air, wind = 298.15, 290.15, 2.0
    natural = float(sc.tarp_vertical(warm, air))
    members = [12.0, 13.4108]
    for windward in (True, False):
        members.append(natural + 2.537 * (1.0 if windward else 0.5) * 1.67 * 2.0)
        members += [float(sc.mowitt(warm, air, wind, windward)), float(sc.doe2(warm, air, wind, "rough", windward))]
    found = sc.outside_convection_spread(warm, air, wind, 2.0)
    assert (found.low, found.best, found.high) == pytest.approx((min(members), np.median(members), max(members)))
    assert sc.outside_convection_spread(warm, air, wind) == sc.outside_convection_spread(warm, air, wind, 2.5, "rough")


def test_radiation_between_grey_surfaces() -> None:
    """sigma (T1^2 + T2^2)(T1 + T2): 5.67e-8 x (90000 + 160000) x 700 between 300 and 400 K."""
    assert float(sc.radiative_coefficient_exact(300.0, 400.0)) == pytest.approx(
        5.670374e-8 * 250000.0 * 700.0, rel=1e-6
    )
    assert float(sc.radiative_coefficient_exact(300.0, 400.0, 0.5)) == pytest.approx(
        5.670374e-8 * 125000.0 * 700.0, rel=1e-6
    )
    assert float(sc.radiative_coefficient(300.0)) == pytest.approx(4 * 5.670374e-8 * 2.7e7, rel=1e-6)
    assert float(sc.surface_resistance(2.5, 5.5)) == 0.125
