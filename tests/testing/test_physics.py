"""The generator against independent arithmetic: quadrature of Planck's law, handbook rows, the measurement equation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from heatbrief.testing import Imager, Scene, render
from heatbrief.testing.parts import (
    AirLeak,
    Breaker,
    Framing,
    Joint,
    Layers,
    MissingInsulation,
    Patch,
    PipeRidge,
    Reflection,
    SunPatch,
    WetPatch,
)
from heatbrief.testing.recording import table_band
from scipy.integrate import quad
from scipy.optimize import brentq

H, C, K = 6.62607015e-34, 299792458.0, 1.380649e-23
PERFECT = Imager(noise_k=0.0, blur_px=0.0)


def planck_band(t_k: float, low_um: float = 8.0, high_um: float = 14.0) -> float:
    """Band radiance by direct quadrature of Planck's law, W m-2 sr-1 (CODATA constants)."""
    return quad(
        lambda um: 2 * H * C**2 / (um * 1e-6) ** 5 / np.expm1(H * C / (um * 1e-6 * K * t_k)) * 1e-6,
        low_um,
        high_um,
        epsrel=1e-11,
    )[0]


def flat(**fields) -> Scene:
    return Scene(**{"name": "flat", "width": 12, "height": 9, "imager": PERFECT, "distance_m": 1e-9, **fields})


@pytest.mark.parametrize(
    ("celsius", "radiance"), [(-20, 23.82468), (20, 49.37289), (37, 63.83165), (100, 136.77834), (300, 545.61724)]
)
def test_table_of_band_radiance(celsius, radiance):
    # 8-14 um top-hat band radiance, [computed: scipy quad and exponential series], tolerance 1e-5 relative
    assert table_band(8.0, 14.0).signal(celsius + 273.15) == pytest.approx(radiance, rel=1e-6)


def test_table_returns_the_temperature():
    kelvin = np.linspace(200.0, 900.0, 1001)
    band = table_band(8.0, 14.0)
    assert np.abs(band.temperature(band.signal(kelvin)) - kelvin).max() < 1e-5


@pytest.mark.parametrize("celsius", [-15.0, 21.37, 64.2, 240.0])
def test_a_black_scene_reads_its_true_temperature_within_rounding(celsius):
    made = render(flat(base_c=celsius, emissivity=1.0))
    assert np.abs(made.reading - 273.15 - celsius).max() <= 0.005 + 1e-6
    assert made.kelvin == pytest.approx(np.full((9, 12), celsius + 273.15))


@pytest.mark.parametrize(
    ("true", "eps", "mirrored", "apparent"), [(60, 0.95, 20, 58.2716), (100, 0.6, 25, None), (5, 0.85, -30, 0.612)]
)
def test_reflected_part(true, eps, mirrored, apparent):
    """Row E1 of the forward table, 8-14 um, and a roof under a sky at -30 degC [computed: Gauss-Legendre, brentq]."""
    made = render(flat(base_c=true, emissivity=eps, reflected_c=mirrored))
    signal = eps * planck_band(true + 273.15) + (1 - eps) * planck_band(mirrored + 273.15)
    expected = brentq(lambda t: planck_band(t) - signal, 200.0, 500.0, xtol=1e-9) - 273.15
    if apparent is not None:
        assert expected == pytest.approx(apparent, abs=0.001)
    assert made.apparent - 273.15 == pytest.approx(np.full((9, 12), expected), abs=1e-4)


@pytest.mark.parametrize(
    ("air", "humidity", "distance", "tau"), [(20, 0.5, 50, 0.9578), (30, 0.8, 100, 0.8635), (0, 0.5, 10, 0.9889)]
)
def test_path_mixes_in_the_air_by_its_transmittance(air, humidity, distance, tau):
    # LOWTRAN 7 band means, 8-14 um [computed: K12]; 0.0075 is the largest error of the fitted formula
    made = render(flat(base_c=90.0, emissivity=1.0, distance_m=distance, air_c=air, humidity=humidity))
    seen, own, path = (planck_band(t) for t in (float(made.apparent[0, 0]), 363.15, air + 273.15))
    assert (seen - path) / (own - path) == pytest.approx(tau, abs=0.0075)


