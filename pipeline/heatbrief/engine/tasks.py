"""What goes to a worker and what comes back."""

from __future__ import annotations

import traceback
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from heatbrief.api.context import Context
from heatbrief.engine.frames import Frame
from heatbrief.engine.jobs import Job
from heatbrief.errors import StepError
from heatbrief.model.finding import Finding
from heatbrief.model.results import NotAnalysed
from heatbrief.store.files import Mark, Objects


@dataclass(frozen=True)
class Failure:
    """A job that could not be done. `trace` is for `--debug` only."""

    entry: NotAnalysed
    trace: str = ""


@dataclass(frozen=True)
class Outcome:
    """What a task gave: JSON text by job address, and failures, which are never remembered."""

    outputs: Mapping[str, str]
    failures: tuple[Failure, ...] = ()


@dataclass(frozen=True)
class ThermogramTask:
    """One picture: its jobs in order, the stale ones marked by their reasons, and the calibrated arrays if remembered.

    marks  what its files were like when the plan was made
    keep   whether a check that looks at several pictures needs the calibrated arrays
    """

    title: str
    source: str
    path: Path
    sha256: str
    visible: Path | None
    notes: str
    context: Context
    jobs: tuple[Job, ...]
    calibrated: Mapping[str, Any] | None
    arrays: Objects
    objects: Objects
    frames: tuple[Frame, ...] = ()
    marks: Mapping[Path, Mark | None] = field(default_factory=dict)
    keep: bool = True


@dataclass(frozen=True)
class GroupTask:
    """Several calibrated pictures for one check; `members` maps ids to their remembered arrays."""

    job: Job
    members: Mapping[str, Mapping[str, Any]]
    context: Context
    arrays: Objects


@dataclass(frozen=True)
class EstimateTask:
    """Findings for one calculator."""

    job: Job
    findings: tuple[Finding, ...]
    context: Context
    folder: Path = Path()


@dataclass(frozen=True)
class FloorTask:
    """A drawing of the property to be copied; `places` in pixels of it."""

    job: Job
    source: str
    path: Path
    places: Mapping[str, tuple[float, float]]
    objects: Objects


Task = ThermogramTask | GroupTask | EstimateTask | FloorTask


def failure(source: str, step: str, error: Exception) -> Failure:
    """What is listed about a job that failed. An unexpected error is named as the plugin's."""
    if isinstance(error, StepError):
        return Failure(NotAnalysed(source, error.code, error.message, error.remedy, step, True))
    text = f"{step} failed: {type(error).__name__}: {str(error)[:300]}"
    return Failure(
        NotAnalysed(
            source,
            "step-failed",
            text,
            "Run again with --debug for the details, and tell the authors of the step.",
            step,
            True,
        ),
        "".join(traceback.format_exception(error)),
    )
