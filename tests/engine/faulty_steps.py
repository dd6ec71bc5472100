"""Steps that misbehave, at the top level of a module so that they could go to other processes."""

from __future__ import annotations

import os
import signal
import time

from heatbrief.api import Step, StepError, StepOutput, hookimpl
from heatbrief.model import Finding, Quantity


def raises(subject, settings, context):
    raise RuntimeError("the roof fell in")


def says_no(subject, settings, context):
    raise StepError("no-values", "nothing to see here.", "Look elsewhere.")


def nonsense(subject, settings, context):
    return {"findings": "many"}


def writes(subject, settings, context):
    subject.values[:] = 0
    return StepOutput()


def dies(subject, settings, context):
    os._exit(9)


def hangs(subject, settings, context):
    time.sleep(60)


def catches_all(subject, settings, context):
    for _ in range(600):
        try:
            time.sleep(0.1)
        except Exception:
            continue


def deaf(subject, settings, context):
    """Hear no signal in one picture."""
    if subject.id == "p1":
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGALRM})
        time.sleep(60)
    return StepOutput()


def finding(subject, unit):
    contrast = Quantity.exact(3.0, unit)
    return StepOutput(
        (
            Finding(
                "a",
                "envelope",
                "envelope.warm",
                subject.id,
                "",
                "Warm",
                "It is warm.",
                "suspect",
                "watch",
                0.5,
                measured={"contrast": contrast},
            ),
        )
    )


def warm(subject, settings, context):
    return finding(subject, "count")


def degrees(subject, settings, context):
    return finding(subject, "K")


def offer(**runs):
    """A plugin named `trial` with one check for each function."""
    steps = [Step(f"trial.{name}", "detect", 1, run, domain="envelope", unscaled=True) for name, run in runs.items()]
    return type("Trial", (), {"heatbrief_steps": staticmethod(hookimpl(lambda: steps, specname="heatbrief_steps"))})()