def test_layers_give_the_handbook_surface():
    # EX-7.5, inside 70 degF, outside 0 degF: R-38 ceiling 68.92 degF, bare ceiling (R_total 1.67, film 0.61)
    # 44.43 degF; [computed], tolerance 0.02 degF
    fahrenheit, ip = lambda c: 1.8 * c + 32.0, 0.17611
    air = {"near_c": (70 - 32) / 1.8, "far_c": (0 - 32) / 1.8, "film": 0.61 * ip}
    whole = Layers(resistance=(38 + 1.67) * ip, **air)
    made = render(flat(parts=(whole, MissingInsulation(resistance=1.67 * ip, box=(3, 2, 6, 5), **air))))
    assert fahrenheit(made.kelvin[0, 0] - 273.15) == pytest.approx(68.92, abs=0.02)
    assert fahrenheit(made.kelvin[4, 5] - 273.15) == pytest.approx(44.43, abs=0.02)


def test_insulated_wall_shows_colder_studs_and_an_empty_one_warmer_studs():
    # the sign flip of EX-7.5, heating season: R_total of stud 7.105, insulated cavity 15.73, empty cavity 3.73
    ip, air = 0.17611, {"near_c": 21.1, "far_c": -17.8, "film": 0.68 * 0.17611}
    stud = Framing(resistance=7.105 * ip, spacing_m=0.4, first_px=40, **air)
    view = {"width": 80, "height": 10, "distance_m": 1.5, "imager": PERFECT, "name": "wall"}
    full = render(Scene(parts=(Layers(resistance=15.73 * ip, **air), stud), **view)).truth.records[1]
    empty = render(Scene(parts=(Layers(resistance=3.73 * ip, **air), stud), **view)).truth.records[1]
    assert full.contrast_k < -0.3
    assert empty.contrast_k > 0.3


def test_a_reflection_changes_what_is_seen_and_not_what_is_true():
    record = render(
        flat(base_c=26.0, emissivity=0.89, reflected_c=24.0, parts=(Reflection(box=(2, 2, 5, 5), reflected_c=34.0),))
    ).truth.records[0]
    signal = 0.89 * planck_band(299.15) + 0.11 * planck_band(307.15)
    without = 0.89 * planck_band(299.15) + 0.11 * planck_band(297.15)
    seen = [brentq(lambda t, s=s: planck_band(t) - s, 250.0, 350.0) for s in (signal, without)]
    assert record.contrast_k == 0.0
    assert not record.is_defect
    assert record.apparent_contrast_k == pytest.approx(seen[0] - seen[1], abs=1e-3)


def test_breakers_follow_their_load():
    # E9: 8 K at half load becomes 24.25, 27.86, 32.00 K at full load for n = 1.6, 1.8, 2.0 [computed]
    for exponent, full in ((1.6, 24.25), (1.8, 27.86), (2.0, 32.00)):
        half = Breaker(load_a=10, rated_a=20, rated_rise_k=full, exponent=exponent)
        assert half.rise() == pytest.approx(8.0, abs=0.005)
    assert Breaker(load_a=0).rise() == 0.0
    breaker = Breaker(box=(10, 10, 34, 12), load_a=15, rated_a=20, ambient_c=25.0, rated_rise_k=22.0)
    record = render(flat(width=60, height=40, distance_m=0.5, base_c=25.0, parts=(breaker,))).truth.records[0]
    assert record.mean_c == pytest.approx(25.0 + 22.0 * 0.75**1.8, abs=1e-6)


def test_a_joint_falls_off_along_its_conductor_like_a_long_fin():
    # textbook fin without end: excess temperature exp(-x / L); from two places on the cable one fall-off length apart
    line = ((-10.0, 40.0), (250.0, 40.0))
    scene = Scene(
        "fin",
        240,
        80,
        distance_m=0.4,
        base_c=30.0,
        imager=PERFECT,
        oversample=1,
        parts=(Joint(line=line, centre_px=(60, 40), ambient_c=30.0, extra_k=20.0, half_m=0.02, fall_off_m=0.06),),
    )
    made, (step, _) = render(scene), scene.pixel_m
    x = 60 + np.array([0.05, 0.11, 0.17]) / step
    excess = np.interp(x, np.arange(240), made.kelvin[40] - 303.15)
    assert excess[1:] / excess[:-1] == pytest.approx(np.exp([-1.0, -1.0]), rel=0.02)


