"""Warm-up curves drawn by hand: when a curve bends, what kind of warm-up it was, and how far outside the figures."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.model import Quantity
from heatbrief.physics.lumped import first_order
from heatbrief_vehicle.thermostat import FULL_C, START_C, WarmUp, fitted, follows_from, outside_the_range, warm_up

T = np.arange(0.0, 1201.0, 60.0)
START, FULL = Quantity.between(80.0, 84.0, "degC", 82.0), Quantity.between(92.0, 98.0, "degC", 95.0)


def bent(at, slope=0.1, level=20.0):
    """Still until a time, then rising by so many kelvin a second."""
    return level + slope * np.maximum(T - at, 0.0)


@pytest.mark.parametrize("at", [0.0, 240.0, 480.0, 720.0])
@pytest.mark.parametrize("level", [20.0, -10.0])
def test_the_bend_of_a_curve(at, level):
    """Tried at every fiftieth of the time; the curve is drawn without noise."""
    found = follows_from(T, bent(at, level=level), 0.5)
    assert found == pytest.approx(at, abs=1200 / 50) and 0.0 <= found < 1200.0


@pytest.mark.parametrize(
    ("rise", "noise", "follows"),
    [
        (8.0, 0.5, True),  # what has had warm coolant rose by 8 K (this project's choice)
        (7.9, 0.5, False),
        (8.0, 1.3, True),
        (8.0, 1.34, False),  # six times the noise are 8.04 K
        (30.0, 5.0, True),
        (30.0, 5.1, False),
        (-30.0, 0.5, False),
    ],
)
def test_a_curve_follows_when_it_rises_enough(rise, noise, follows):
    values = 20.0 + rise * np.clip((T - 300.0) / 600.0, 0.0, 1.0)
    assert (follows_from(T, values, noise) is not None) is follows


def test_the_rise_is_counted_from_the_first_two_readings():
    """One reading that is off does not hide a rise, nor make one."""
    values = bent(600.0, 0.1)
    odd = values.copy()
    odd[0] = 75.0
    assert follows_from(T, values, 0.5) is not None and follows_from(T, odd, 0.5) is not None
    still = np.full(T.size, 20.0)
    still[0], still[-1] = 4.0, 23.9
    assert follows_from(T, still, 0.5) is not None and follows_from(T, np.full(T.size, 20.0), 0.5) is None


def test_what_comes_after_most_of_the_rise_does_not_bend_the_line():
    """A curve that levels off, or falls again, keeps the bend of its beginning; at least four readings count."""
    level = np.minimum(bent(240.0, 0.2), 80.0)
    again = level - 0.1 * np.maximum(T - 900.0, 0.0)
    assert follows_from(T, level, 0.5) == pytest.approx(240.0, abs=30.0)
    assert follows_from(T, again, 0.5) == pytest.approx(240.0, abs=30.0)
    at_once = np.full(T.size, 80.0)
    at_once[0] = 20.0
    assert follows_from(T, at_once, 0.5) == pytest.approx(0.0, abs=30.0)


@pytest.mark.parametrize(
    ("engine_from", "opened", "highest", "kind"),
    [
        (20.0, 82.0, 90.0, "opened"),
        (20.0, 70.0, 90.0, "opened"),  # a hose reads up to 10 K below the coolant: 80 less 10
        (20.0, 69.9, 90.0, "opened early"),
        (20.0, 98.0, 99.0, "opened"),  # still within the figures for fully open
        (20.0, 98.1, 99.0, "opened late"),
        (60.0, 69.9, 90.0, "from the start"),  # 9.9 K after the first picture
        (54.9, 69.9, 90.0, "opened early"),  # 15 K later: it had been shut at first
        (55.0, 69.9, 90.0, "from the start"),
        (65.0, 75.0, 90.0, "opened"),
        (20.0, None, 98.0, "not warm yet"),
        (20.0, None, 98.1, "stayed shut"),
    ],
)
def test_kinds_of_warm_up(engine_from, opened, highest, kind):
    """10 K between hose and coolant, 15 K of lead (this project's choices) about the thermostat's own figures."""
    at = opened or 90.0
    engine = np.interp(T, [0.0, 600.0, 720.0, 1200.0], [engine_from, at, at, highest])
    radiator = np.full(T.size, 20.0) if opened is None else bent(600.0)
    found = warm_up(T, engine, radiator, START, FULL)
    assert found.highest == pytest.approx(highest)
    if opened is None:
        assert found.kind == kind and found.opened_at is found.opened_c is None
    else:
        assert found.opened_at == pytest.approx(600.0, abs=25.0) and found.opened_c == pytest.approx(opened)
        assert found.kind == kind


@pytest.mark.parametrize(
    ("opened", "highest", "kind"),
    [
        (None, 105.4, "not warm yet"),
        (None, 105.6, "stayed shut"),  # the highest figure for fully open is 105.5 degC [seen: S68]
        (69.9, 90.0, "opened early"),
        (70.1, 90.0, "opened"),  # the lowest for the start is 80 degC [seen: S68, S69], a hose 10 K below it
        (105.6, 106.0, "opened late"),
    ],
)
def test_without_figures_of_its_own_a_thermostat_is_held_against_all_that_were_seen(opened, highest, kind):
    at = opened or 90.0
    engine = np.interp(T, [0.0, 600.0, 720.0, 1200.0], [20.0, at, at, highest])
    assert warm_up(T, engine, np.full(T.size, 20.0) if opened is None else bent(600.0)).kind == kind


def test_without_a_radiator_side_nothing_opens():
    found = warm_up(T, np.linspace(20.0, 99.0, T.size), None, START, FULL)
    assert found.kind == "no radiator side" and found.opened_at is None and found.fit is not None


def test_four_pictures_are_a_warm_up():
    assert warm_up(T[:4], np.array([20.0, 40.0, 55.0, 66.0]), None).fit is not None
    with pytest.raises(ValueError, match="four pictures"):
        warm_up(T[:3], T[:3], None)


def test_the_curve_is_fitted_up_to_the_opening_in_kelvin():
    """Toward 90 degC with 300 s up to 480 s; what comes later is of another curve."""
    engine = first_order(T, 20.0, 90.0, 300.0)
    engine[T > 480.0] = 60.0
    fit = fitted(T, engine, 480.0)
    assert (fit.t_start, fit.t_end, fit.time_constant) == pytest.approx((293.15, 363.15, 300.0), rel=1e-4)
    assert fitted(T, engine, 180.0).time_constant == pytest.approx(300.0, rel=1e-3)  # 0, 60, 120 and 180 s
    assert fitted(T, engine, 179.0) is None and fitted(T, np.full(T.size, 20.0), None) is None
    all_of_it = fitted(T, first_order(T, 20.0, 90.0, 300.0), None)
    assert all_of_it.time_constant == pytest.approx(300.0, rel=1e-3)


def test_too_few_readings_before_the_opening_leave_the_fit_of_all():
    engine = first_order(T, 20.0, 90.0, 300.0)
    found = warm_up(T, engine, bent(60.0), START, FULL)
    assert found.opened_at < 180.0 and found.fit.time_constant == pytest.approx(300.0, rel=1e-3)


@pytest.mark.parametrize(
    ("kind", "opened", "highest", "bounds"),
    [
        ("stayed shut", None, 103.0, (5.0, 5.0, 15.0)),  # above 98; the coolant may be 10 K hotter still
        ("opened early", 60.0, 90.0, (10.0, 10.0, 20.0)),  # below 80 less 10; against the coolant up to 20
        ("from the start", 50.0, 90.0, (20.0, 20.0, 30.0)),
        ("opened late", 101.0, 110.0, (3.0, 3.0, 13.0)),
        ("opened", 85.0, 95.0, (0.0, 0.0, 0.0)),
        ("opened", 98.0, 99.0, (0.0, 0.0, 0.0)),
        ("opened late", 98.5, 99.0, (0.5, 0.5, 10.5)),
    ],
)
def test_how_far_outside_the_figures(kind, opened, highest, bounds):
    found = outside_the_range(WarmUp(kind, highest, 300.0, opened), START, FULL)
    assert (found.value, found.low, found.high) == pytest.approx(bounds) and found.unit == "K"


@pytest.mark.parametrize("kind", ["not warm yet", "no radiator side"])
def test_what_is_not_known_is_not_outside(kind):
    assert outside_the_range(WarmUp(kind, 70.0), START, FULL) is None


def test_usual_figures_of_thermostats():
    """Dossier 3.3, (start, fully open) of the texts read: they are what the bounds hold [seen: S68, S69]."""
    starts, fulls = zip((82, 88), (88, 95), (80, 95), (84, 95), (82, 102), (95, 105.5), strict=True)
    assert (START_C.low, START_C.high) == (min(starts), max(starts))
    assert (FULL_C.low, FULL_C.high) == (min(fulls), max(fulls))
