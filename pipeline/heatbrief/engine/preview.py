"""What can be said before a run: which pictures can be read, which checks look at them, what the visit could show."""

from __future__ import annotations

import tempfile
from collections.abc import Container
from dataclasses import dataclass, fields
from pathlib import Path

from heatbrief.engine.frames import missing_frames
from heatbrief.engine.jobs import FloorPlan, Plan, ThermogramPlan
from heatbrief.engine.plausible import of_picture
from heatbrief.engine.visible import floor_copy
from heatbrief.engine.visit import before_the_visit
from heatbrief.errors import Problem, StepError
from heatbrief.manifest.nodes import shown
from heatbrief.model.conditions import Conditions
from heatbrief.model.thermogram import Picture
from heatbrief.store.files import ObjectStore

ASKED = ("inside_air", "outside_air", "humidity", "wind", "sky", "sun", "hours_steady", "reflected")
"""Conditions that most checks need."""


@dataclass(frozen=True)
class Preview:
    """problems: inputs that a run could not use; notes: what else is worth knowing, as sentences.

    warnings  pictures that a run would use, with temperatures that cannot be true

    visit  what this camera could see under the stated conditions, as sentences for deciding whether to go
    """

    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    visit: tuple[str, ...] = ()
    warnings: tuple[Problem, ...] = ()


def preview(plan: Plan) -> Preview:
    """Read every picture once and compare the manifest with what the checks ask. Writes nothing.

    A plan without pictures tells about the visit only.
    """
    looked = {one.entry.id: _picture(one) for one in plan.thermograms}
    problems = [one for one in looked.values() if isinstance(one, Problem)]
    problems += [one for one in map(_floor, plan.floors) if one is not None]
    problems += [Problem(one.source, one.code, one.message, one.remedy) for one in missing_frames(plan.frames)]
    seen = {name: one for name, one in looked.items() if not isinstance(one, Problem)}
    sizes = {name: one.size for name, one in seen.items()}
    warnings = tuple(one.strange for one in seen.values() if one.strange is not None)
    return Preview(tuple(problems), (*_missing(plan), *_unlooked(plan, seen)), before_the_visit(plan, sizes), warnings)


@dataclass(frozen=True)
class Looked:
    """(width, height) of a picture, and what is strange about its temperatures."""

    size: tuple[int, int]
    strange: Problem | None


def _picture(one: ThermogramPlan) -> Looked | Problem:
    """What a picture that can be read is like, else what is wrong with it."""
    readers = one.of("ingest")
    if not readers or readers[0].chosen is None:
        return Problem(
            one.entry.file,
            "no-reader",
            "no reader takes files with this ending.",
            "Save the picture as TIFF, PNG, CSV or NPY, or list a reader under stages: ingest.",
        )
    if one.sha256 == "missing":
        return Problem(
            one.entry.file,
            "picture-missing",
            "there is no such file, or it cannot be opened.",
            "Correct `file:` in the manifest, or put the picture there.",
        )
    chosen = readers[0].chosen
    try:
        read = chosen.step.run(one.path, chosen.settings, one.context.only(chosen.step.reads))
        picture = read if isinstance(read, Picture) else next(iter(read))
        height, width = picture.values.shape
        return Looked((width, height), of_picture(picture, one.entry.file))
    except StepError as error:
        return Problem(one.entry.file, error.code, error.message, error.remedy)
    except Exception as error:  # a faulty reader is named, and the other pictures are still looked at
        said = f"{chosen.step.name} failed: {type(error).__name__}: {error}"
        return Problem(one.entry.file, "step-failed", said, "Tell the authors of that reader.")


def _floor(one: FloorPlan) -> Problem | None:
    """What is wrong with a drawing of the property, if anything."""
    with tempfile.TemporaryDirectory(prefix="heatbrief-") as folder:
        try:
            floor_copy(one.path, one.entry.places, ObjectStore(Path(folder)))
        except StepError as error:
            return Problem(one.entry.picture, error.code, error.message, error.remedy)
    return None


def _missing(plan: Plan) -> list[str]:
    given = {one.name for one in fields(Conditions) if getattr(plan.manifest.conditions, one.name) is not None}
    missing = [name for name in ASKED if name not in given]
    return [f"Conditions not given: {', '.join(missing)}. Checks that need them will say so."] if missing else []


def _unlooked(plan: Plan, seen: Container[str]) -> list[str]:
    """Pictures that can be read and that no check looks at."""
    grouped = {member for group in plan.groups for member in group.members}
    alone = [
        one.entry
        for one in plan.thermograms
        if one.entry.id in seen and not one.of("detect") and one.entry.id not in grouped
    ]
    if alone and not plan.manifest.inspect and not plan.stages.detect:
        return [
            "Nothing is inspected yet: say what to look for under `inspect:`, and in `shows:` what each picture shows."
        ]
    words = sorted({word for chosen in plan.stages.detect for word in chosen.step.shows})
    said = []
    for entry in alone:
        if not entry.shows:
            said.append(f"No check looks at {entry.file}: say what it shows in `shows:`.")
        else:
            said.append(f"No check looks at {entry.file}: no check that is chosen goes by {shown(entry.shows)}.")
    if words and any(entry.shows for entry in alone):
        said.append(f"Words in `shows:` that checks go by: {', '.join(words)}.")
    return said
