"""Our own plugins keep the contract, and the checks see what breaks it."""

from __future__ import annotations

import itertools
import sys
from dataclasses import dataclass
from types import SimpleNamespace

import pytest
from heatbrief.api import Domain, Step, StepError, StepOutput, hookimpl, setting
from heatbrief.model import Caution, Estimate, Finding, Quantity
from heatbrief.registry import build_registry
from heatbrief.testing import check_plugin


@pytest.mark.parametrize("name", ["envelope", "electrical", "plumbing", "vehicle"])
def test_our_plugins_keep_the_contract(name):
    assert [str(fault) for fault in check_plugin(name)] == []


def test_a_name_that_is_not_installed_is_an_error():
    with pytest.raises(LookupError):
        check_plugin("pol")


@dataclass(frozen=True)
class Plain:
    least: float = setting(1.0, unit="K", help="least contrast")


@dataclass(frozen=True)
class Careless:
    least: float = setting(1.0)


COUNTER = itertools.count()


def finding(subject, check="faulty.step", **fields):
    given = {
        "measured": {"contrast": Quantity.between(1.0, 2.0, "K")},
        "probability": 0.9,
        "verdict": "suspect",
        "urgency": "plan",
        **fields,
    }
    return Finding(f"f-{subject.id}", "faulty", check, subject.id, "", "A title", "A summary.", **given)


def sound(subject, settings, context):
    return StepOutput(findings=(finding(subject),)) if subject.scale == "temperature" else StepOutput()


def raises(subject, settings, context):
    return StepOutput(notes=(str(subject.values[40, 40]),))


def refuses(subject, settings, context):
    raise StepError("too-small", "too small", "nearer")


def writes(subject, settings, context):
    subject.values[:] = 0.0
    return StepOutput()


def differs(subject, settings, context):
    return StepOutput(notes=(str(next(COUNTER)),))


def unit(subject, settings, context):
    return StepOutput(findings=(finding(subject, measured={"warmth": Quantity.exact(2.0, "furlong")}),))


def unbounded(subject, settings, context):
    return StepOutput(findings=(finding(subject, measured={"contrast": Quantity.exact(2.0, "K")}),))


def warm_counts(subject, settings, context):
    return StepOutput(findings=(finding(subject),))


def unknown_action(subject, settings, context):
    return StepOutput(findings=(finding(subject, actions=("faulty.nothing",)),))


def certain(subject, settings, context):
    return StepOutput(findings=(finding(subject, probability=1.0),))


def another(subject, settings, context):
    return StepOutput(findings=(finding(subject, check="faulty.other"),))


def twice(subject, settings, context):
    return StepOutput(findings=(finding(subject), finding(subject)))


def orphan(findings, settings, context):
    return StepOutput(estimates=(Estimate("e", "nobody", "heat-flow", "x", {"heat_flow": Quantity.exact(1.0, "W")}),))


CARE = Caution("faulty.care", "Care", "always", ("Be careful.",), defer=("a trade",))


def registry_of(
    step,
    cautions=(CARE,),
    domain_cautions=("faulty.care",),
):
    plugin = SimpleNamespace(
        heatbrief_domains=hookimpl(lambda: (Domain("faulty", "Faulty", "x", domain_cautions),)),
        heatbrief_steps=hookimpl(lambda: (step,)),
        heatbrief_cautions=hookimpl(lambda: cautions),
    )
    return build_registry([("faulty", "here", lambda: plugin)])


def step_of(run, settings=Plain, **fields):
    given = {"stage": "detect", "domain": "faulty", "shows": ("wall",), "unscaled": True, **fields}
    return Step("faulty.step", version=1, run=run, settings=settings, summary="a summary", **given)


@pytest.fixture(autouse=True)
def importable():
    """Functions must be found by the name of their module to be pickled, however this file was imported."""
    added = __name__ not in sys.modules
    sys.modules.setdefault(__name__, sys.modules.get(__name__) or SimpleNamespace(**globals()))
    yield
    if added:
        sys.modules.pop(__name__, None)


def rules(registry):
    return {fault.rule for fault in check_plugin("faulty", registry=registry)}


@pytest.mark.parametrize("run", [sound, refuses])
def test_what_keeps_the_contract_has_no_fault(run):
    assert check_plugin("faulty", registry=registry_of(step_of(run))) == ()


@pytest.mark.parametrize(
    ("run", "rule"),
    [
        (raises, "errors"),
        (writes, "errors"),
        (differs, "same input, same output"),
        (unit, "units"),
        (unbounded, "bounds"),
        (warm_counts, "no temperature without a scale"),
        (unknown_action, "keys"),
        (certain, "verdict"),
        (another, "names"),
        (twice, "identifiers"),
    ],
)
def test_each_rule_sees_what_breaks_it(run, rule):
    assert rule in rules(registry_of(step_of(run)))


def test_an_estimate_of_no_finding_is_seen():
    assert "names" in rules(registry_of(step_of(orphan, stage="estimate", shows=())))


def test_settings_need_units_and_help():
    faults = check_plugin("faulty", registry=registry_of(step_of(sound, Careless)))
    assert {fault.rule for fault in faults} == {"settings"} and len(faults) == 2


def test_keys_of_cautions_must_exist_and_cautions_say_whom_to_ask():
    assert rules(registry_of(step_of(sound), cautions=())) == {"keys"}
    lone = (Caution("faulty.care", "Care", "always", ("Be careful.",)),)
    assert rules(registry_of(step_of(sound), cautions=lone)) == {"cautions"}


def test_a_plugin_that_does_not_load_is_a_fault():
    broken = build_registry([("faulty", "here", lambda: 1 / 0)])
    assert rules(broken) == {"loading"}


def test_scenes_of_ones_own_are_run_too():
    from heatbrief.api import Context
    from heatbrief.testing import thermogram

    seen = []

    def look(subject, settings, context):
        seen.append(subject.id)
        return StepOutput()

    step = step_of(sound)
    object.__setattr__(step, "run", look)
    made = registry_of(step_of(sound))
    object.__setattr__(made, "steps", {"faulty.step": step})
    check_plugin("faulty", {"faulty.step": [(thermogram(name="mine"), Context())]}, made)
    assert "mine" in seen
