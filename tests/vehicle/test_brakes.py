"""Left against right after the same drive, over two pictures."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.model import Conditions, ErrorSource, Quantity, Region, Thermogram
from heatbrief.testing import run_step
from heatbrief_vehicle.brakes import STEP


def wheels(left, right, shows="brake rotor", times=(60.0, 90.0), group="front axle"):
    names, pictures, regions = ("left-wheel", "right-wheel"), [], []
    for number, (name, value) in enumerate(zip(names, (left, right), strict=True)):
        values = (np.full((60, 60), value + 273.15) + np.random.default_rng(number).normal(0, 0.1, (60, 60))).astype(
            np.float32
        )
        errors = (
            ErrorSource("noise", "", 0.1, "K", (300.0,), (1.0,)),
            ErrorSource("camera accuracy", "camera", 1.0, "K", (300.0,), (1.0,)),
        )
        pictures.append(Thermogram(name, values, "temperature", None, (errors,), (0.85,), (True,)))
        facts = {} if times[number] is None else {"since_stop": Quantity.exact(times[number], "s")}
        regions.append(
            Region(name.replace("-", " "), name, "box", ((10, 10), (50, 50)), shows, group=group, facts=facts)
        )
    views = {name: View(thermogram=name, emissivity=Quantity.exact(0.85, "1")) for name in names}
    given = Context(
        views=views,
        regions=tuple(regions),
        conditions_of={name: Conditions(sun="none") for name in names},
        facts_of={name: {"second view": "same place"} for name in names},
    )
    return run_step(STEP, tuple(pictures), given)


def test_sides_that_differ():
    (finding,) = wheels(140.0, 95.0).findings
    assert finding.verdict == "defect" and finding.urgency == "soon" and finding.thermogram == "left-wheel"
    assert (
        finding.measured["contrast"].value == pytest.approx(45, abs=0.5)
        and "either side may be the one to mend" in finding.summary
    )


def test_sides_alike():
    (finding,) = wheels(120.0, 110.0).findings
    assert finding.verdict == "normal" and finding.urgency == "none"


@pytest.mark.parametrize(("times", "verdict"), [((60.0, None), "suspect"), ((60.0, 400.0), "inconclusive")])
def test_both_sides_need_the_same_time(times, verdict):
    assert wheels(140.0, 95.0, times=times).findings[0].verdict == verdict


def test_hubs_have_a_limit_of_their_own():
    (finding,) = wheels(75.0, 50.0, shows="wheel hub").findings
    assert finding.verdict == "defect" and "bearing" in finding.summary


def test_one_side_alone_is_noted():
    output = wheels(75.0, 50.0, group="")
    assert output.findings == () and output.notes == ()
