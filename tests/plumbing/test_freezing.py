"""Pipes near frost: from which skin one is reported, how long still water lasts, and what is only told as information."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.detect import Case, read_region
from heatbrief.model import Conditions, ErrorSource, Quantity, Region, Thermogram
from heatbrief.physics.water import freeze_times
from heatbrief.testing import run_step
from heatbrief_plumbing import freezing

exact = Quantity.exact
BOX = Region("riser", "cellar", "box", ((10, 10), (50, 20)), "exposed pipe")


def picture(skin, standard=1e-5):
    """A level picture almost without error, so that what is read is the skin itself [degC]."""
    errors = (
        ErrorSource("noise", "", 1e-5, "K", (280.0,), (1.0,)),
        ErrorSource("camera accuracy", "camera", standard, "K", (280.0,), (1.0,)),
    )
    values = np.full((30, 60), skin + 273.15, np.float32)
    return Thermogram("cellar", values, "temperature", errors=(errors,), emissivity=(0.95,))


def around(region=BOX, facts=None, outside=None):
    return Context(
        conditions=Conditions(outside_air=None if outside is None else exact(outside, "degC")),
        regions=(region,),
        view=View(thermogram="cellar", shows="cellar", emissivity=exact(0.95, "1")),
        facts={"second view": "same place", "pipe_running": "no", **(facts or {})},
    )


def looked(skin, region=BOX, facts=None, outside=None, **settings):
    return run_step(freezing.STEP, picture(skin), around(region, facts, outside), **settings).findings


@pytest.mark.parametrize(("skin", "watch", "reported"), [(3.9, 4.0, 1), (4.1, 4.0, 0), (4.1, 5.0, 1), (2.1, 2.0, 0)])
def test_from_which_skin_a_pipe_is_reported(skin, watch, reported):
    """4 degC unless the settings say otherwise (this project's choice)."""
    assert len(looked(skin, watch=watch)) == reported
    if watch == 4.0:
        assert len(looked(skin)) == reported


def test_the_level_itself_is_reported():
    level = read_region(picture(3.0), BOX).low.low
    assert len(looked(3.0, watch=level)) == 1 and len(looked(3.0, watch=level - 1e-6)) == 0


@pytest.mark.parametrize(
    ("skin", "verdict", "below"),
    [(-1.0, "defect", 5.0), (-0.01, "defect", 4.01), (0.01, "normal", 3.99), (3.5, "normal", 0.5)],
)
def test_water_can_freeze_from_a_skin_of_nought(skin, verdict, below):
    """0 degC, whatever the level of watch: the contrast is counted from that level."""
    (found,) = looked(skin)
    assert found.verdict == verdict and found.measured["contrast"].value == pytest.approx(below, abs=1e-3)
    (early,) = looked(skin, watch=8.0)
    assert early.verdict == verdict and early.measured["contrast"].value == pytest.approx(below + 4.0, abs=1e-3)


def test_a_skin_in_doubt_never_lies_above_the_level():
    """Bounds of 3 to 9 degC about a level of 4 degC: from nothing to 1 K below it."""
    (finding,) = run_step(freezing.STEP, picture(6.0, 3.0 / 1.96), around()).findings
    contrast = finding.measured["contrast"]
    assert (contrast.low, contrast.value) == (0.0, 0.0) and contrast.high == pytest.approx(1.0, abs=0.01)


def hours(facts=None, air=-7.0):
    case = Case("plumbing.freeze_risk", "plumbing", picture(0.0), around(facts=facts), BOX)
    stated = air if isinstance(air, Quantity) or air is None else exact(air, "degC")
    found = freezing.freezing_hours(case, stated)
    return tuple(found[name] for name in ("hours to 0 degC", "hours to freeze through")) if found else ()


PIPE = {"pipe_diameter": exact(0.015, "m"), "water_temperature": exact(10.0, "degC")}
HEAT, FUSION = 4.19e3, 333.6e3
"""Heat capacity [J/kg/K] and heat of fusion [J/kg] of water (any handbook)."""


def test_times_by_the_heat_balance_of_still_water():
    """Film 12.3 W/m2/K, from 8 in still to 25 in moving air; 15 mm outside, of whose section 80 % is water (50 % in thick
    plastic to 87 % in thin copper); 10 degC, air at -7 degC: 0.23 h and 3.2 h [computed: lumped balance,
    d share rho / (4 h) times c ln((Tw - Ta) / (0 - Ta)) and L / (0 - Ta)].
    """
    first, second = hours(PIPE)
    for found, balance in ((first, HEAT * math.log(17 / 7)), (second, FUSION / 7)):
        value, thin, thick, moving, still = (
            1000 * 0.015 * share / (4 * film) * balance / 3600
            for share, film in ((0.8, 12.3), (0.87, 12.3), (0.5, 12.3), (0.8, 25.0), (0.8, 8.0))
        )
        low = value - math.hypot(value - thick, value - moving)
        high = value + math.hypot(thin - value, still - value)
        assert (found.low, found.value, found.high) == pytest.approx((low, value, high), rel=5e-3)
        assert found.unit == "h"
    exactly = freeze_times(0.8 * 0.015, 283.15, 266.15, 12.3)
    assert [first.value, second.value] == pytest.approx([one / 3600 for one in exactly], rel=1e-9)


@pytest.mark.parametrize(("outside", "wall"), [(0.015, 0.001), (0.022, 0.001), (0.054, 0.002), (0.020, 0.0028)])
def test_pipes_of_common_sizes_lie_within_the_share_of_water(outside, wall):
    """Copper and plastic pipes of common sizes, from memory."""
    assert freezing.BORE.low <= ((outside - 2 * wall) / outside) ** 2 <= freezing.BORE.high


def test_water_that_is_not_stated_comes_at_five_to_fifteen_degrees():
    """As supplied, 10 degC (this project's choice): the same best value, wider bounds, and the same time to freeze."""
    known, assumed = hours(PIPE), hours({"pipe_diameter": PIPE["pipe_diameter"]})
    assert assumed[0].value == pytest.approx(known[0].value) and assumed[1] == known[1]
    ends = [1000 * 0.8 * 0.015 * HEAT / (4 * 12.3) * math.log((start + 7) / 7) / 3600 for start in (5.0, 15.0)]
    low = known[0].value - math.hypot(known[0].value - known[0].low, known[0].value - ends[0])
    high = known[0].value + math.hypot(known[0].high - known[0].value, ends[1] - known[0].value)
    assert (assumed[0].low, assumed[0].high) == pytest.approx((max(low, 0.0), high), rel=5e-3)


@pytest.mark.parametrize(
    ("air", "known"),
    [
        (-0.3, True),
        (-0.2, False),  # too near to freezing to say anything
        (Quantity.between(-5.0, -0.1, "degC"), False),
        (3.0, False),
        (None, False),
    ],
)
def test_times_need_air_below_freezing(air, known):
    assert bool(hours(PIPE, air)) is known


@pytest.mark.parametrize("diameter", [0.0, -0.02, None])
def test_times_need_a_pipe_with_a_diameter(diameter):
    facts = {} if diameter is None else {"pipe_diameter": exact(diameter, "m")}
    assert hours({"water_temperature": exact(10.0, "degC"), **facts}) == ()


def test_water_at_freezing_has_no_time_left_and_bounds_stay_possible():
    cold = hours({**PIPE, "water_temperature": exact(-5.0, "degC")})
    assert 0.0 <= cold[0].value < 0.001 and cold[1].value == pytest.approx(3.2, abs=0.1)
    wide = hours({**PIPE, "water_temperature": Quantity.between(0.0, 30.0, "degC", 3.0)})
    assert wide[0].low == 0.0 < wide[0].value


def test_air_beside_the_pipe_wins_over_that_outside():
    (found,) = looked(-1.0, facts={**PIPE, "air_around": exact(-7.0, "degC")}, outside=-20.0)
    assert found.measured["air around"].value == -7.0
    first, second = found.measured["hours to 0 degC"], found.measured["hours to freeze through"]
    assert (
        f"In air at -7 degC, still water would reach 0 degC in {first.low:.1f} to {first.high:.1f} h "
        f"and freeze through {second.low:.1f} to {second.high:.1f} h later." in found.summary
    )
    (outside,) = looked(-1.0, facts=PIPE, outside=-20.0)
    assert outside.measured["air around"].value == -20.0 and "In air at -20 degC" in outside.summary
    (mild,) = looked(-1.0, facts=PIPE, outside=2.0)
    assert "still water" not in mild.summary and "hours to 0 degC" not in mild.measured
    (bare,) = looked(-1.0, facts=PIPE)
    assert "still water" not in bare.summary and bare.classes == ()


@pytest.mark.parametrize(("outside", "said"), [(-6.7, "at or below -6.7 degC"), (-6.6, "above -6.7 degC")])
def test_the_published_alert_is_information_only(outside, said):
    """20 degF outdoors for pipes in unheated attics [seen: plumbing-frost-alert]."""
    (found,) = looked(-1.0, outside=outside)
    assert [row["class"] for row in found.classes] == [f"{said} outdoors, as information"]
    assert pytest.approx((20 - 32) / 1.8, abs=0.05) == freezing.ALERT_C
    assert pytest.approx((55 - 32) / 1.8, abs=0.05) == freezing.AWAY_C


@pytest.mark.parametrize(
    ("runs", "status", "words"),
    [
        ("yes", "not ruled out", "said to have run"),
        ("no", "ruled out", "said not to have run"),
        ("?", "not testable", ""),
    ],
)
def test_water_that_moves_may_keep_a_pipe_open(runs, status, words):
    (found,) = looked(-1.0, facts={"pipe_running": runs})
    (rival,) = [one for one in found.rivals if one.explanation.startswith("water that moves")]
    assert rival.status == status and words in rival.evidence and bool(rival.missing) is (status == "not testable")
    assert found.verdict == "defect", "it lowers the probability and is no strong rival"


@pytest.mark.parametrize(("shape", "gate"), [("box", "size in pixels"), ("line", "pixels on the pipe")])
def test_a_line_on_a_pipe_is_a_condition_in_doubt(shape, gate):
    """Three pixels and more (common practice, no source); of a line the coldest single pixel counts."""
    region = Region("riser", "cellar", shape, ((10, 10), (50, 20)), "exposed pipe")
    (found,) = looked(-1.0, region)
    assert found.gates[0].name == gate and (found.verdict == "suspect") is (shape == "line")
    assert found.gates[0].passed is (True if shape == "box" else None)
    assert found.urgency == ("soon" if shape == "box" else "plan")


def test_surfaces_fit_for_comparison_only_say_nothing_of_frost():
    dull = replace(picture(-5.0), absolute=(False,))
    assert run_step(freezing.STEP, dull, around()).findings == ()
