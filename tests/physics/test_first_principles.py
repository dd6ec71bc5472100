"""Small laws worked out by hand: degree days, first-order curves, rotors, heat index, medians and what is left open."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.physics import degree_days as dd
from heatbrief.physics import lumped, measurement, robust
from heatbrief.physics.planck import IdealBand, TotalBand

# --- degree days ---------------------------------------------------------------------------

DAYS = np.concatenate([np.full(12, 280.0), np.full(12, 290.0), np.full(24, 286.0)])
"""A day of two halves, mean 285 K, and an even one of 286 K."""


@pytest.mark.parametrize(
    ("method", "base", "heating", "cooling"),
    [("hourly", 285.0, 2.5, 3.5), ("daily_mean", 285.5, 0.5, 0.5), ("max_min", 285.5, 0.5, 0.5)],
)
def test_two_days_by_every_method(method: str, base: float, heating: float, cooling: float) -> None:
    """By hours: half a day of 5 K each way, and a day of 1 K. By means: 0.5 K on each day."""
    assert dd.heating_degree_days(DAYS, base, method) == pytest.approx(heating)
    assert dd.cooling_degree_days(DAYS, base, method) == pytest.approx(cooling)


def test_days_of_another_number_of_samples() -> None:
    assert dd.heating_degree_days([280.0, 290.0, 286.0, 286.0], 285.5, samples_per_day=2) == pytest.approx(0.5)
    assert dd.cooling_degree_days([280.0, 290.0, 286.0, 286.0], 285.5, "hourly", 4) == pytest.approx((4.5 + 1.0) / 4)
    for wrong in ([280.0] * 25, [], [[280.0] * 24]):
        with pytest.raises(ValueError, match="whole days"):
            dd.heating_degree_days(wrong, 290.0)


def test_heat_of_a_season_and_what_is_bought_for_it() -> None:
    assert float(dd.season_heat(10.0, 100.0)) == 10.0 * 100.0 * 86400.0
    assert float(dd.delivered_energy(900.0, 0.9)) == 1000.0
    assert float(dd.insulation_saving(10.0, 1.0, 2.0, 100.0)) == 5.0 * 100.0 * 86400.0
    assert float(dd.cop_from_seer(3.412141633)) == pytest.approx(1.0)


def test_fuels_by_their_units() -> None:
    """US EIA: 53.06 kg per million Btu of gas, 0.81 lb of 0.45359237 kg per kWh of the grid (seen)."""
    gas = dd.fuel("natural gas")
    assert gas.carbon == pytest.approx(53.06 / 1055.05585262e6, rel=1e-8) and (gas.unit, gas.carbon_year) == (
        "therm",
        2012,
    )
    assert float(dd.carbon_dioxide(3.6e6, "electricity")) == pytest.approx(0.81 * 0.45359237, rel=2e-3)
    assert float(dd.fuel_quantity(105505585.262, "natural gas")) == pytest.approx(1.0)
    assert np.isnan(dd.fuel("cord wood").carbon) and (
        dd.fuel("cord wood").carbon_name,
        dd.fuel("cord wood").carbon_year,
    ) == ("", 0)


# --- things that warm as one piece ---------------------------------------------------------


def test_first_order_curves() -> None:
    """After one time constant 1/e is left; the way back is the logarithm."""
    assert float(lumped.first_order(60.0, 300.0, 400.0, 60.0)) == pytest.approx(400.0 - 100.0 / np.e)
    assert float(lumped.settled_fraction(180.0, 60.0)) == pytest.approx(0.950213, abs=1e-6)
    assert float(lumped.initial_slope(300.0, 400.0, 50.0)) == 2.0
    assert float(lumped.time_to_reach(400.0 - 100.0 / np.e, 300.0, 400.0, 60.0)) == pytest.approx(60.0)
    for target, expected in ((400.0, np.inf), (401.0, np.inf), (300.0, 0.0), (290.0, 0.0)):
        assert float(lumped.time_to_reach(target, 300.0, 400.0, 60.0)) == expected


@pytest.mark.parametrize(("curvature", "fine"), [(0.31, True), (0.29, False), (-0.31, True), (0.0, False)])
def test_three_readings_need_a_curve_above_their_noise(curvature: float, fine: bool) -> None:
    """Noise 0.1 K: three times that is 0.3 K. Shanks: (T1 T3 - T2^2) / (T1 + T3 - 2 T2)."""
    t1, t2 = 300.0, 310.0
    t3 = curvature + 2 * t2 - t1
    if fine:
        assert lumped.three_point_asymptote(t1, t2, t3, 0.1) == pytest.approx((t1 * t3 - t2**2) / curvature)
    else:
        with pytest.raises(ValueError, match="curvature"):
            lumped.three_point_asymptote(t1, t2, t3, 0.1)
    with pytest.raises(ValueError, match="curvature"):
        lumped.three_point_asymptote(300.0, 310.0, 320.0, 0.0)


def test_powers_energies_and_brakes() -> None:
    assert float(lumped.rate_of_rise(100.0, 50.0)) == 2.0 and float(lumped.stream_heat(2.0, 4000.0, 3.0)) == 24000.0
    assert float(lumped.kinetic_energy(2.0, 3.0)) == 9.0 and float(lumped.kinetic_energy(2.0, 3.0, 1.0)) == 8.0
    assert float(lumped.rotor_rise(1600.0, 30.0, 8.0)) == pytest.approx(720000.0 * 0.325 / (8.0 * 480.0))
    assert float(lumped.rotor_rise(1600.0, 30.0, 8.0, 0.5, 500.0)) == 90.0
    assert (
        float(lumped.lumped_time_constant(8000.0, 500.0, 0.01, 10.0)) == 4000.0
        and float(lumped.biot(10.0, 0.01, 50.0)) == 0.002
    )


def index(fahrenheit: float, percent: float) -> float:
    return float(lumped.heat_index((fahrenheit + 459.67) / 1.8, percent / 100.0)) * 1.8 - 459.67


def rothfusz(t: float, r: float) -> float:
    """The regression as the US weather service prints it (seen)."""
    return (
        -42.379 + 2.04901523 * t + 10.14333127 * r - 0.22475541 * t * r - 0.00683783 * t * t - 0.05481717 * r * r
        + 0.00122874 * t * t * r + 0.00085282 * t * r * r - 0.00000199 * t * t * r * r
    )  # fmt: skip


@pytest.mark.parametrize(
    ("t", "r", "more"),
    [
        (90.0, 50.0, 0.0),
        (90.0, 13.0, 0.0),
        (95.0, 9.0, -1.0),
        (112.0, 9.0, 0.0),
        (100.0, 5.0, -2.0 * ((17.0 - 5.0) / 17.0) ** 0.5),
        (86.0, 85.0, 0.0),
        (82.0, 95.0, 1.0),
        (87.0, 95.0, 0.0),
        (86.5, 95.0, 0.1),
        (90.0, 95.0, 0.0),
    ],
)
def test_heat_index_with_its_adjustments(t: float, r: float, more: float) -> None:
    """Below 13 %: less (13 - r)/4 sqrt((17 - |t - 95|)/17) from 80 to 112 degF; above 85 %: more (r - 85)/10 (87 - t)/5 from 80 to 87."""
    assert index(t, r) == pytest.approx(rothfusz(t, r) + more, abs=1e-6)


@pytest.mark.parametrize(("t", "r"), [(70.0, 50.0), (78.0, 30.0), (60.0, 95.0)])
def test_heat_index_in_mild_air_is_the_simple_form(t: float, r: float) -> None:
    assert index(t, r) == pytest.approx(0.5 * (t + 61.0 + (t - 68.0) * 1.2 + r * 0.094), abs=1e-6)


# --- robust statistics ---------------------------------------------------------------------


@pytest.mark.parametrize("data", [[3.0], [3.0, 1.0], [5.0, 1.0, 2.0], [4.0, 4.0, 1.0, 9.0], list(range(101))])
def test_median_and_quantiles_are_numpys(data) -> None:
    values = np.array(data, float)
    assert robust.median_of(values) == np.median(values)
    shares = (0.0, 0.1, 0.25, 0.5, 0.975, 1.0)
    assert robust.quantiles_of(values, shares) == pytest.approx(np.quantile(values, shares))
    assert [robust.quantiles_of(values, (share,))[0] for share in shares] == pytest.approx(np.quantile(values, shares))
    rows = np.array([data, data[::-1]], float)
    assert robust.median_of_rows(rows).tolist() == [np.median(values)] * 2


def test_medians_of_rows_leave_out_what_is_missing() -> None:
    nan = np.nan
    rows = np.array([[nan, nan, nan], [nan, 2.0, nan], [5.0, nan, 1.0], [3.0, 2.0, 9.0], [np.inf, np.inf, np.inf]])
    np.testing.assert_array_equal(robust.median_of_rows(rows), [nan, 2.0, 3.0, 3.0, nan])


def test_spread_of_half_equal_values_is_that_of_the_mean_distance() -> None:
    """MAD 0: sqrt(pi/2) times the mean distance, 3 / 4 here; never below the floor."""
    assert robust.mad_sigma([1.0, 1.0, 1.0, 4.0]) == pytest.approx(np.sqrt(np.pi / 2) * 0.75)
    assert robust.mad_sigma([1.0, 1.0], 0.3) == 0.3 and np.isnan(robust.mad_sigma([np.nan]))
    assert robust.mad_sigma([1.0, 2.0, 3.0, np.nan]) == pytest.approx(1.4826022)
    assert robust.modified_z([1.0, 2.0, 3.0]).tolist() == pytest.approx([-0.6745, 0.0, 0.6745])
    assert (
        robust.modified_z([2.0, 2.0, np.nan]).tolist()[:2] == [0.0, 0.0] and np.isnan(robust.modified_z([np.nan])).all()
    )
    assert robust.modified_z([1.0, 1.0, 1.0, 5.0])[3] == pytest.approx(4.0 / np.sqrt(np.pi / 2))


@pytest.mark.parametrize("values", [[], [1.0], [1.0, 2.0]])
def test_grubbs_needs_three_values(values) -> None:
    with pytest.raises(ValueError, match="at least 3"):
        robust.grubbs(values)
    same = robust.grubbs([2.0, 2.0, 2.0])
    assert same.statistic == 0.0 and not same.outlier


def test_one_sided_grubbs_looks_up_only() -> None:
    low = [0.0, 10.0, 10.1, 9.9, 10.0, 10.1]
    assert robust.grubbs(low).index == 0 and robust.grubbs(low).outlier
    assert robust.grubbs(low, two_sided=False).index != 0 and not robust.grubbs(low, two_sided=False).outlier


# --- what stands between a surface and a reading -------------------------------------------


def test_what_is_left_open_is_a_black_surface_in_air_of_20_degrees() -> None:
    plain = measurement.Settings()
    assert (plain.emissivity, plain.reflected_k, plain.transmittance, plain.air_k) == (1.0, 293.15, 1.0, 293.15)
    band = TotalBand()
    half = 0.5 * 350.0**4 + 0.5 * 293.15**4
    assert float(measurement.invert_signal(band, band.signal(half**0.25), emissivity=0.5)) == pytest.approx(350.0)
    assert float(measurement.invert_signal(band, band.signal(half**0.25), transmittance=0.5)) == pytest.approx(350.0)
    both = measurement.Settings(emissivity=0.5, transmittance=0.5)
    through = 0.5 * half + 0.5 * 293.15**4
    assert float(measurement.apparent_temperature(band, 350.0, both)) == pytest.approx(through**0.25)
    eps = measurement.emissivity_from_reference(band, through**0.25, 350.0, 293.15, transmittance=0.5)
    assert float(eps) == pytest.approx(0.5)


@pytest.mark.parametrize(("emissivity", "transmittance"), [(0.0, 1.0), (-0.1, 1.0), (1.0, 0.0), (1.0, -0.5)])
def test_nothing_comes_through_nothing(emissivity: float, transmittance: float) -> None:
    band = IdealBand(8.0, 14.0)
    found = measurement.invert_signal(band, band.signal(300.0), emissivity=emissivity, transmittance=transmittance)
    assert np.isnan(found)


@pytest.mark.parametrize(
    ("transmittance", "reflectance", "fine"), [(0.9, 0.1, True), (0.9, 0.11, False), (0.0, 0.1, False)]
)
def test_a_window_passes_and_mirrors_at_most_everything(transmittance: float, reflectance: float, fine: bool) -> None:
    if fine:
        assert measurement.Window(transmittance, reflectance, 293.15, 293.15)
    else:
        with pytest.raises(ValueError, match="window"):
            measurement.Window(transmittance, reflectance, 293.15, 293.15)


def test_sensitivities_are_finite_differences_with_and_without_a_window() -> None:
    """GUM 5.1.3: c = df/dx, here by central differences of the inversion."""
    band = IdealBand(8.0, 14.0)
    for window in (None, measurement.Window(0.8, 0.1, 300.0, 295.0)):
        given = {"emissivity": 0.9, "reflected_k": 290.0, "transmittance": 0.95, "air_k": 285.0}
        settings = measurement.Settings(**given, window=window)
        signal = measurement.measured_signal(band, 320.0, settings)
        found = measurement.sensitivities(band, 320.0, settings).as_dict()
        for name, value in given.items():
            step = 1e-4 * value
            ends = [
                float(measurement.invert_signal(band, signal, **{**given, name: value + sign * step}, window=window))
                for sign in (1, -1)
            ]
            assert float(found[name]) == pytest.approx((ends[0] - ends[1]) / (2 * step), rel=1e-4, abs=1e-7)
        near = [float(measurement.invert_signal(band, signal * (1 + e), **given, window=window)) for e in (1e-5, -1e-5)]
        assert float(found["signal"]) == pytest.approx((near[0] - near[1]) / (2e-5 * float(signal)), rel=1e-4)
        assert (float(found["window_k"]) == 0.0) is (window is None)
