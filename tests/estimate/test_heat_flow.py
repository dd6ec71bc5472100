"""Extra heat flow against surface coefficients of ISO 6946 and the spread of published correlations."""

from __future__ import annotations

import pytest
from heatbrief.api import Context, View
from heatbrief.detect.films import facing_of, heat_goes, inside_film, taken_outside
from heatbrief.estimate.heat_flow import ExtraHeat, Settings, extra_heat, run
from heatbrief.model import Conditions, Finding, Quantity, Region


def finding(check="envelope.insulation", verdict="defect", region="the wall", **measured):
    given = {
        "contrast": Quantity.between(-2.2, -1.8, "K", -2.0),
        "area": Quantity.between(0.9, 1.1, "m2", 1.0),
        "mean temperature": Quantity.between(16.0, 20.0, "degC", 18.0),
        **measured,
    }
    return Finding(
        "one",
        "envelope",
        check,
        "room",
        region,
        "t",
        "s",
        verdict,
        "plan",
        0.9,
        measured={k: v for k, v in given.items() if v is not None},
    )


def context(shows="wall", facts=None, **now):
    given = {"inside_air": Quantity.exact(20.0, "degC"), "outside_air": Quantity.exact(0.0, "degC"), **now}
    return Context(
        conditions=Conditions(**given),
        regions=(Region("the wall", "room", shows=shows, facts=facts or {}),),
        views={"room": View("room", shows=shows)},
    )


@pytest.mark.parametrize(
    ("shows", "surface", "air", "direction"),
    [
        ("wall", 18.0, 20.0, "horizontal"),
        ("ceiling", 18.0, 20.0, "up"),
        ("ceiling", 26.0, 24.0, "down"),
        ("floor", 18.0, 20.0, "down"),
        ("floor", 24.0, 22.0, "up"),
    ],
)
def test_the_coefficient_holds_the_conventional_value(shows, surface, air, direction):
    """1/Rsi of ISO 6946: 0.10 up, 0.13 horizontal, 0.17 down; heat goes up into a ceiling colder than the room."""
    usual = {"up": 10.0, "horizontal": 1 / 0.13, "down": 1 / 0.17}[direction]
    film = inside_film(shows, Quantity.exact(surface, "degC"), Quantity.exact(air, "degC"))
    assert heat_goes(facing_of(shows), surface > air) == direction
    assert film.low <= usual <= film.high
    assert film.low < film.value < film.high


def test_the_coefficient_of_a_wall_holds_every_correlation_of_the_table():
    """EX-1.6, air 20 degC, 2 K colder: convection 1.651 (TARP) to 1.838 (Churchill-Chu, with ht); EX-1.2: hr0 5.714 at
    20 degC, times 0.93."""
    film = inside_film("wall", Quantity.exact(18.0, "degC"), Quantity.exact(20.0, "degC"))
    for convection in (1.651, 1.678, 1.838, 2.5):
        assert film.low <= 0.93 * 5.66 + convection <= film.high


def test_a_warm_ceiling_is_known_worse_than_a_wall():
    """EX-1.7: suppressed convection spreads from 0.33 to 0.76 W/m2K at 1 K, assisted from 1.5 to 1.8."""
    warm = inside_film("ceiling", Quantity.exact(26.0, "degC"), Quantity.exact(24.0, "degC"))
    cold = inside_film("ceiling", Quantity.exact(22.0, "degC"), Quantity.exact(24.0, "degC"))
    assert warm.value < cold.value


def test_heat_flow_by_hand():
    """2 K x 1 m2 x (5.29 + 1.68) W/m2K = 14 W; with Rsi 0.13 it is 15.4 W."""
    (estimate,) = run((finding(),), Settings(), context()).estimates
    flow = estimate.quantities["heat_flow"]
    assert flow.unit == "W" and flow.value == pytest.approx(2.0 * (0.93 * 5.66 + 1.7), rel=0.04)
    assert flow.low <= 2.0 / 0.13 <= flow.high
    assert flow.low < 0.85 * flow.value and flow.high > 1.15 * flow.value
    assert estimate.finding == "one" and estimate.assumptions and estimate.sources


def test_the_sign_of_the_contrast_does_not_matter_for_the_size():
    warm = finding(contrast=Quantity.between(1.8, 2.2, "K", 2.0), **{"mean temperature": None})
    cold = finding(**{"mean temperature": None})
    assert extra_heat(warm, context()).flow.value == pytest.approx(extra_heat(cold, context()).flow.value, rel=0.05)


def test_a_duct_takes_the_air_around_it():
    around = {"air_around": Quantity.exact(50.0, "degC")}
    extra = extra_heat(
        finding("envelope.duct", contrast=Quantity.exact(-15.0, "K")), context(shows="attic duct", facts=around)
    )
    assert isinstance(extra, ExtraHeat) and extra.air.value == 50.0


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"area": None}, "area"),
        ({"contrast": None}, "contrast"),
        ({"contrast": Quantity.exact(30.0, "count")}, "kelvin"),
    ],
)
def test_what_is_missing_is_said_and_not_invented(change, word):
    output = run((finding(**change),), Settings(), context())
    assert output.estimates == () and word in output.notes[0]


def test_without_the_air_or_from_outside_nothing_is_worked_out():
    assert "air temperature" in run((finding(),), Settings(), context(inside_air=None)).notes[0]
    assert taken_outside("facade seen from the street") and not taken_outside("outside wall, from inside")
    assert "outside" in run((finding(),), Settings(), context(shows="facade")).notes[0]


@pytest.mark.parametrize("verdict", ["normal", "inconclusive"])
def test_only_defects_and_suspects_count(verdict):
    assert run((finding(verdict=verdict),), Settings(), context()).estimates == ()


def test_other_checks_count_when_they_are_named():
    one = finding("third.check")
    assert run((one,), Settings(), context()).estimates == ()
    assert len(run((one,), Settings(checks=("third.check",)), context()).estimates) == 1
