"""What happens in a worker process: all stale jobs of one picture in one go, so that its pixels are read once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np

from heatbrief.api.step import StepOutput
from heatbrief.calibrate.regions import region_statistics
from heatbrief.calibrate.registration import registration
from heatbrief.calibrate.saturation import saturation_notes
from heatbrief.calibrate.statistics import budget, statistics
from heatbrief.engine.frames import with_pattern
from heatbrief.engine.jobs import Job
from heatbrief.engine.limits import time_limit
from heatbrief.engine.named_files import with_files
from heatbrief.engine.tasks import EstimateTask, Failure, FloorTask, GroupTask, Outcome, Task, ThermogramTask, failure
from heatbrief.engine.visible import floor_copy, small_copy
from heatbrief.errors import HeatbriefError, StepError, UserError
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Fact, Region
from heatbrief.model.results import RegionRecord, ThermogramRecord
from heatbrief.model.thermogram import Picture, Thermogram
from heatbrief.store.arrays import keep_thermogram, load_thermogram, publish_array
from heatbrief.store.codec import to_json
from heatbrief.store.files import mark_of
from heatbrief.store.results import record_text

TEMPERATURE_UNITS = frozenset({"degC", "K", "degF", "delta_degC", "delta_degF"})


def work(task: Task) -> Outcome:
    """Do a task. Only errors of the machine itself (no memory, no disk) leave this function."""
    if isinstance(task, ThermogramTask):
        return _Picture(task).run()
    if isinstance(task, GroupTask):
        return _group(task)
    if isinstance(task, FloorTask):
        return _floor(task)
    return _estimate(task)


class _Picture:
    """The jobs of one picture. The calibrated thermogram is loaded or computed only when a stale job needs it."""

    def __init__(self, task: ThermogramTask) -> None:
        self.task = task
        self.outputs: dict[str, str] = {}
        self.failures: list[Failure] = []
        self.thermogram: Thermogram | None = None
        self.notes: tuple[str, ...] = ()

    def run(self) -> Outcome:
        stale = [job for job in self.task.jobs if job.stale]
        for job in (job for job in stale if job.stage == "visible"):
            self._try(job, lambda: small_copy(self.task.visible, self.task.objects))
        if any(job.stage != "visible" for job in stale) and self._prepare():
            for job in stale:
                if job.stage == "record":
                    self._try(job, self._record)
                elif job.stage == "detect":
                    self._try(job, partial(self._detect, job))
        changed = sorted(path.name for path, mark in self.task.marks.items() if mark_of(path) != mark)
        if changed:
            return Outcome({}, (failure(self.task.source, "", _changed(changed)),))
        return Outcome(self.outputs, tuple(self.failures))

    def _prepare(self) -> bool:
        """Have the calibrated thermogram at hand: from the store when nothing before it is stale, else from the file."""
        task = self.task
        if task.calibrated is not None and not any(
            job.stale for job in task.jobs if job.stage in ("ingest", "calibrate")
        ):
            try:
                self.thermogram = _guarded(load_thermogram(task.arrays, task.calibrated["thermogram"]))
                self.notes = tuple(task.calibrated["notes"])
                return True
            except (OSError, ValueError, KeyError, HeatbriefError):
                pass  # the remembered arrays are gone or damaged; the picture itself still has everything
        return self._compute()

    def _compute(self) -> bool:
        chain = [job for job in self.task.jobs if job.stage in ("ingest", "calibrate")]
        if not chain or chain[0].stage != "ingest":
            self._fail(
                "ingest",
                StepError(
                    "no-reader",
                    "no reader takes files with this ending.",
                    "Save the picture as TIFF, PNG, CSV or NPY, or list a reader under stages: ingest.",
                ),
            )
            return False
        if self.task.sha256 == "missing":
            self._fail(
                "ingest",
                StepError(
                    "picture-missing",
                    "there is no such file, or it cannot be opened.",
                    "Correct `file:` in the manifest, or put the picture there.",
                ),
            )
            return False
        current: Any = None
        for job in chain:
            try:
                with time_limit(job.step):
                    current = self._call(job, self.task.path if job.stage == "ingest" else current)
            except Exception as error:  # whatever a step raises is charged to this picture and step alone
                self._fail(job.step, error)
                return False
            if job.stale or self.task.keep:
                self.outputs[job.address] = "{}\n"
        self.thermogram = _guarded(current)
        if self.task.keep:
            kept = {"thermogram": keep_thermogram(self.task.arrays, current), "notes": self.notes}
            self.outputs[chain[-1].address] = to_json(kept)
        return True

    def _call(self, job: Job, subject: Any) -> Any:
        assert job.chosen is not None
        step = job.chosen.step
        context = with_pattern(self.task.context, self.task.frames) if step.stage == "calibrate" else self.task.context
        result = step.run(subject, job.chosen.settings, context.only(step.reads))
        if step.stage == "ingest":
            result = _only_picture(result)
            self.notes = result.notes
        elif not isinstance(result, (Picture, Thermogram)):
            raise StepError(
                "step-failed",
                f"{step.name} returned {type(result).__name__} instead of a picture.",
                "Report this to the plugin's authors.",
            )
        if isinstance(result, Thermogram) and result.id != self.task.context.view.thermogram:
            result = replace(result, id=self.task.context.view.thermogram)
        return result

    def _record(self) -> Any:
        thermogram, task, view = self._ready(), self.task, self.task.context.view
        height, width = thermogram.shape
        visible = registration(view)
        return ThermogramRecord(
            id=view.thermogram,
            source=task.source,
            sha256=task.sha256,
            width=width,
            height=height,
            status="analysed" if thermogram.scale == "temperature" else "unscaled",
            title=task.title,
            room=view.room,
            taken=thermogram.taken or view.taken,
            statistics=statistics(thermogram),
            regions=tuple(_region_record(thermogram, region) for region in task.context.regions),
            array=publish_array(task.objects, thermogram),
            conditions=given(task.context.conditions),
            settings=_settings(thermogram),
            budget=budget(thermogram),
            masked=thermogram.values.size - int(np.count_nonzero(thermogram.valid)),
            visible_matrix=() if visible is None else visible.matrix,
            notes=(
                *self.notes,
                *_fact_notes(thermogram),
                *((visible.note,) if visible else ()),
                *((task.notes,) if task.notes else ()),
            ),
        )

    def _detect(self, job: Job) -> Any:
        thermogram = self._ready()
        assert job.chosen is not None
        step = job.chosen.step
        if thermogram.scale == "unscaled" and not step.unscaled:
            return {"skipped": "unscaled"}
        return _checked(
            step.run(thermogram, job.chosen.settings, self.task.context.only(step.reads)),
            thermogram.scale == "unscaled",
            step.name,
        )

    def _ready(self) -> Thermogram:
        if not isinstance(self.thermogram, Thermogram):
            raise StepError(
                "not-calibrated",
                "the calibrate stage did not give a thermogram.",
                "List heatbrief.radiance last under stages: calibrate.",
            )
        return self.thermogram

    def _try(self, job: Job, do: Callable[[], Any]) -> None:
        try:
            with time_limit(job.step):
                made = do()
                text = record_text(made) + "\n" if isinstance(made, ThermogramRecord) else to_json(made)
                self.outputs[job.address] = text
        except UserError:
            raise
        except Exception as error:
            self._fail(job.step, error)

    def _fail(self, step: str, error: Exception) -> None:
        self.failures.append(failure(self.task.source, step, error))


def _changed(names: list[str]) -> StepError:
    """Results of a file that is not the one the plan was made for must not be remembered."""
    return StepError(
        "picture-changed", f"{', '.join(names)} was changed or removed while the run was at work.", "Run again."
    )


def given(conditions: Any) -> dict[str, Any]:
    """The conditions that are known, by name."""
    return {name: value for name, value in vars(conditions).items() if value is not None}


def _only_picture(result: Any) -> Picture:
    pictures = [result] if isinstance(result, Picture) else list(result)
    if len(pictures) != 1:
        raise StepError(
            "step-failed",
            f"the reader returned {len(pictures)} pictures for one page.",
            "Report this to the plugin's authors.",
        )
    return pictures[0]


def _guarded(subject: Any) -> Any:
    """The same, its values read-only: checks share them."""
    if not isinstance(subject, Thermogram):
        return subject
    values = subject.values.view()
    values.flags.writeable = False
    return replace(subject, values=values)


def _checked(output: Any, unscaled: bool, step: str) -> StepOutput:
    """A step's output if it keeps the rules; a picture without a scale never gets a temperature."""
    if not isinstance(output, StepOutput):
        raise StepError(
            "step-failed",
            f"{step} returned {type(output).__name__} instead of a StepOutput.",
            "Report this to the plugin's authors.",
        )
    if unscaled:
        for finding in output.findings:
            wrong = [name for name, quantity in finding.measured.items() if quantity.unit in TEMPERATURE_UNITS]
            if wrong:
                raise StepError(
                    "temperature-without-scale",
                    f"{step} gave {', '.join(wrong)} as a temperature for a picture without a scale.",
                    "Report this to the plugin's authors.",
                )
    return output