@pytest.mark.parametrize(
    ("air", "humidity", "h", "expected"),
    [(20, 0.5, 3.5, 16.1), (20, 0.5, 8, 15.1), (30, 0.3, 3.5, 21.9), (30, 0.3, 25, 18.8)],
)
def test_wet_surface_is_held_above_the_wet_bulb_by_the_room(air, humidity, h, expected):
    # P5: wet wall, h_r 5.5, mass transfer by the Lewis relation, PsychroLib saturation [computed: K13], to 0.1 K
    patch = WetPatch(
        centre_px=(20, 15), radius_m=5.0, wetness=1.0, air_c=air, humidity=humidity, h_convection=h, ragged=0.0
    )
    made = render(flat(width=40, height=30, base_c=air, distance_m=1.0, parts=(patch,)))
    assert made.kelvin[15, 20] - 273.15 == pytest.approx(expected, abs=0.12)


def test_wet_patch_grows_towards_its_size_and_only_after_its_start():
    patch = WetPatch(centre_px=(60, 45), radius_m=0.5, start_s=100, tau_s=300, soft_m=0.02)
    areas = [
        render(Scene("bed", 120, 90, distance_m=3.0, base_c=40.0, time_s=t, parts=(patch,))).truth.records[0].area_m2
        for t in (0, 100, 400, 1000, 1e6)
    ]
    assert areas[:2] == [0.0, 0.0]
    assert 0 < areas[2] < areas[3] < areas[4]
    assert areas[4] == pytest.approx(np.pi * 0.25, rel=0.12)
    assert patch.radius(400) == pytest.approx(0.5 * 0.6321, abs=1e-4)  # 1 - exp(-1), Q1


def test_pipe_ridge_has_the_width_of_a_line_source():
    # flux of a line source under an isothermal plane, method of images
    scene = Scene(
        "pipe",
        201,
        20,
        distance_m=1.0,
        base_c=20.0,
        imager=PERFECT,
        oversample=1,
        parts=(PipeRidge(line=((100, -50), (100, 70)), depth_m=0.05, rise_k=4.0),),
    )
    row = render(scene).kelvin[10] - 293.15
    # d^2 / (d^2 + x^2): half at one depth, a fifth at two
    at = 100 + np.array([0.0, 0.05, 0.10]) / scene.pixel_m[0]
    assert np.interp(at, np.arange(201), row) == pytest.approx([4.0, 2.0, 0.8], rel=0.01)


def test_sun_and_leak():
    sun = render(
        flat(parts=(SunPatch(box=(-1, -1, 20, 20), irradiance_w_m2=500, absorptance=0.6, h_w_m2k=15),))
    ).truth.records[0]
    assert sun.contrast_k == pytest.approx(20.0)  # 0.6 x 500 / 15
    leak = render(
        Scene(
            "leak",
            120,
            90,
            distance_m=1.0,
            base_c=20.0,
            parts=(AirLeak(start_px=(60, 20), toward_px=(60, 90), air_c=0.0),),
        )
    )
    down = leak.kelvin[22:, 60] - 293.15
    assert leak.truth.records[0].is_defect
    assert down.min() < -5.0 and down.max() <= 0.0
    assert abs(leak.kelvin[10, 60] - 293.15) < 1e-9, "nothing above the crack"
    assert np.all(np.diff(leak.kelvin[30::10, 60]) > -0.6), "the tongue fades away from the crack"


def test_blur_and_pixel_follow_the_published_size_of_source():
    # share of its contrast a square of N pixels keeps at its centre, Gaussian 0.5 px on unit pixels [computed: erf]
    for n, share in ((1, 0.3715), (3, 0.9831), (5, 1.0000)):
        spot = Patch(box=(16.0 - n / 2, 16.0 - n / 2, n, n), rise_k=0.5)
        blurred = replace(PERFECT, blur_px=0.5)
        made = render(
            flat(width=33, height=33, base_c=20.0, emissivity=1.0, oversample=8, imager=blurred, parts=(spot,))
        )
        # points on an 8 x 8 raster stand for the pixel, so the integral is a little off
        assert float(made.apparent[16, 16] - 293.15) / 0.5 == pytest.approx(share, abs=0.006), n


def test_a_defect_is_measured_against_the_sound_part():
    bad = Breaker(box=(10, 10, 34, 12), load_a=15, rated_a=20, ambient_c=25.0, fault_rise_k=13.0, defect=True)
    record = render(flat(width=60, height=40, distance_m=0.5, base_c=25.0, parts=(bad,))).truth.records[0]
    assert record.is_defect
    assert record.contrast_k == pytest.approx(13.0, abs=1e-6)
    assert 0.9 * 13.0 < record.apparent_contrast_k < 13.0, "an emissivity of 0.94 shows a little less"
