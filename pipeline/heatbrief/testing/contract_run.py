"""One step run as the contract asks: twice, on inputs that must stay as they are, within a stated time."""

from __future__ import annotations

import pickle
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from heatbrief.api import Context, Step, StepOutput
from heatbrief.errors import StepError
from heatbrief.model.thermogram import Picture, Thermogram
from heatbrief.registry import Registry
from heatbrief.store.keys import digest_of
from heatbrief.testing.contract_output import output_faults

Fault = tuple[str, str]
"""(rule, what happened)"""

SECONDS, SECONDS_PER_MEGAPIXEL = 10.0, 60.0
"""Processor time that one call of a step may take: a fixed part, and one for each million pixels it is given."""

HANG_SECONDS = 120.0
"""A call that is not back after this much is taken to hang and is left behind."""


class Hangs(Exception):
    """A call did not come back."""


def called(
    step: Step,
    subject: Any,
    settings: Any,
    context: Context,
    what: str,
    plugins: Registry | None = None,
    limit: float = HANG_SECONDS,
) -> tuple[Any, list[Fault]]:
    """The step's output, run twice on read-only pictures, with the faults that showed."""
    given = replace(context, rivals=tuple(plugins.rivals.values()) if plugins else context.rivals).only(step.reads)
    freeze(subject)
    state = _state(subject, given)
    outputs: list[Any] = []
    spent = 0.0
    for _ in range(2):
        try:
            output, seconds = timed(lambda: _run(step, subject, settings, given), limit)
        except Hangs as error:
            return None, [("time", f"on {what} it {error}")]
        except Exception as error:
            return None, [("errors", f"on {what} it raised {type(error).__name__}: {error}")]
        outputs.append(output)
        spent = seconds if not spent else min(spent, seconds)
    faults: list[Fault] = []
    budget = SECONDS + SECONDS_PER_MEGAPIXEL * _pixels(subject) / 1e6
    if spent > budget:
        faults.append(("time", f"on {what} it took {spent:.0f} s of processor time; the budget is {budget:.0f} s"))
    if _state(subject, given) != state:
        faults.append(("inputs", f"on {what} it changed what it was given"))
    if step.stage in ("detect", "estimate"):
        if digest_of(outputs[0]) != digest_of(outputs[1]):
            faults.append(("same input, same output", f"on {what} two runs differ"))
        if not isinstance(outputs[0], (StepOutput, tuple)):
            said = f"on {what} it returned {type(outputs[0]).__name__} instead of a StepOutput"
            faults.append(("output", said))
    faults += [("another process", f"its output on {what} cannot be pickled") for _ in _unpicklable(outputs[0])]
    return outputs[0], faults


def faults_of_output(step: Step, subject: Any, output: Any, plugins: Registry) -> list[Fault]:
    """What is wrong with an output that was made elsewhere: kinds, units, bounds, keys, words, picklability."""
    if not isinstance(output, StepOutput):
        return [("output", f"it returned {type(output).__name__} instead of a StepOutput")]
    unpicklable = [("another process", "its output cannot be pickled") for _ in _unpicklable(output)]
    return [*output_faults(step, subject, output, plugins), *unpicklable]


def timed(call: Callable[[], Any], limit: float) -> tuple[Any, float]:
    """What a call returns and the processor time it took [s]. Raises Hangs, or what the call raises."""
    box: dict[str, Any] = {}

    def work() -> None:
        start = time.thread_time()
        try:
            box["value"] = call()
        except BaseException as error:
            box["error"] = error
        box["seconds"] = time.thread_time() - start

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    thread.join(limit)
    if thread.is_alive():
        raise Hangs(f"was not back after {limit:g} s")
    if "error" in box:
        error = box["error"]
        raise error if isinstance(error, Exception) else RuntimeError(f"{type(error).__name__}: {error}")
    return box["value"], box["seconds"]


def freeze(subject: Any) -> None:
    """Make the arrays of pictures read-only."""
    for one in subject if isinstance(subject, tuple) else (subject,):
        if isinstance(one, (Thermogram, Picture)):
            one.values.flags.writeable = False


def _run(step: Step, subject: Any, settings: Any, given: Context) -> Any:
    try:
        return step.run(subject, settings, given)
    except StepError as refusal:
        return ("refused", refusal.code, refusal.message)


def _pixels(subject: Any) -> int:
    members = subject if isinstance(subject, tuple) else (subject,)
    return sum(one.values.size for one in members if isinstance(one, (Thermogram, Picture)))


def _unpicklable(value: Any) -> Iterable[bool]:
    try:
        pickle.dumps(value)
    except Exception:
        yield True


def _state(subject: Any, context: Context) -> tuple[Any, ...]:
    arrays: Callable[[Any], Any] = lambda one: (
        one.values.tobytes() if isinstance(one, (Thermogram, Picture)) else repr(one)
    )
    return tuple(map(arrays, subject if isinstance(subject, tuple) else (subject,))), repr(context)
