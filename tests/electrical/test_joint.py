"""Along a conductor: a joint's heat falls off, a load's is even."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief_electrical.joint import STEP
from heatbrief_electrical.profile import fit_decay, profile_of

WAY = np.arange(81)


def cables(panel, first, second, loads=(8.0, 8.0)):
    made = panel("joint", look="plugs and cables")
    made.line("first cable", ((30, 100), (110, 100)), first, loads[0], "cables")
    return made.line("second cable", ((30, 160), (110, 160)), second, loads[1], "cables")


def decay(rise, length, base=35.0):
    return base + rise * np.exp(-WAY / length)


def test_heat_that_falls_off_points_to_the_joint(panel):
    output = cables(panel, decay(15, 20), np.full(81, 35.0)).run(STEP)
    (finding,) = output.findings
    assert finding.region == "first cable" and finding.verdict == "defect" and "poor contact" in finding.summary
    assert finding.measured["contrast"].low < 15 < finding.measured["contrast"].high
    assert finding.measured["length to 37 percent"].low < 0.020 < finding.measured["length to 37 percent"].high
    assert any("second cable: even along its length" in note for note in output.in_order)


def test_even_warmth_points_to_the_load(panel):
    (finding,) = cables(panel, np.full(81, 45.0), np.full(81, 35.0), (16.0, 8.0)).run(STEP).findings
    assert "evenly" in finding.summary and "not with one poor contact" in finding.summary and "16 A" in finding.summary
    assert finding.urgency == "plan" and finding.verdict != "defect"
    assert [one.status for one in finding.rivals if "higher load" in one.explanation] == ["not ruled out"]


def test_two_even_cables_alike_make_no_finding(panel):
    output = cables(panel, np.full(81, 38.0), np.full(81, 37.5)).run(STEP)
    assert output.findings == () and len(output.in_order) == 2


def test_the_warm_end_may_be_the_last_one(panel):
    made = cables(panel, decay(15, 20)[::-1], np.full(81, 35.0))
    profile = profile_of(made.thermogram, made.regions[0])
    found = fit_decay(profile)
    assert (
        not found.start
        and found.length == pytest.approx(20, rel=0.1)
        and found.rise.value == pytest.approx(15, rel=0.05)
    )


def test_the_fit_agrees_with_scipy(panel):
    from scipy.optimize import curve_fit

    profile = profile_of(
        cables(panel, decay(9, 30), np.full(81, 35.0)).thermogram,
        cables(panel, decay(9, 30), np.full(81, 35.0)).regions[0],
    )
    best, _ = curve_fit(
        lambda x, far, rise, length: far + rise * np.exp(-x / length), profile.way, profile.kelvin, (308, 5, 10)
    )
    found = fit_decay(profile)
    assert (found.far, found.rise.value, found.length) == pytest.approx(best, rel=0.04)


def test_a_straight_slope_is_no_joint(panel):
    """A slope across the picture (a sunny side, a draught) is not a fall that ends: nothing is called a contact."""
    assert all(
        "poor contact at that end" not in one.summary
        for one in cables(panel, np.linspace(45, 35, 81), np.full(81, 40.0)).run(STEP).findings
    )


def test_the_joint_beside_the_warm_end_is_named(panel):
    from heatbrief.model import Region

    made = cables(panel, decay(15, 20), np.full(81, 35.0))
    made.regions.append(Region("upper plug", "panel", "box", ((12, 95), (28, 105)), "joint"))
    (finding,) = made.run(STEP).findings
    assert "upper plug" in finding.title and finding.shares == "panel:upper plug"


def test_a_line_outside_the_picture_is_noted(panel):
    made = cables(panel, np.full(81, 35.0), np.full(81, 35.0))
    made.regions[0] = made.regions[0].__class__("lost", "panel", "line", ((500.0, 500.0), (600.0, 500.0)), "conductor")
    assert any("lost" in note and "too few pixels" in note for note in made.run(STEP).notes)


def test_a_warm_place_within_the_line_is_not_an_end(panel):
    """A hump of 10 K just inside the line: a fall from the end would explain less than half of it."""
    hump = 35.0 + 10.0 * np.exp(-(((WAY - 5) / 3.0) ** 2))
    assert cables(panel, hump, np.full(81, 35.0)).run(STEP).findings == ()
