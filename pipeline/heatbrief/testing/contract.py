"""What every plugin owes the engine and the reader, checked: `assert check_plugin("pool") == ()`."""

from __future__ import annotations

import pickle
import tempfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from heatbrief.api import Context, Publisher, Step, StepOutput
from heatbrief.errors import StepError
from heatbrief.model.finding import Finding
from heatbrief.model.thermogram import Picture, Thermogram
from heatbrief.registry import Registry, load_registry
from heatbrief.store.keys import digest_of
from heatbrief.testing.contract_output import output_faults
from heatbrief.testing.contract_subjects import context_of, pictures, settings_of
from heatbrief.testing.contract_texts import text_faults

JUNK = b"\x00\xffno picture at all\n" * 3


@dataclass(frozen=True, order=True)
class Fault:
    """One way in which a plugin breaks the contract: the offer's name, the rule, and what happened."""

    offer: str
    rule: str
    message: str

    def __str__(self) -> str:
        return f"{self.offer}: {self.rule}: {self.message}"


Scenes = Mapping[str, Iterable[tuple[Any, Context]]]


def check_plugin(name: str, scenes: Scenes | None = None, registry: Registry | None = None) -> tuple[Fault, ...]:
    """Every fault of an installed plugin; empty when it keeps the contract.

    scenes    more subjects, each with its context, by the name of the step that is to be run on them: pictures in which it finds something
    registry  that of the environment when not given

    Each step is run on made-up pictures: ordinary, half and wholly masked, of one pixel, without a scale. Checked are: loading,
    keys that are referred to, units and help of settings, that steps, settings and results can go to another process, that equal
    input gives equal output, that inputs stay as they are, that nothing but StepError is raised, units, bounds and words of what
    is returned, and that a picture without a scale gets no temperature. Raises LookupError when nothing of that name is installed.
    """
    plugins = registry or load_registry()
    mine = f"{name}."
    steps = [step for key, step in plugins.steps.items() if key.startswith(mine)]
    offers: list[Step | Publisher] = [*steps, *(one for key, one in plugins.publishers.items() if key.startswith(mine))]
    refused = [
        Fault(name, "loading", problem.message)
        for problem in plugins.refused
        if problem.where.startswith(f"plugin {name} ")
    ]
    if not (offers or refused or name in plugins.domains):
        raise LookupError(f"no installed plugin is called {name!r}; install its package in this environment")
    faults = [*refused, *(Fault(*one) for one in text_faults(name, plugins))]
    for offer in offers:
        faults += [Fault(offer.name, "another process", text) for text in _travels(offer)]
    findings: list[Finding] = []
    for step in steps:
        if step.stage == "detect":
            faults += _of_detect(step, plugins, findings, tuple((scenes or {}).get(step.name, ())))
    for step in steps:
        if step.stage == "estimate":
            faults += _of_estimate(step, plugins, findings)
        elif step.stage in ("ingest", "calibrate"):
            faults += _of_pictures(step)
    return tuple(sorted(set(faults)))


def _travels(offer: Any) -> Iterable[str]:
    try:
        back = pickle.loads(pickle.dumps(offer))
        if back.run is not offer.run or back.settings is not offer.settings:
            yield "its function or settings class is another one after pickling"
    except Exception as error:
        yield f"cannot be pickled: {type(error).__name__}: {error}"


def _of_detect(
    step: Step, plugins: Registry, found: list[Finding], scenes: Iterable[tuple[Any, Context]]
) -> list[Fault]:
    faults: list[Fault] = []
    settings = settings_of(step)
    if settings is None:
        return [Fault(step.name, "settings", "cannot be made from defaults and examples, so the step was not run")]
    for what, subject, context in (*_made_up(step), *(("a scene of its own", *scene) for scene in scenes)):
        output, problems = _called(step, subject, settings, context, what)
        faults += problems
        if isinstance(output, StepOutput):
            faults += [Fault(step.name, rule, text) for rule, text in output_faults(step, subject, output, plugins)]
            found += output.findings
    return faults