def _region_record(thermogram: Thermogram, region: Region) -> RegionRecord:
    found, notes = region_statistics(thermogram, region)
    notes = (*notes, *saturation_notes(thermogram, region.mask(*thermogram.shape)))
    facts = {name: _stated(fact) for name, fact in sorted(region.facts.items())}
    return RegionRecord(
        region.name,
        region.shape,
        region.points,
        region.shows,
        region.room,
        region.material,
        found,
        notes,
        region.group,
        facts,
    )


def _stated(fact: Fact) -> Quantity | str:
    """A fact as results carry it."""
    if isinstance(fact, (Quantity, str)):
        return fact
    return ("yes" if fact else "no") if isinstance(fact, bool) else Quantity.exact(float(fact), "1")


def _settings(thermogram: Thermogram) -> dict[str, Any]:
    """What the calibration used, as far as the thermogram says so in its facts."""
    found = thermogram.facts.get("settings", {})
    return dict(found) if isinstance(found, Mapping) else {}


def _fact_notes(thermogram: Thermogram) -> tuple[str, ...]:
    found = thermogram.facts.get("notes", ())
    return tuple(str(note) for note in found) if isinstance(found, Sequence) and not isinstance(found, str) else ()


def _group(task: GroupTask) -> Outcome:
    assert task.job.chosen is not None
    step = task.job.chosen.step
    try:
        pictures = tuple(load_thermogram(task.arrays, data) for data in task.members.values())
        fitting = tuple(one for one in pictures if one.scale == "temperature" or step.unscaled)
        if len(fitting) < (2 if step.scope == "sequence" else 1):
            return Outcome({task.job.address: to_json({"skipped": "unscaled"})})
        with time_limit(step.name):
            output = step.run(fitting, task.job.chosen.settings, task.context.only(step.reads))
        unscaled = any(one.scale == "unscaled" for one in fitting)
        return Outcome({task.job.address: to_json(_checked(output, unscaled, step.name))})
    except UserError:
        raise
    except Exception as error:
        return Outcome({}, (failure(task.job.subject, step.name, error),))


def _floor(task: FloorTask) -> Outcome:
    try:
        return Outcome({task.job.address: to_json(floor_copy(task.path, task.places, task.objects))})
    except UserError:
        raise
    except Exception as error:
        return Outcome({}, (failure(task.source, "", error),))


def _estimate(task: EstimateTask) -> Outcome:
    assert task.job.chosen is not None
    step = task.job.chosen.step
    try:
        context = with_files(task.context, task.job.chosen.settings, task.folder)
        with time_limit(step.name):
            output = step.run(task.findings, task.job.chosen.settings, context.only(step.reads))
        return Outcome({task.job.address: to_json(_checked(output, False, step.name))})
    except UserError:
        raise
    except Exception as error:
        return Outcome({}, (failure("survey", step.name, error),))
