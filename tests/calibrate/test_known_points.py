"""Counts of unknown meaning and a few known temperatures: a scale with honest bounds, or none."""

from __future__ import annotations

import csv

import numpy as np
import pytest
import tifffile
from heatbrief.calibrate.known_points import Line, Point, line_through
from heatbrief.calibrate.statistics import budget, statistics
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Picture
from heatbrief.testing import Imager, Scene, render
from heatbrief.testing.parts import Patch

ZERO = 273.15
COLD, WARM, SPOT = (10, 10, 20, 20), (120, 10, 20, 20), (60, 80, 20, 20)


def region(name: str, box: tuple[int, int, int, int], celsius: float | None = None, half: float = 0.3) -> Region:
    left, top, width, height = box
    facts = {} if celsius is None else {"known_temperature": Quantity(celsius, "degC", celsius - half, celsius + half)}
    return Region(name, "one", "box", ((left, top), (left + width, top + height)), facts=facts)


def scene(emissivity: float = 0.95) -> np.ndarray:
    """A wall at 22 degC with an ice bath at 0, a plate at 40 and a spot at 30 degC; counts on a scale of their own."""
    parts = tuple(
        Patch(name=name, box=box, rise_k=rise)
        for name, box, rise in (("ice", COLD, -22.0), ("plate", WARM, 18.0), ("spot", SPOT, 8.0))
    )
    imager = Imager(noise_k=0.05, kelvin_per_count=0.037, kelvin_at_0=180.0)
    return render(Scene(name="points", emissivity=emissivity, distance_m=0.3, imager=imager, parts=parts)).counts


VIEW = {"known_points": True, "emissivity": Quantity(0.95, "1", 0.94, 0.96), "reflected": Quantity.exact(22.0, "degC")}


def test_the_line_of_two_points_and_its_uncertainty():
    """Two points: slope (T2 - T1)/(c2 - c1); u of the line at each point is that point's own (GUM H.3 [memory])."""
    points = (Point("ice", 1000.0, 0.0, ZERO, 0.2), Point("plate", 3000.0, 0.0, ZERO + 40.0, 0.4))
    line = line_through(points, 0.0)
    assert isinstance(line, Line) and line.slope == pytest.approx(0.02) and line.zero == pytest.approx(ZERO - 20.0)
    for point in points:
        u = np.hypot(line.level_standard, line.slope_standard * (point.count - line.centre))
        assert u == pytest.approx(point.kelvin_standard)


def test_many_points_agree_with_a_reference_library():
    """Weighted least squares against numpy.polyfit with weights 1/u, whose covariance is unscaled."""
    rng = np.random.default_rng(2)
    count = np.array([900.0, 1300.0, 2100.0, 2500.0, 3100.0])
    standard = np.array([0.3, 0.5, 0.2, 0.4, 0.3])
    kelvin = 250.0 + 0.02 * count + rng.normal(0, 0.2, 5)
    line = line_through(tuple(Point("p", c, 0.0, t, u) for c, t, u in zip(count, kelvin, standard, strict=True)), 0.0)
    (slope, zero), covariance = np.polyfit(count, kelvin, 1, w=1 / standard, cov="unscaled")
    assert line.slope == pytest.approx(slope) and line.zero == pytest.approx(zero)
    assert line.slope_standard == pytest.approx(covariance[0, 0] ** 0.5)


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ((), "there are none"),
        ((Point("ice", 1000.0, 1.0, ZERO, 0.2),), "there is one"),
        ((Point("a", 1000.0, 5.0, ZERO, 0.2), Point("b", 1010.0, 5.0, ZERO + 40, 0.2)), "counts"),
        ((Point("a", 1000.0, 1.0, ZERO, 2.0), Point("b", 2000.0, 1.0, ZERO + 5, 2.0)), "temperatures"),
        (
            (
                Point("a", 1000.0, 1.0, ZERO, 0.1),
                Point("b", 2000.0, 1.0, ZERO + 30, 0.1),
                Point("c", 3000.0, 1.0, ZERO + 10, 0.1),
            ),
            "do not rise or fall",
        ),
    ],
)
def test_points_that_give_no_scale_say_why(points, said):
    assert said in line_through(points, 0.05)


def test_two_known_points_give_temperatures_within_their_bounds(thermogram):
    regions = (region("ice bath", COLD, 0.0), region("plate", WARM, 40.0), region("spot", SPOT))
    found = thermogram(Picture(scene(), False, None, 0.0, 65535.0), view=VIEW, regions=regions)
    assert found.scale == "temperature" and found.facts["provisional"]
    assert found.facts["settings"]["scale"] == "provisional, from 2 known points"
    for one, true in zip(regions, (0.0, 40.0, 30.0), strict=True):
        inner = np.zeros(found.shape, bool)
        x, y = (int(side) for side in one.points[0])
        inner[y + 5 : y + 15, x + 5 : x + 15] = True
        mean = statistics(found, inner)["mean"]
        assert mean.low <= true <= mean.high
        assert mean.value == pytest.approx(true, abs=0.4 if true != 30.0 else 1.5)
    # Between the points the bend counts, at them only their own bounds do.
    assert statistics(found)["median"].half_width > 1.0
    names = {line.name for line in budget(found)}
    assert {"known points, level", "known points, slope", "known points, bend between them", "noise"} <= names
    assert "camera accuracy" not in names
    assert any("provisional scale from 2 known points" in note for note in found.facts["notes"])


