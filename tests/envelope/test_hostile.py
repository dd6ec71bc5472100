"""Checks of both building plugins on pictures and facts that make no sense: an answer, or nothing, but no crash."""

from __future__ import annotations

from dataclasses import replace

import heatbrief_envelope
import heatbrief_plumbing
import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.errors import StepError
from heatbrief.model import Conditions, Quantity, Region, Thermogram
from heatbrief.testing import run_step

STEPS = [
    step
    for module in (heatbrief_envelope, heatbrief_plumbing)
    for step in module.heatbrief_steps()
    if step.stage == "detect"
]
EXACT = Quantity.exact
NOW = Conditions(
    inside_air=EXACT(21.0, "degC"),
    outside_air=EXACT(0.0, "degC"),
    humidity=EXACT(0.5, "1"),
    outside_humidity=EXACT(0.8, "1"),
)


def picture(values, scale="temperature", name="odd"):
    return Thermogram(name, np.asarray(values, np.float32), scale, taken="2026-01-01T10:00:00")


def noisy(height, width, seed=0):
    return 294.0 + np.random.default_rng(seed).normal(0, 0.1, (height, width)).astype(np.float32)


PICTURES = {
    "all masked": np.full((60, 80), np.nan),
    "one pixel": np.array([[294.0]]),
    "one row": noisy(1, 200),
    "constant": np.full((60, 80), 294.0),
    "half masked": np.where(np.arange(80) < 40, np.nan, noisy(60, 80)),
    "hot pixel": np.where(noisy(60, 80) > 294.35, 900.0, noisy(60, 80)),
    "step": np.where(np.arange(80) < 40, 280.0, 300.0) + noisy(60, 80) - 294.0,
}


def shown(step, size, extra=()):
    word = step.shows[0]
    return (
        Region("whole", "odd", shows=word),
        Region("a line", "odd", "line", ((0.0, 0.0), (9.0, 9.0)), "pipe"),
        *extra,
    )


def run(step, values, conditions=NOW, regions=None, scale="temperature", facts=None):
    one = picture(values, scale)
    context = Context(
        conditions=conditions,
        regions=regions if regions is not None else shown(step, values.shape),
        view=View("odd", shows=step.shows[0]),
        facts=facts or {},
    )
    if step.scope != "sequence":
        return run_step(step, one, context)
    other = replace(one, id="later", taken="2026-01-01T10:10:00")
    given = {
        "odd": replace(conditions, pressure_difference=EXACT(0.0, "Pa")),
        "later": replace(conditions, pressure_difference=EXACT(-25.0, "Pa")),
    }
    later = tuple(replace(region, thermogram="later") for region in context.regions)
    pair = replace(
        context,
        conditions_of=given,
        facts_of={"odd": {"valve": "shut"}, "later": {"valve": "open"}},
        regions=(*context.regions, *later),
        views={"odd": context.view, "later": replace(context.view, thermogram="later")},
    )
    return run_step(step, (one, other), pair)


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.name)
@pytest.mark.parametrize("values", PICTURES.values(), ids=PICTURES)
def test_odd_pictures(step, values):
    for conditions in (NOW, Conditions()):
        try:
            output = run(step, values, conditions)
        except StepError:
            continue
        for finding in output.findings:
            assert 0.0 < finding.probability < 1.0
            for quantity in finding.measured.values():
                assert np.isfinite([quantity.value, quantity.low, quantity.high]).all()


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.name)
@pytest.mark.parametrize(
    "box", [((-500.0, -500.0), (-400.0, -400.0)), ((79.0, 59.0), (4000.0, 4000.0)), ((10.0, 10.0), (10.0, 10.0))]
)
def test_regions_beside_the_picture(step, box):
    regions = (Region("odd place", "odd", "box", box, shows=step.shows[0]),)
    assert run(step, noisy(60, 80), regions=regions).findings == ()


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.name)
def test_words_where_numbers_are_expected(step):
    facts = dict.fromkeys(
        (
            "air_beyond",
            "supply_air",
            "air_around",
            "diameter",
            "heating for",
            "construction",
            "valve",
            "moisture meter",
        ),
        "rather warm",
    )
    regions = (Region("whole", "odd", shows=step.shows[0], facts=facts),)
    run(step, PICTURES["step"], regions=regions)


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.name)
def test_extreme_conditions(step):
    wild = Conditions(
        inside_air=EXACT(80.0, "degC"),
        outside_air=EXACT(-70.0, "degC"),
        humidity=EXACT(1.0, "1"),
        outside_humidity=EXACT(0.0, "1"),
        wind=EXACT(80.0, "m/s"),
    )
    run(step, PICTURES["step"], wild)
    run(step, PICTURES["step"], replace(wild, humidity=EXACT(0.0, "1")))


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.name)
def test_noise_alone_is_never_a_defect(step, seed):
    output = run(step, noisy(120, 160, seed))
    assert all(finding.verdict != "defect" for finding in output.findings)
