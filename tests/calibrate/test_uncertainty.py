"""Bounds drawn through the measurement equation, maps of uncertainty, size of source, and how often bounds hold."""

from __future__ import annotations

import importlib.util
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from heatbrief.api import StepError
from heatbrief.calibrate.draws import FIRST_ORDER, MONTE_CARLO, common_spread, reported_bounds
from heatbrief.calibrate.maps import uncertainty_map
from heatbrief.calibrate.small_targets import loss_of
from heatbrief.calibrate.statistics import budget, statistics
from heatbrief.model.quantity import NORMAL_95, Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Equation, ErrorSource, Picture, Thermogram
from heatbrief.store.arrays import keep_thermogram, load_thermogram
from heatbrief.store.files import ObjectStore
from heatbrief.testing import Imager, Scene, context_for, render
from heatbrief.testing.parts import Patch

ZERO = 273.15
# Budgets [computed: uncertainties 3.2.3 and Monte Carlo with 1e6 draws; Sakuma-Hattori A 9.36364, B 178.361, C 1]:
# T_app (u), eps (u), T_r (u), tau (u), T_a (u), T_o, Monte Carlo 95 % interval, all temperatures in degC.
BUDGETS = {
    "B1": ((58.0, 1.0), (0.95, 0.02), (20, 2.5), (0.98, 0.005), (20, 1.0), 60.4142, (57.914, 63.019)),
    "B2": ((40.0, 1.0), (0.60, 0.05), (20, 2.5), (0.98, 0.005), (20, 1.0), 52.2573, (46.83, 59.22)),
    "B3": ((30.0, 1.0), (0.30, 0.05), (20, 2.5), (0.98, 0.005), (20, 1.0), 50.9960, (39.00, 68.46)),
    "B4": ((19.0, 0.5), (0.93, 0.02), (-15, 8.0), (0.985, 0.005), (10, 1.0), 21.2641, (19.530, 23.202)),
}
BAND = (9.36364, 178.361, 1.0)


def zone_of(name: str) -> tuple[tuple[ErrorSource, ...], Equation]:
    """The zone of a published budget, with its first-order sensitivities."""
    from heatbrief.physics.measurement import Settings, sensitivities
    from heatbrief.physics.sakuma_hattori import BandModel

    app, eps, reflected, tau, air, surface, _ = BUDGETS[name]
    settings = Settings(eps[0], reflected[0] + ZERO, tau[0], air[0] + ZERO)
    slope = sensitivities(BandModel(*BAND), surface + ZERO, settings)
    lines = (
        ("camera accuracy", app[1], slope.apparent_k),
        ("emissivity", eps[1], slope.emissivity),
        ("reflected temperature", reflected[1], slope.reflected_k),
        ("atmospheric transmittance", tau[1], slope.transmittance),
        ("air temperature", air[1], slope.air_k),
    )
    errors = tuple(ErrorSource(line, line, u, "1", (surface + ZERO,), (float(s),)) for line, u, s in lines)
    inputs = {"emissivity": eps[0], "reflected_k": reflected[0] + ZERO, "transmittance": tau[0], "air_k": air[0] + ZERO}
    return errors, Equation(BAND, inputs)


@pytest.mark.parametrize("name", BUDGETS)
def test_published_monte_carlo_intervals(name):
    """Ends of the 95 % intervals: 0.02 K claimed, 3 % of u for our 20 000 draws; the skew of B2 and B3 is many times
    that."""
    *_, surface, (low, high) = BUDGETS[name]
    errors, equation = zone_of(name)
    u = math.sqrt(sum(float(source.effect(surface + ZERO)) ** 2 for source in errors))
    down, up = common_spread(((errors, equation, 1.0, surface + ZERO),))
    assert (surface - down, surface + up) == pytest.approx((low, high), abs=0.02 + 0.03 * u)
    # B1 just fails the test of JCGM 101 clause 8 at two digits, the others fail it clearly [computed].
    assert reported_bounds(u, down, up)[2] == MONTE_CARLO


def test_first_order_is_reported_where_it_is_good_enough():
    """Straight sensitivities and normal errors: the draws change nothing, to the last digit that counts."""
    errors = tuple(
        ErrorSource(name, name, 0.6, "K", (290.0, 310.0), (1.0, 1.0)) for name in ("camera accuracy", "offset")
    )
    found = statistics(Thermogram("one", np.full((9, 9), 300.0), "temperature", None, (errors,), (0.95,), (True,)))[
        "mean"
    ]
    assert found.method == FIRST_ORDER and found.half_width == pytest.approx(NORMAL_95 * 0.6 * math.sqrt(2))
    assert reported_bounds(1.0, 1.97, 1.95)[2] == FIRST_ORDER and reported_bounds(1.0, 1.97, 2.2) == (
        1.97,
        2.2,
        MONTE_CARLO,
    )
    assert reported_bounds(0.0, 0.0, 0.0)[:2] == (0.0, 0.0)


