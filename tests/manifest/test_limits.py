"""Every number with limits: taken at its limits and refused just outside them. The limits are ours (common practice,
no source): wide enough for every property, narrow enough to catch a slip of unit or sign."""

from __future__ import annotations

import pytest
from heatbrief.estimate.season_settings import Settings as Season
from heatbrief.manifest import schema
from heatbrief.manifest.bind import Binder
from heatbrief.manifest.nodes import Problems
from heatbrief.manifest.reader import parse_yaml
from heatbrief.model.costs import ActionCost, Bill, Costs

JUST = 0.001


def problems_of(cls, text):
    problems = Problems()
    Binder(problems).bind(parse_yaml(text.strip() + "\n", "survey.yaml", problems), cls, "entry")
    return {one.code for one in problems.sorted()}


LIMITS = [
    (schema.CameraEntry, "field_of_view: [{} deg, 42 deg]", 0.1, 170),
    (schema.CameraEntry, "noise: {} K", 0, 5),
    (schema.CameraEntry, "accuracy: {} K", 0, 50),
    (schema.CameraEntry, "accuracy_percent: {}", 0, 0.2),
    (schema.CameraEntry, "band: [{} um, 14 um]", 0.5, 30),
    (schema.CameraEntry, "pixel_pitch: {} um", 0.5, 200),
    (schema.CameraEntry, "focal_length: {} mm", 0.5, 5000),
    (schema.CameraEntry, "response: [[8, {}], [9, 1]]", 0, 1e6),
    (schema.ColourBarEntry, "box: [1, 1, {}, 9]\nends: [1 degC, 2 degC]", 0, 100_000),
    (schema.ColourBarEntry, "box: [1, 1, 9, 9]\nends: [1 degC, {} degC]", -270, 5000),
    (schema.ColourBarEntry, "box: [1, 1, 9, 9]\nends: [1 degC, 2 degC]\npicture: [1, {}, 9, 9]", 0, 100_000),
    (schema.ColourBarEntry, "box: [1, 1, 9, 9]\nends: [1 degC, 2 degC]\noverlays: [[1, {}, 9, 9]]", 0, 100_000),
    (schema.ScaleEntry, "kelvin_per_count: {}", "above 0", 1000),
    (schema.ScaleEntry, "zero_at: {} degC", -1000, 5000),
    (schema.AppliedEntry, "emissivity: {}", 0.01, 1),
    (schema.AppliedEntry, "reflected: {} degC", -120, 500),
    (schema.AppliedEntry, "transmittance: {}", 0.05, 1),
    (schema.RegionEntry, "name: a\nemissivity: {}", 0.01, 1),
    (schema.FloorEntry, "name: a\npicture: a.png\nplaces: {{room: [{}, 5]}}", 0, 100_000),
    (schema.RectangleEntry, "corners: [[0, 0], [1, 0], [1, 1], [0, 1]]\nheight: 1 m\nwidth: {} m", "above 0", 1000),
    (schema.RectangleEntry, "corners: [[0, 0], [1, 0], [1, 1], [0, 1]]\nwidth: 1 m\nheight: {} m", "above 0", 1000),
    (schema.ThermogramEntry, "file: a\npage: {}", 0, 100_000),
    (schema.ThermogramEntry, "file: a\nevery: {} s", 0.001, 1e8),
    (schema.ThermogramEntry, "file: a\nsize: [{}, 9]", 1, None),
    (schema.ThermogramEntry, "file: a\nemissivity: {}", 0.01, 1),
    (schema.ThermogramEntry, "file: a\nreflected: {} degC", -120, 500),
    (schema.ThermogramEntry, "file: a\ndistance: {} m", 0.01, 5000),
    (schema.ThermogramEntry, "file: a\ntilt: {} deg", 0, 85),
    (schema.ThermogramEntry, "file: a\npixel_size: {} m", "above 0", 100),
    (schema.ThermogramDefaults, "emissivity: {}", 0.01, 1),
    (schema.ThermogramDefaults, "reflected: {} degC", -120, 500),
    (schema.ThermogramDefaults, "distance: {} m", 0.01, 5000),
    (schema.ThermogramDefaults, "size: [9, {}]", 1, None),
    (schema.Manifest, "format: 1\nproperty: a\nemissions: {{gas: {} kg/kWh}}", 0, 5),
    (ActionCost, "cost: {} USD", 0, None),
    (ActionCost, "fixed: {} USD", 0, None),
    (ActionCost, "material: {} USD", 0, None),
    (ActionCost, "hours: {} h", 0, None),
    (ActionCost, "hours_per_unit: {} h", 0, None),
    (ActionCost, "life: {}", 1, 100),
    (Costs, "labour: {{contractor: {} USD/h}}", 0, None),
    (Costs, "budget: {} USD", 0, None),
    (Costs, "years: {}", 1, 100),
    (Costs, "discount_rate: {}", 0, 0.5),
    (Costs, "price_growth: {}", -0.1, 0.3),
    (Bill, "year: {} kWh", "above 0", None),
    (Bill, "volume: {} m3", "above 0", None),
    (Bill, "months: [{} kWh]\ndays: [30]", 0, None),
    (Bill, "months: [9 kWh]\ndays: [{}]", 1, 366),
    (Bill, "months: [9 kWh]\ndays: [30]\ntemperatures: [{} degC]", -60, 60),
    (Season, "year_spread: {}", 0, 1),
    (Season, "heating_degree_days: {} K d", 0, 20_000),
    (Season, "cooling_degree_days: {} K d", 0, 20_000),
    (Season, "heating_inside: {} degC", 5, 30),
    (Season, "cooling_inside: {} degC", 15, 35),
    (Season, "heating_efficiency: {}", 0.2, 8),
    (Season, "cooling_efficiency: {}", 0.5, 12),
    (Season, "seer: {}", 5, 40),
    (Season, "seer2: {}", 5, 40),
    (Season, "hspf: {}", 3, 20),
    (Season, "hspf2: {}", 3, 20),
    (Season, "attic_rise: {} K", 0, 60),
    (Season, "cooling_hours: {} h", 0, 8784),
    (Season, "duct_hours: {} h", 0, 8784),
]