def test_bounds_grow_outside_the_points_and_far_outside_there_is_nothing(thermogram):
    counts = scene()
    counts[100:110, 100:110] = 20000
    regions = (region("wall", (20, 60, 20, 20), 22.0), region("spot", SPOT, 30.0))
    found = thermogram(Picture(counts, False), view=VIEW, regions=regions, settings={"bad_pixels": False})
    masks = {}
    for name, (x, y) in (("wall", (25, 65)), ("plate", (125, 15)), ("far", (100, 100))):
        masks[name] = np.zeros(found.shape, bool)
        masks[name][y : y + 10, x : x + 10] = True
    assert np.isnan(found.values[masks["far"]]).all()
    assert np.isnan(found.values[masks["plate"]]).any() or (
        statistics(found, masks["plate"])["mean"].half_width > 3 * statistics(found, masks["wall"])["mean"].half_width
    )
    assert any("masked that lie further outside" in note for note in found.facts["notes"])


def test_inverted_counts_are_followed_and_said(thermogram):
    counts = (65535 - scene()).astype(np.uint16)
    found = thermogram(
        Picture(counts, False), view=VIEW, regions=(region("ice", COLD, 0.0), region("plate", WARM, 40.0))
    )
    spot = np.zeros(found.shape, bool)
    spot[85:95, 65:75] = True
    mean = statistics(found, spot)["mean"]
    assert mean.low <= 30.0 <= mean.high and any("smaller counts are warmer" in note for note in found.facts["notes"])


@pytest.mark.parametrize(
    "regions", [(), (region("ice", COLD, 0.0),), (region("ice", COLD, 0.0), region("off", (500, 500, 5, 5), 40.0))]
)
def test_too_few_points_leave_the_picture_unscaled(thermogram, regions):
    found = thermogram(Picture(scene(), False), view=VIEW, regions=regions)
    assert found.scale == "unscaled" and not found.errors
    assert any("no scale from known points" in note for note in found.facts["notes"])


def test_where_more_counts_are_colder_the_highest_count_is_the_coldest(thermogram):
    values = np.clip(40000 - scene().astype(int), 0, None).astype(np.uint16)
    values = np.maximum(values - values.min(), 300)  # a hot plate cut off at the lower end of the counts
    regions = (region("ice", COLD, 0.0), region("wall", (60, 20, 20, 20), 22.0))
    found = thermogram(Picture(values, False, None, 300.0, 65535.0), view=VIEW, regions=regions)
    assert found.scale == "temperature" and found.saturated_high > 300 and found.saturated_low == 0
    assert "at least" in statistics(found)["max"].method and "at" not in statistics(found)["min"].method.split()[0]


def test_known_temperatures_that_nobody_uses_are_noticed(thermogram):
    regions = (region("ice", COLD, 0.0), region("plate", WARM, 40.0))
    notes = thermogram(Picture(scene(), False), regions=regions).facts["notes"]
    assert any("`scale: {known_points: true}`" in note for note in notes)
    assert len(thermogram(Picture(scene(), False), regions=regions[:1]).facts["notes"]) == 1


def test_without_being_asked_nothing_gets_a_scale(thermogram):
    regions = (region("ice", COLD, 0.0), region("plate", WARM, 40.0))
    found = thermogram(Picture(scene(), False), view={**VIEW, "known_points": False}, regions=regions)
    assert found.scale == "unscaled" and "known points" not in " ".join(found.facts["notes"])


def test_the_scale_of_a_real_camera_is_found_again(measurements, thermogram):
    """Castle wall, open data: degC = counts/40 - 100, so two areas known to 0.3 K give 0.025 K per count back."""
    folder = measurements("castle-wall")
    checked = 0
    for row in csv.DictReader((folder / "printed_values.csv").open()):
        counts = tifffile.imread(folder / f"{row['frame']}_raw16.tiff")
        celsius = counts / 40.0 - 100.0
        blocks = celsius[:512, :640].reshape(32, 16, 40, 16).transpose(0, 2, 1, 3)
        means, spreads = blocks.mean(axis=(2, 3)), blocks.std(axis=(2, 3))
        even = np.where(spreads < np.median(spreads), means, np.nan)
        picked = [np.unravel_index(int(at), even.shape) for at in (np.nanargmin(even), np.nanargmax(even))]
        if means[picked[1]] - means[picked[0]] < 2.0:
            continue
        regions = tuple(
            region(f"area {n}", (int(x) * 16, int(y) * 16, 16, 16), float(means[y, x]))
            for n, (y, x) in enumerate(picked)
        )
        found = thermogram(
            Picture(counts, False, None, 0.0, 65535.0),
            regions=regions,
            view={"known_points": True, "emissivity": Quantity.exact(1.0, "1")},
        )
        assert found.scale == "temperature"
        whole, valid = statistics(found, found.valid), found.valid
        true = float(celsius[valid].mean())
        assert whole["mean"].low <= true <= whole["mean"].high
        assert np.polyfit(counts[valid], found.values[valid], 1)[0] == pytest.approx(1 / 40, rel=0.2)
        checked += 1
    assert checked >= 1
