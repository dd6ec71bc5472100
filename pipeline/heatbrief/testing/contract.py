"""What every plugin owes the engine and the reader, checked: `assert check_plugin("pool") == ()`."""

from __future__ import annotations

import pickle
import tempfile
import warnings
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from heatbrief.api import Context, HeatbriefDeprecation, PagePart, Publisher, RivalTest, Step, StepOutput
from heatbrief.model.finding import Finding
from heatbrief.model.thermogram import Picture
from heatbrief.registry import Registry, load_registry
from heatbrief.testing.contract_left_out import left_out
from heatbrief.testing.contract_offers import part_faults, publisher_faults, rival_faults
from heatbrief.testing.contract_output import output_faults
from heatbrief.testing.contract_run import called
from heatbrief.testing.contract_subjects import LARGE_KIND, context_of, pictures, settings_of
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

    Each step is run on made-up pictures: ordinary, large, half and wholly masked, of one pixel, without a scale. Checked are:
    loading, keys that are referred to, units and help of settings, that steps, settings and results can go to another process,
    that equal input gives equal output, that inputs stay as they are, that nothing but StepError is raised, that a call comes
    back and keeps its budget of processor time (10 s and 60 s for a million pixels), units, bounds and words of what is
    returned, and that a picture without a scale gets no temperature. Rival explanations, parts of pages and publishers are run
    on the same. What is on its way out is a HeatbriefDeprecation warning. Raises LookupError when nothing of that name is
    installed.
    """
    plugins = registry or load_registry()
    mine = f"{name}."
    steps = [step for key, step in plugins.steps.items() if key.startswith(mine)]
    publishers = [one for key, one in plugins.publishers.items() if key.startswith(mine)]
    rivals = [one for key, one in plugins.rivals.items() if key.startswith(mine)]
    parts = [one for key, one in plugins.page_parts.items() if key.startswith(mine)]
    offers: list[Step | Publisher | RivalTest | PagePart] = [*steps, *publishers, *rivals, *parts]
    refused = [
        Fault(name, "loading", problem.message)
        for problem in plugins.refused
        if problem.where.startswith(f"plugin {name} ")
    ]
    if not (offers or refused or name in plugins.domains):
        raise LookupError(f"no installed plugin is called {name!r}; install its package in this environment")
    faults = [*refused, *(Fault(*one) for one in (*text_faults(name, plugins), *left_out(name, plugins)))]
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
    for rival in rivals:
        faults += _faults(rival.name, rival_faults(rival, plugins))
    for part in parts:
        faults += _faults(part.name, part_faults(part, findings))
    for publisher in publishers:
        faults += _faults(publisher.name, publisher_faults(publisher, findings))
    for problem in plugins.warned:
        if problem.where.startswith(f"plugin {name} "):
            warnings.warn(problem.message, HeatbriefDeprecation, stacklevel=2)
    return tuple(sorted(set(faults)))


def _faults(name: str, found: Iterable[tuple[str, str]]) -> list[Fault]:
    return [Fault(name, rule, text) for rule, text in found]


def _travels(offer: Any) -> Iterable[str]:
    try:
        back = pickle.loads(pickle.dumps(offer))
        if back.run is not offer.run or getattr(back, "settings", None) is not getattr(offer, "settings", None):
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
        output, problems = called(step, subject, settings, context, what, plugins)
        faults += _faults(step.name, problems)
        if isinstance(output, StepOutput):
            faults += _faults(step.name, output_faults(step, subject, output, plugins))
            found += output.findings
        if any(rule == "time" for rule, _ in problems):
            break  # what hangs once would hang on every picture
    return faults


def _made_up(step: Step) -> Iterable[tuple[str, Any, Context]]:
    for kind, picture in pictures().items():
        if picture.scale == "temperature" or step.unscaled:
            subject: Any = (
                picture
                if step.scope == "thermogram"
                else tuple(replace(picture, id=f"{picture.id}-{n}") for n in range(3))
            )
            for told in (True,) if kind == LARGE_KIND else (False, True):
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
        output, problems = called(step, subject, settings, Context(), kind)
        faults += _faults(step.name, problems)
        if isinstance(output, StepOutput):
            faults += _faults(step.name, output_faults(step, subject, output, plugins))
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
            for fault in _faults(step.name, called(step, picture, settings, Context(), f"a picture of {kind}")[1])
        ]
    with tempfile.TemporaryDirectory(prefix="heatbrief-") as folder:
        path = Path(folder) / f"rubbish{(step.suffixes or ('.bin',))[0]}"
        path.write_bytes(JUNK)
        return _faults(step.name, called(step, path, settings, Context(), "a file of rubbish")[1])
