"""The radiator: its drop, a cold band, a cold core."""

from __future__ import annotations

import pytest
from heatbrief_vehicle.cooling import STEP


def bands(output):
    return [one for one in output.findings if "cold" in one.title]


def drop(output):
    return next(one for one in output.findings if "drop" in one.title)


def test_a_core_with_even_flow_is_normal(ask, radiator):
    thermogram, region = radiator()
    output = ask(STEP, thermogram, [region])
    assert bands(output) == [] and drop(output).verdict == "normal"
    assert drop(output).measured["drop across core"].low < 12 < drop(output).measured["drop across core"].high
    assert "left to right" in drop(output).summary


def test_a_cold_band_is_found_and_does_not_spoil_the_drop(ask, radiator):
    thermogram, region = radiator(band=-20.0)
    output = ask(STEP, thermogram, [region])
    (band,) = bands(output)
    assert band.verdict == "defect" and band.measured["contrast"].value == pytest.approx(-20, abs=1.5)
    assert "little or no coolant" in band.summary and "consistent with" in band.summary.lower()
    assert drop(output).measured["drop across core"].value == pytest.approx(12, abs=1.5)


def test_flow_from_right_to_left(ask, radiator):
    thermogram, region = radiator(76.0, 88.0)
    assert "right to left" in drop(ask(STEP, thermogram, [region])).summary


def test_a_large_drop_is_only_suspected(ask, radiator):
    thermogram, region = radiator(95.0, 68.0)
    finding = drop(ask(STEP, thermogram, [region]))
    assert finding.verdict == "suspect" and finding.urgency == "plan" and "partly open thermostat" in finding.summary


def test_a_core_without_a_drop(ask, radiator):
    thermogram, region = radiator(88.0, 87.5)
    finding = drop(ask(STEP, thermogram, [region]))
    assert "Almost nothing" in finding.summary and finding.verdict == "suspect"


def test_a_cold_core_is_not_judged(ask, radiator):
    thermogram, region = radiator(50.0, 47.0, band=-12.0)
    output = ask(STEP, thermogram, [region])
    assert {one.verdict for one in output.findings} == {"inconclusive"} and "thermostat" in drop(output).summary
    assert any("working temperature" in one for one in drop(output).next_time)


def test_the_rim_of_a_region_drawn_too_wide_is_no_band(ask, radiator):
    thermogram, region = radiator()
    wide = region.__class__("core", "car", "box", ((19, 19), (181, 111)), "engine radiator")
    assert bands(ask(STEP, thermogram, [wide])) == []


def test_a_region_outside_the_picture_is_noted(ask, radiator):
    thermogram, region = radiator()
    lost = region.__class__("core", "car", "box", ((900, 900), (950, 950)), "engine radiator")
    output = ask(STEP, thermogram, [lost])
    assert output.findings == () and "too few pixels" in output.notes[0]
