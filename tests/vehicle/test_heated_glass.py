"""Grids of heated glass with cold lines at known places."""

from __future__ import annotations

import pytest
from heatbrief.api import Context, View
from heatbrief.model import Quantity, Region
from heatbrief.testing import run_step, thermogram
from heatbrief_vehicle.heated_glass import STEP


def glass(lines=10, cold=(), rise=5.0, facts=None):
    patches = [((10, 8 + 10 * line, 140, 2), rise) for line in range(lines) if line not in cold]
    subject = thermogram(18.0, patches, emissivity=0.9)
    region = Region("rear window", subject.id, "box", ((12, 2), (148, 112)), "heated rear window")
    given = Context(
        view=View(thermogram=subject.id, emissivity=Quantity.exact(0.9, "1")),
        regions=(region,),
        facts={"second view": "same place", "heated_for": Quantity.exact(3, "min"), **(facts or {})},
    )
    return run_step(STEP, subject, given)


def test_a_whole_grid_is_normal():
    (finding,) = glass().findings
    assert finding.verdict == "normal" and "All 10 lines" in finding.summary


@pytest.mark.parametrize("cold", [(3,), (4, 7), (4, 5)])
def test_cold_lines_are_counted(cold):
    found = [one for one in glass(cold=cold).findings if one.verdict == "defect"]
    assert [one.title for one in found] == [f"rear window: line {line + 1} of 10 cold" for line in cold]


def test_heating_off_or_not_stated():
    assert glass(rise=0.0).findings == () and "may have been off" in glass(rise=0.0).notes[0]
    assert glass(cold=(3,), facts={"heated_for": None}).findings[0].verdict == "suspect"


def test_lines_missing_at_the_rim_are_noted():
    assert "1 lines at the rim" in glass(cold=(0,), facts={"grid_lines": Quantity.exact(10, "1")}).notes[0]


def test_power_and_resistance_of_a_grid():
    """150 W at 12.6 V: 1.06 ohm, 11.9 A [computed]."""
    assert pytest.approx(1.06, abs=0.005) == 12.6**2 / 150 and pytest.approx(11.9, abs=0.01) == 150 / 12.6
