"""Warm-up: bend, fit and thermostat against the dossier's sequence vectors and engines of known truth."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.errors import StepError
from heatbrief.model import Conditions, ErrorSource, Quantity, Region, Thermogram
from heatbrief.physics.lumped import first_order, fit_first_order, rate_of_rise, time_to_reach
from heatbrief.testing import run_step
from heatbrief_vehicle.cold_start import STEP as COLD_START
from heatbrief_vehicle.cold_start import reached
from heatbrief_vehicle.thermostat import START_C, follows_from, outside_the_range, warm_up
from heatbrief_vehicle.warm_up import STEP

Q1_T = np.array([0, 60, 120, 180, 300, 420, 600, 900, 1200.0])
Q1_C = np.array([20, 32.689, 43.078, 51.583, 64.248, 72.738, 80.527, 86.515, 88.718])
START, FULL = Quantity.exact(82, "degC"), Quantity.exact(95, "degC")


def test_the_published_vector_is_fitted():
    """Dossier Q1: T0 20, Tend 90, tau 300 s; 82 degC at 650.7 s [computed: K11]."""
    fit = fit_first_order(Q1_T, Q1_C)
    assert (fit.t_start, fit.t_end, fit.time_constant) == pytest.approx((20, 90, 300), rel=1e-3)
    assert time_to_reach(82, 20, 90, 300) == pytest.approx(650.7, abs=0.05)
    assert warm_up(Q1_T, Q1_C, None).fit.time_constant == pytest.approx(300, rel=1e-3)


def test_a_lumped_engine():
    """100 kg iron and 5 L coolant, 6 kW: 5.6 K/min [computed: K14]."""
    assert 60 * rate_of_rise(6000, 100 * 450 + 5 * 1.05 * 3600) == pytest.approx(5.6, abs=0.1)


def test_thermostat_figures_are_those_of_the_manuals():
    """Dossier 3.3: starts at 80 to 95 degC in the specs seen [seen: S68, S69]."""
    assert (START_C.low, START_C.high) == (80, 95)


def engine(opens=84.0, stuck="", until=1500.0, step=60.0, noise=0.3, seed=1):
    """Engine side, radiator side: 6 K/min until it opens, then the radiator follows with a time constant of 90 s."""
    seconds = np.arange(0, until + 1, step)
    hot = first_order(seconds, 20.0, 60.0 if stuck == "open" else 115.0, 700.0)
    begins = 0.0 if stuck == "open" else np.inf if stuck == "shut" else time_to_reach(opens, 20.0, 115.0, 700.0)
    since = np.maximum(seconds - begins, 0.0)
    side = 20.0 + (hot - 5.0 - 20.0) * -np.expm1(-since / 90.0)
    hot = np.minimum(hot, opens + 8.0) if not stuck else hot
    random = np.random.default_rng(seed)
    return seconds, hot + noise * random.standard_normal(hot.size), side + noise * random.standard_normal(hot.size)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("opens", [78.0, 84.0, 92.0])
def test_the_opening_is_found(opens, seed):
    found = warm_up(*engine(opens, seed=seed), START, FULL)
    assert found.kind == "opened" and found.opened_c == pytest.approx(opens, abs=4)


@pytest.mark.parametrize(("opens", "kind"), [(55.0, "opened early"), (104.0, "opened late")])
def test_early_and_late(opens, kind):
    found = warm_up(*engine(opens, until=2400.0), START, FULL)
    assert found.kind == kind and outside_the_range(found, START, FULL).value > 5


def test_stuck_open_and_stuck_shut():
    assert warm_up(*engine(stuck="open"), START, FULL).kind == "from the start"
    assert warm_up(*engine(stuck="shut", until=2000), START, FULL).kind == "stayed shut"
    assert warm_up(*engine(stuck="shut", until=600), START, FULL).kind == "not warm yet"


def test_a_level_curve_follows_nothing():
    seconds = np.arange(10) * 60.0
    assert follows_from(seconds, 20 + 0.5 * np.random.default_rng(3).standard_normal(10), 0.5) is None
    with pytest.raises(ValueError, match="four"):
        warm_up(seconds[:3], seconds[:3], None)


def pictures(curves, shows, seconds, group="", facts=None):
    """A sequence with one region for each curve."""
    errors = (
        ErrorSource("noise", "", 0.1, "K", (300.0,), (1.0,)),
        ErrorSource("accuracy", "camera", 1.0, "K", (300.0,), (1.0,)),
    )
    found, regions, random = [], [], np.random.default_rng(2)
    for place, second in enumerate(seconds):
        values = 293.15 + random.normal(0, 0.1, (30, 20 * len(curves)))
        name = f"p{place:02d}"
        taken = f"2026-07-14T10:{int(second) // 60:02d}:{int(second) % 60:02d}+00:00"
        for column, (part, curve) in enumerate(curves.items()):
            values[:, 20 * column : 20 * column + 20] += curve[place] - 20.0
            box = ((20 * column + 5, 5), (20 * column + 15, 25))
            regions.append(Region(part, name, "box", box, shows[part], group=group))
        found.append(
            Thermogram(
                name, values.astype(np.float32), "temperature", None, (errors,), (0.9,), (True,), None, taken=taken
            )
        )
    names = [one.id for one in found]
    given = Context(
        regions=tuple(regions),
        views={name: View(thermogram=name, emissivity=Quantity.exact(0.9, "1")) for name in names},
        conditions_of={name: Conditions(sun="none", reflected=Quantity.exact(25, "degC")) for name in names},
        facts_of={name: {"second view": "same place", **(facts or {})} for name in names},
    )
    return tuple(found), given


def warmed(stuck="", facts=None, **more):
    seconds, hot, side = engine(stuck=stuck, **more)
    shows = {"housing": "thermostat housing", "tank": "radiator tank"}
    subject, given = pictures({"housing": hot, "tank": side}, shows, seconds, facts=facts)
    return run_step(STEP, subject, given).findings


OWN = {"thermostat_start": START, "thermostat_full": FULL}


def test_the_check_says_what_it_saw():
    (good,) = warmed(facts=OWN)
    assert good.verdict == "normal" and "as the thermostat's figures say" in good.summary
    assert good.measured["opening seen at"].value == pytest.approx(84, abs=4)
    (stuck,) = warmed("open", facts=OWN)
    assert stuck.verdict == "defect" and "consistent with a thermostat stuck open" in stuck.summary
    assert stuck.measured["time constant"].low < 700 < stuck.measured["time constant"].high
    (shut,) = warmed("shut", facts=OWN, until=2400.0)
    assert shut.verdict == "defect" and "consistent with a thermostat stuck shut" in shut.summary


def test_without_own_figures_it_is_only_suspected():
    (stuck,) = warmed("open")
    assert stuck.verdict == "suspect" and any("thermostat_start" in one for one in stuck.next_time)


def test_a_short_warm_up_is_open():
    (early,) = warmed("shut", until=480.0)
    assert early.verdict == "inconclusive"


def cold_start(rises, facts=None, seconds=(0, 30, 60, 90)):
    names = [f"cylinder {number} runner" for number in range(1, len(rises) + 1)]
    curves = {
        name: [20 + rise * (1 - np.exp(-s / 60)) for s in seconds] for name, rise in zip(names, rises, strict=True)
    }
    subject, given = pictures(curves, dict.fromkeys(names, "exhaust runner"), seconds, "runners", facts)
    return run_step(COLD_START, subject, given)


def test_the_one_that_lags_is_named_and_the_order_is_said():
    (finding,) = cold_start([200, 210, 60, 190]).findings
    assert finding.region == "cylinder 3 runner" and finding.verdict == "defect" and "lags" in finding.title
    assert "cylinder 2 runner" in finding.summary.split("cylinder 1 runner")[0] and "not reached" in finding.summary


def test_alike_runners_are_normal():
    (finding,) = cold_start([200, 210, 195, 190]).findings
    assert finding.verdict == "normal" and finding.title == "Runners warm alike"


def test_a_warm_engine_or_a_shield_is_not_judged():
    assert cold_start([200, 210, 195, 60], facts={"shielded": "yes"}).findings == ()
    assert "behind a shield" in cold_start([200, 210, 195, 60], facts={"shielded": "yes"}).notes[0]
    with pytest.raises(StepError, match="three pictures"):
        cold_start([200, 210, 60, 190], seconds=(0, 60))


def test_time_to_a_rise_lies_on_the_line_between_readings():
    assert reached(np.array([0, 30, 60.0]), [0, 10, 30], 20) == pytest.approx(45)
    assert reached(np.array([0, 30.0]), [0, 10], 20) == np.inf