@pytest.mark.parametrize(("cls", "text", "low", "high"), LIMITS, ids=[f"{row[0].__name__} {row[1]}" for row in LIMITS])
def test_limits_are_inclusive_and_nothing_beyond_is_taken(cls, text, low, high):
    whole = (
        "picture: [1" in text
        or "[1, 1, {}" in text
        or any(f"{word}: " in text for word in ("life", "years", "page", "size", "overlays"))
    )
    just = 1 if whole else JUST
    least, below = (JUST, 0) if low == "above 0" else (low, low - just)
    most, above = (10**7, None) if high is None else (high, high + just)
    for number, taken in ((least, True), (below, False), (most, True), (above, False)):
        if number is not None:
            found = problems_of(cls, text.format(f"{number:.12g}"))
            assert (not found) is taken, f"{number}: {found}"


def test_what_is_left_open_is_counted_for_twenty_years_at_three_percent():
    """Three percent real interest: common practice, as of NIST HB 135 (from memory)."""
    costs = Costs()
    assert (costs.years, costs.discount_rate.value, costs.price_growth.value) == (20, 0.03, 0.0)
    assert costs.discount_rate.low == costs.discount_rate.high and costs.book == "none" and Season().year_spread == 0.1
    assert not schema.PropertyEntry("a").invented and not schema.ScaleEntry().known_points
    assert schema.ThermogramEntry("a").page == 0


@pytest.mark.parametrize(
    "more", ["months: [9 kWh]", "year: 9 kWh", "volume: 9 m3", "temperatures: [9 degC]", "days: [9]"]
)
def test_a_bill_with_a_file_has_nothing_else(more):
    assert problems_of(Bill, "file: a.csv") == set() and problems_of(Bill, f"file: a.csv\n{more}") == {"bad-settings"}


@pytest.mark.parametrize(
    ("text", "fits"),
    [
        ("year: 9 kWh", True),
        ("volume: 9 m3", True),
        ("days: [9]", False),
        ("months: [9 kWh, 9 kWh]\ndays: [9, 9]", True),
        ("months: [9 kWh, 9 kWh]\ndays: [9]", False),
        ("months: [9 kWh, 9 kWh]", False),
        ("months: [" + ", ".join(["9 kWh"] * 12) + "]", True),
        ("months: [" + ", ".join(["9 kWh"] * 11) + "]", False),
        ("months: [9 kWh]\ndays: [9]\ntemperatures: [9 degC]", True),
        ("months: [9 kWh]\ndays: [9]\ntemperatures: [9 degC, 9 degC]", False),
    ],
)
def test_periods_of_a_bill_go_together(text, fits):
    assert (not problems_of(Bill, text)) is fits