def _made_up(step: Step) -> Iterable[tuple[str, Any, Context]]:
    for kind, picture in pictures().items():
        if picture.scale == "temperature" or step.unscaled:
            subject: Any = (
                picture
                if step.scope == "thermogram"
                else tuple(replace(picture, id=f"{picture.id}-{n}") for n in range(3))
            )
            for told in (False, True):
                yield f"a picture that is {kind}", subject, context_of(step, subject, told)


def _of_estimate(step: Step, plugins: Registry, findings: list[Finding]) -> list[Fault]:
    settings = settings_of(step)
    if settings is None:
        return [Fault(step.name, "settings", "cannot be made from defaults and examples, so the step was not run")]
    unique = tuple({one.id: one for one in findings}.values())
    bare = tuple(replace(one, measured={}) for one in unique)
    faults: list[Fault] = []
    for kind, subject in (
        ("no findings", ()),
        ("the plugin's own findings", unique),
        ("findings without numbers", bare),
    ):
        output, problems = _called(step, subject, settings, Context(), kind)
        faults += problems
        if isinstance(output, StepOutput):
            faults += [Fault(step.name, rule, text) for rule, text in output_faults(step, subject, output, plugins)]
    return faults


def _of_pictures(step: Step) -> list[Fault]:
    """Readers and calibrations: rubbish is refused, and nothing is raised but StepError."""
    settings = settings_of(step)
    if settings is None:
        return [Fault(step.name, "settings", "cannot be made from defaults and examples, so the step was not run")]
    if step.stage == "calibrate":
        made: Mapping[str, Any] = {
            kind: Picture(values, False)
            for kind, values in (
                ("one pixel", np.ones((1, 1))),
                ("wholly masked", np.full((5, 7), np.nan)),
                ("plain", np.full((5, 7), 29000.0)),
            )
        }
        return [
            fault
            for kind, picture in made.items()
            for fault in _called(step, picture, settings, Context(), f"a picture of {kind}")[1]
        ]
    with tempfile.TemporaryDirectory(prefix="heatbrief-") as folder:
        path = Path(folder) / f"rubbish{(step.suffixes or ('.bin',))[0]}"
        path.write_bytes(JUNK)
        return _called(step, path, settings, Context(), "a file of rubbish")[1]


def _called(step: Step, subject: Any, settings: Any, context: Context, what: str) -> tuple[Any, list[Fault]]:
    """The step's output, run twice on read-only pictures, with the faults that showed."""
    given = context.only(step.reads)
    _freeze(subject)
    state = _state(subject, given)
    outputs: list[Any] = []
    for _ in range(2):
        try:
            outputs.append(step.run(subject, settings, given))
        except StepError as refusal:
            outputs.append(("refused", refusal.code, refusal.message))
        except Exception as error:
            return None, [Fault(step.name, "errors", f"on {what} it raised {type(error).__name__}: {error}")]
    faults = []
    if _state(subject, given) != state:
        faults.append(Fault(step.name, "inputs", f"on {what} it changed what it was given"))
    if step.stage in ("detect", "estimate"):
        if digest_of(outputs[0]) != digest_of(outputs[1]):
            faults.append(Fault(step.name, "same input, same output", f"on {what} two runs differ"))
        if not isinstance(outputs[0], (StepOutput, tuple)):
            faults.append(
                Fault(step.name, "output", f"on {what} it returned {type(outputs[0]).__name__} instead of a StepOutput")
            )
    faults += [
        Fault(step.name, "another process", f"its output on {what} cannot be pickled") for _ in _unpicklable(outputs[0])
    ]
    return outputs[0], faults


def _unpicklable(value: Any) -> Iterable[bool]:
    try:
        pickle.dumps(value)
    except Exception:
        yield True


def _freeze(subject: Any) -> None:
    for one in subject if isinstance(subject, tuple) else (subject,):
        if isinstance(one, (Thermogram, Picture)):
            one.values.flags.writeable = False


def _state(subject: Any, context: Context) -> tuple[Any, ...]:
    arrays: Callable[[Any], Any] = lambda one: (
        one.values.tobytes() if isinstance(one, (Thermogram, Picture)) else repr(one)
    )
    return tuple(map(arrays, subject if isinstance(subject, tuple) else (subject,))), repr(context)
