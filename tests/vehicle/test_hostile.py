"""Pictures and surveys that give a check nothing to work with: noted or silent, never an exception, never a claim."""

from __future__ import annotations

import heatbrief_vehicle
import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.errors import StepError
from heatbrief.model import Quantity, Region, Thermogram

CHECKS = [step for step in heatbrief_vehicle.heatbrief_steps() if step.stage == "detect"]
ESTIMATES = [step for step in heatbrief_vehicle.heatbrief_steps() if step.stage == "estimate"]


def picture(values, name="p", minute=0):
    return Thermogram(
        name, np.asarray(values, np.float32), "temperature", None, taken=f"2026-07-14T10:{minute:02d}:00+00:00"
    )


def subjects(values):
    return tuple(picture(values, f"p{minute}", minute) for minute in range(5))


def given(step, names, **region):
    regions = tuple(
        Region(f"{word} {side}", name, "box", ((2 + side, 2), (30 + side, 30)), word, group="one", **region)
        for name in names
        for word in step.shows
        for side in range(2)
    )
    return Context(
        regions=regions, views={name: View(thermogram=name) for name in names}, view=View(thermogram=names[0])
    )


@pytest.mark.parametrize("step", CHECKS, ids=lambda step: step.name)
@pytest.mark.parametrize("fill", [np.nan, 300.0, 1e6, -5.0])
def test_flat_and_empty_pictures_make_no_claim(step, fill):
    many = subjects(np.full((40, 40), fill))
    subject = many[0] if step.scope == "thermogram" else many
    context = given(step, [one.id for one in many] if step.scope != "thermogram" else ["p0"])
    try:
        output = step.run(subject, step.settings(), context.only(step.reads))
    except StepError as problem:
        assert problem.remedy
        return
    assert not [one.title for one in output.findings if one.verdict == "defect"]
    assert output.findings or output.notes or step.scope == "thermogram"


@pytest.mark.parametrize("step", CHECKS, ids=lambda step: step.name)
def test_facts_of_the_wrong_kind_are_survived(step):
    facts = {spec.name: "purple" if spec.unit else Quantity.exact(3, "m") for spec in step.facts}
    many = subjects(300 + np.random.default_rng(1).normal(0, 0.1, (40, 40)))
    subject = many[0] if step.scope == "thermogram" else many
    context = given(step, [one.id for one in many] if step.scope != "thermogram" else ["p0"], facts=facts)
    output = step.run(subject, step.settings(), context.only(step.reads))
    assert not [one.title for one in output.findings if one.verdict == "defect"]


@pytest.mark.parametrize("step", ESTIMATES, ids=lambda step: step.name)
def test_no_findings_no_estimates(step):
    assert step.run((), step.settings(), Context()).estimates == ()
