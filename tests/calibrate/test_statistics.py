"""Statistics, differences and their bounds; coverage by Monte Carlo with an exact band model."""

from __future__ import annotations

import math

import numpy as np
import pytest
from heatbrief import detect
from heatbrief.calibrate.statistics import statistics
from heatbrief.detect import read_region
from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import ErrorSource, Picture, Thermogram
from heatbrief.physics.measurement import Settings, apparent_temperature
from heatbrief.physics.planck import IdealBand

ZERO = 273.15


def flat(values, errors, **more) -> Thermogram:
    return Thermogram("one", np.asarray(values, float), "temperature", None, (errors,), (0.95,), (True,), **more)


def line(name, shared, standard, slope=(1.0, 1.0)) -> ErrorSource:
    return ErrorSource(name, shared, standard, "K", (200.0, 400.0), slope)


def difference(thermogram: Thermogram, first: np.ndarray, second: np.ndarray) -> Quantity:
    return detect.difference(read_region(thermogram, first), read_region(thermogram, second))


def test_noise_averages_down_and_shared_errors_do_not():
    """50 mK over 16 and 64 pixels: 12.5 and 6.25 mK [computed]."""
    for side, expected in ((4, 0.0125), (8, 0.00625)):
        found = statistics(flat(np.full((side, side), 300.0), (line("noise", "", 0.05),)))
        assert found["mean"].half_width / NORMAL_95 == pytest.approx(expected)
    both = statistics(flat(np.full((8, 8), 300.0), (line("noise", "", 0.05), line("camera accuracy", "camera", 1.0))))
    assert both["mean"].half_width / NORMAL_95 == pytest.approx(math.hypot(1.0, 0.00625))


def test_numbers_and_units():
    values = np.arange(400.0).reshape(20, 20) / 10 + ZERO
    found = statistics(flat(values, (line("noise", "", 0.01),)))
    assert {name: round(one.value, 6) for name, one in found.items()} == {
        "min": 0.0,
        "max": 39.9,
        "mean": 19.95,
        "median": 19.95,
        "p95": round(float(np.percentile(np.arange(400) / 10, 95)), 6),
        "centre": 19.95,
    }
    assert {one.unit for one in found.values()} == {"degC"}
    part = np.zeros((20, 20), bool)
    part[0, :3] = True
    assert statistics(flat(values, ()), part)["max"].value == pytest.approx(0.2) and "centre" not in statistics(
        flat(values, ()), part
    )


def test_empty_masked_and_unscaled():
    values = np.full((20, 20), np.nan)
    assert statistics(flat(values, ())) == {}
    values[0, 0] = 300.0
    assert "centre" not in statistics(flat(values, (line("noise", "", 0.1),)))
    counts = Thermogram("one", np.full((4, 4), 5000.0, np.float32), "unscaled")
    assert statistics(counts)["mean"] == Quantity.exact(5000.0, "count", "as recorded")
    left, right = np.eye(4, dtype=bool), ~np.eye(4, dtype=bool)
    assert difference(counts, left, right).unit == "count"


def test_the_highest_of_many_noisy_pixels_is_bounded_from_below():
    rng = np.random.default_rng(5)
    hits = 0
    for _ in range(200):
        found = statistics(flat(300.0 + rng.normal(0, 0.1, (30, 30)), (line("noise", "", 0.1),)))
        hits += (
            found["max"].low <= 300.0 - ZERO <= found["max"].high
            and found["min"].low <= 300.0 - ZERO <= found["min"].high
        )
    assert hits >= 0.9 * 200


def test_shared_errors_cancel_in_differences_as_far_as_they_agree():
    values = np.full((4, 8), 300.0)
    values[:, 4:] = 350.0
    left, right = np.zeros((4, 8), bool), np.zeros((4, 8), bool)
    left[:, :4], right[:, 4:] = True, True
    still = line("noise", "", 1e-9)
    same = difference(flat(values, (still, line("camera accuracy", "camera", 2.0))), right, left)
    assert same.value == pytest.approx(50.0) and same.half_width == pytest.approx(0.0, abs=1e-6) and same.unit == "K"
    grows = difference(flat(values, (still, line("emissivity", "emissivity:brick", 0.5, (0.0, 2.0)))), right, left)
    assert grows.half_width / NORMAL_95 == pytest.approx(0.5 * 2.0 * 50.0 / 200.0)
    noisy = difference(flat(values, (line("noise", "", 0.08),)), right, left)
    assert noisy.half_width / NORMAL_95 == pytest.approx(0.08 * math.sqrt(2 / 16))


def test_low_emissivity_gives_no_temperature_but_compares_with_itself(thermogram, degrees):
    bar = Region("bar", "one", "box", ((0, 0), (8, 12)), emissivity=Quantity.exact(0.2, "1"))
    found = thermogram(
        degrees(40.0),
        regions=[bar],
        view={"emissivity": Quantity.exact(0.95, "1"), "reflected": Quantity.exact(20, "degC")},
    )
    inside, outside = bar.mask(*found.shape), ~bar.mask(*found.shape)
    upper, lower = inside.copy(), inside.copy()
    upper[6:], lower[:6] = False, False
    assert statistics(found, inside) == {} and statistics(found, outside)
    assert statistics(found)["max"].value < 60 < float(np.nanmax(found.values)) - ZERO
    assert difference(found, upper, lower).value == pytest.approx(0.0, abs=1e-3)
    assert read_region(found, inside).mean is None and read_region(found, np.zeros_like(inside)) is None


def test_bounds_hold_in_a_monte_carlo_with_an_exact_band(thermogram):
    """True facts drawn around the stated ones, pictures made with the integrated 8-14 um band, 300 surveys, fixed seed.

    A 95 % interval holds 285 of 300 on average; 270 is four standard deviations below, 300 means far too wide.
    """
    rng = np.random.default_rng(20)
    band, truth = IdealBand(8.0, 14.0), np.full((16, 32), 30.0 + ZERO)
    truth[:, 16:] = 65.0 + ZERO
    left, right = np.zeros(truth.shape, bool), np.zeros(truth.shape, bool)
    left[:, :16], right[:, 16:] = True, True
    view = {"emissivity": Quantity.normal(0.90, "1", 0.015), "reflected": Quantity.normal(20, "degC", 1.5)}
    held = {"mean": 0, "difference": 0}
    for _ in range(300):
        settings = Settings(min(1.0, rng.normal(0.90, 0.015)), rng.normal(20, 1.5) + ZERO)
        apparent = np.where(left, *(float(apparent_temperature(band, t, settings)) for t in (30.0 + ZERO, 65.0 + ZERO)))
        reading = apparent + rng.uniform(-0.8, 0.8) + rng.normal(0, 0.2, truth.shape)
        found = thermogram(Picture(reading, True), view=view, camera={"noise": 0.2, "accuracy": 0.8})
        mean, step = statistics(found, right)["mean"], difference(found, right, left)
        held["mean"] += mean.low <= 65.0 <= mean.high
        held["difference"] += step.low <= 35.0 <= step.high
    assert all(270 <= count <= 299 for count in held.values()), held