def test_limits_only_are_a_rectangle():
    """Four rectangles of unit deviation: 95 % within +-3.88; one of them 10 wide: +-17.0 [memory: JCGM 101 9.2.3,
    9.2.4; reproduced]."""

    def spread(widths):
        errors = tuple(
            ErrorSource(f"r{n}", f"r{n}", u, "K", (300.0,), (1.0,), "rectangle") for n, u in enumerate(widths)
        )
        return common_spread(((errors, None, 1.0, 300.0),))

    assert spread((1, 1, 1, 1)) == pytest.approx((3.88, 3.88), abs=0.06)
    assert spread((1, 1, 1, 10)) == pytest.approx((17.0, 17.0), abs=0.15)
    # Alone, a rectangle reaches 0.95 of its half-width and first order would go beyond its end.
    assert spread((1,)) == pytest.approx((0.95 * math.sqrt(3), 0.95 * math.sqrt(3)), abs=1e-3)


def test_low_emissivity_bounds_are_lopsided_and_say_how(thermogram, degrees):
    """B2 through the whole step: the hot side reaches further than the cold one (6.96 and 5.43 K) [computed]."""
    view = {"emissivity": Quantity.normal(0.60, "1", 0.05), "reflected": Quantity.normal(20, "degC", 2.5)}
    found = thermogram(
        degrees(40.0),
        view=view,
        conditions={"inside_air": Quantity.normal(20, "degC", 1.0)},
        settings={"transmittance": Quantity.normal(0.98, "1", 0.005)},
        camera={"noise": 1e-3, "accuracy": math.sqrt(3)},
    )
    mean = statistics(found)["mean"]
    assert mean.method == MONTE_CARLO
    # The accuracy is a rectangle here and normal there, which changes a third of the variance: 5 %.
    assert (mean.value - mean.low, mean.high - mean.value) == pytest.approx((5.43, 6.96), rel=0.05)


def test_regions_across_materials_share_what_they_share(thermogram, degrees):
    """Two equal halves of a picture give the bounds of one: their common errors do not average out."""
    values = degrees(40.0, (12, 16))
    view = {"emissivity": Quantity.normal(0.8, "1", 0.02), "reflected": Quantity.normal(20, "degC", 2.0)}
    one = thermogram(values, view=view)
    other = Region(
        "other", "one", "box", ((0, 0), (8, 12)), emissivity=Quantity.normal(0.8, "1", 0.02), material="wood"
    )
    two = thermogram(values, view=view, regions=[other])
    single, halves = statistics(one)["mean"], statistics(two)["mean"]
    assert len(two.errors) == 2 and halves.value == pytest.approx(single.value, abs=1e-4)
    # Only the two emissivities are independent of each other.
    lines = {line.name: line.effect for line in budget(one)}
    rest = math.sqrt(sum(effect**2 for name, effect in lines.items() if name != "emissivity"))
    expected = math.hypot(rest, lines["emissivity"] / math.sqrt(2)) / math.hypot(rest, lines["emissivity"])
    assert halves.half_width / single.half_width == pytest.approx(expected, rel=0.02)


def test_budget_lines_are_kept_apart(thermogram, degrees):
    view = {
        "emissivity": Quantity.normal(0.9, "1", 0.02),
        "reflected": Quantity.normal(20, "degC", 2.0),
        "distance": Quantity.exact(10, "m"),
    }
    values = np.full((40, 40), 30.0)
    values[18:21, 18:21] = 60.0
    found = thermogram(degrees(values), view=view, conditions={"inside_air": Quantity.exact(20, "degC")})
    spot = np.zeros((40, 40), bool)
    spot[18:21, 18:21] = True
    lines = {line.name: line for line in budget(found, spot)}
    assert {
        "camera accuracy",
        "noise",
        "emissivity",
        "reflected temperature",
        "atmospheric transmittance",
        "air temperature",
        "size of source",
        "interpolation",
    } <= lines.keys()
    assert not lines["noise"].correlated and lines["noise"].effect < lines["noise"].standard
    assert "size of source" not in {line.name for line in budget(found)}


def test_size_of_source_widens_the_bounds_of_small_targets_only_and_away_from_what_is_around(thermogram, degrees):
    """The mean of a 3 x 3 target blurred by 0.6 pixels lacks a quarter to two fifths of its contrast (pixel kernel;
    computed)."""
    view = {"emissivity": Quantity.normal(0.95, "1", 0.01), "reflected": Quantity.exact(20, "degC")}

    def mean_of(side, rise):
        values = np.full((60, 60), 30.0)
        values[20 : 20 + side, 20 : 20 + side] += rise
        mask = values != 30.0 if rise else np.pad(np.ones((side, side), bool), ((20, 40 - side), (20, 40 - side)))
        found = thermogram(degrees(values), view=view)
        return statistics(found, mask)["mean"], loss_of(found.values, mask)

    hot, loss = mean_of(3, 20.0)
    assert 0.25 < loss.mean < 0.40 and loss.peak < loss.mean
    # What the region lacks is what a blurred target of its size would show: the bounds reach it.
    assert hot.high - hot.value > 20.0 * loss.mean > 3.0 * (hot.value - hot.low) / 2.0
    cold, _ = mean_of(3, -20.0)
    assert cold.value - cold.low > 2.0 * (cold.high - cold.value)
    level, _ = mean_of(3, 0.0)
    assert level.high - level.value == pytest.approx(level.value - level.low, rel=0.05)
    wide, loss = mean_of(30, 20.0)
    assert loss.mean < 0.05 and wide.half_width < 0.5 * hot.half_width


def test_bounds_of_small_targets_hold_the_truth_through_a_lens():
    """Targets as large as their regions, rendered with a blur of 0.5 pixels and no other error: the truth is within."""
    for side in (2, 3, 5, 9):
        scene = Scene(
            "spot",
            48,
            36,
            base_c=25.0,
            emissivity=0.95,
            reflected_c=25.0,
            air_c=25.0,
            oversample=4,
            imager=Imager(noise_k=0.02, blur_px=0.5, offset_k=0.0),
            parts=(Patch(name="spot", box=(20.0, 15.0, float(side), float(side)), rise_k=30.0),),
        )
        rendered = render(scene)
        found = _calibrated(rendered)
        mask = Region("spot", "spot", "box", ((20, 15), (20 + side, 15 + side))).mask(36, 48)
        mask = rendered.kelvin > 25.0 + ZERO + 29.0 if not mask.any() else mask
        mean = statistics(found, mask)["mean"]
        assert mean.low < float(rendered.kelvin[mask].mean()) - ZERO < mean.high


def _calibrated(rendered) -> Thermogram:
    from heatbrief.calibrate.radiance import calibrate
    from heatbrief.calibrate.settings import RadianceSettings

    context = context_for(rendered.scene)
    context = replace(context, camera=replace(context.camera, accuracy=0.3))
    return calibrate(
        Picture(rendered.counts, False, rendered.scale), RadianceSettings(bad_pixels=False, stripes=False), context
    )


def test_the_map_agrees_with_the_budget_pixel_by_pixel(thermogram):
    """Tables of the map against the sum of squares worked out for each pixel; half a table step of 0.05 K."""
    counts = np.random.default_rng(2).integers(28000, 33000, (40, 50)).astype(np.uint16)
    regions = [
        Region("bar", "one", "box", ((5, 5), (20, 20)), emissivity=Quantity.normal(0.7, "1", 0.03)),
        Region("foil", "one", "box", ((25, 25), (30, 30)), emissivity=Quantity.normal(0.3, "1", 0.03)),
    ]
    view = {"emissivity": Quantity.normal(0.95, "1", 0.02), "reflected": Quantity.normal(20, "degC", 2.0)}
    found = thermogram(Picture(counts, False, (0.01, 0.0)), view=view, regions=regions, settings={"stripes": False})
    chart = uncertainty_map(found)
    assert chart.dtype == np.float32 and chart.shape == found.shape
    expected = np.full(found.shape, np.nan)
    for zone in (0, 1):
        where = found.zones == zone
        expected[where] = np.sqrt(sum(source.effect(found.values[where]) ** 2 for source in found.errors[zone]))
    np.testing.assert_allclose(chart, expected, rtol=2e-3)
    assert np.isnan(chart[26, 26]) and not found.absolute[2]
    gaps = replace(found, values=np.where(counts > 32000, np.float32(np.nan), found.values))
    assert np.array_equal(np.isnan(uncertainty_map(gaps)), (counts > 32000) | (found.zones == 2))
    assert np.isnan(uncertainty_map(replace(found, values=np.full((3, 3), np.nan, np.float32), zones=None))).all()
    with pytest.raises(StepError):
        uncertainty_map(replace(found, scale="unscaled", errors=()))


def test_equations_and_shapes_come_back_from_the_store(thermogram, degrees, tmp_path):
    view = {"emissivity": Quantity.normal(0.6, "1", 0.05), "reflected": Quantity.normal(20, "degC", 2.5)}
    made = thermogram(degrees(40.0), view=view)
    store = ObjectStore(tmp_path)
    back = load_thermogram(store, keep_thermogram(store, made))
    assert back.equations == made.equations and back.errors == made.errors
    assert statistics(back) == statistics(made)


def test_published_coverage_of_scenes():
    """120 scenes of the benchmark: 95 % bounds hold at least 88 % (three and a half standard deviations below)."""
    spec = importlib.util.spec_from_file_location("scenes", Path(__file__).parents[1] / "benchmarks" / "coverage.py")
    scenes = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(scenes)
    found = scenes.measure(120)
    assert 0.88 <= found["coverage"] < 1.0 and found["monte_carlo"] > 0.5


def test_noise_alone_is_symmetric_and_first_order():
    errors = (ErrorSource("noise", "", 0.1, "K", (200.0, 400.0), (1.0, 1.0)),)
    found = statistics(Thermogram("one", np.full((10, 10), 300.0), "temperature", None, (errors,), (1.0,), (True,)))[
        "mean"
    ]
    assert found.half_width / NORMAL_95 == pytest.approx(0.01) and found.method == FIRST_ORDER
