"""Carry out a plan: stale jobs only, remembered as they are done, then one results document."""

from __future__ import annotations

import functools
import json
import time
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path

from heatbrief.engine.assemble import assemble, findings_of, record_lines
from heatbrief.engine.execute import FEW, run_tasks
from heatbrief.engine.jobs import Plan, ThermogramPlan
from heatbrief.engine.tasks import EstimateTask, Failure, FloorTask, GroupTask, Outcome, Task, ThermogramTask
from heatbrief.errors import UserError
from heatbrief.model.finding import Finding
from heatbrief.model.results import ResultsDocument
from heatbrief.readers.sidecar import sidecar_path
from heatbrief.store.cache import CachedJob
from heatbrief.store.files import sha256_of, sweep
from heatbrief.store.results import FILE, FINDINGS, PLAN, read_results, write_results
from heatbrief.store.shared import public

RESULT = "results"
"""Address of the remembered state of the whole document."""

BATCH, BATCH_SECONDS = 1000, 2.0
"""Outcomes of so many jobs or seconds are remembered in one transaction, so that a run that is stopped loses little."""

FEW_CALCULATORS = 12
"""So many calculators are done in this process: they look at findings, and are done before a worker has started."""

Progress = Callable[[int, int, str], None]
"""Called with jobs done, jobs to do, and what was just done."""


@dataclass(frozen=True)
class RunReport:
    """What a run did for one property.

    computed, reused  numbers of jobs; changed is False when every published byte stayed as it was
    """

    plan: Plan
    results: ResultsDocument
    computed: int
    reused: int
    changed: bool
    failures: tuple[Failure, ...] = ()


def run(
    plan: Plan,
    jobs: int,
    progress: Progress = lambda done, total, what: None,
    executor: Callable[[int], Executor] | None = None,
) -> RunReport:
    """Compute what is stale, write results.json and the tables. Raises UserError when the output cannot be written."""
    for folder in (plan.folders.published, plan.folders.work):
        sweep(folder)
    plan.cache.remember_digests()
    finished = _unchanged(plan)
    if finished is not None:
        return RunReport(plan, finished, 0, len(plan.jobs), False)
    work = _Run(plan, jobs, progress, executor)
    work.pictures()
    work.groups()
    work.estimates()
    work.floors()
    results = assemble(plan, work.outputs, [failure.entry for failure in work.failures], work.findings)
    _fetch(plan, results)
    changed, results = write_results(results, plan.folders.published, record_lines(plan, work.outputs))
    _tidy(plan, results, work.outputs)
    return RunReport(plan, results, work.computed, len(plan.jobs) - len(plan.stale), changed, tuple(work.failures))


class _Run:
    """The state of one run: outputs by address, remembered ones first."""

    def __init__(self, plan: Plan, jobs: int, progress: Progress, executor: Callable[[int], Executor] | None) -> None:
        self.plan, self.jobs, self.progress, self.executor = plan, jobs, progress, executor
        self.outputs = {job.address: plan.remembered[job.address].output for job in plan.jobs if not job.stale}
        self.keys = {job.address: job.key for job in plan.jobs}
        self.grouped = {member for group in plan.groups for member in group.members}
        self.by_id = {one.entry.id: one for one in plan.thermograms}
        self.failures: list[Failure] = []
        self.computed = 0
        self.waiting = {job.address for job in plan.stale}
        self.total = len(self.waiting)

    def pictures(self) -> None:
        """Every picture that has a stale job of its own, or whose arrays a stale group needs."""
        lost = self._lost()
        plans = [_calibrated_again(one) if one.entry.id in lost else one for one in self.plan.thermograms]
        self._do([self._picture_task(one) for one in plans if any(job.stale for job in one.jobs)])

    def _lost(self) -> set[str]:
        """Pictures that a stale group needs and whose remembered arrays are gone, or lie in another store."""
        needed = {one for group in self.plan.groups if group.job.stale for one in group.members}
        if not needed:
            return set()
        kept = self.plan.folders.arrays.names()
        found = {one: self._calibrated(self.by_id[one]) for one in needed}
        return {one for one, data in found.items() if data is not None and not _names(data["thermogram"]) <= kept}

    def groups(self) -> None:
        """Checks that look at several pictures."""
        tasks: list[Task] = []
        for group in self.plan.groups:
            if group.job.stale:
                members = {
                    one: data["thermogram"]
                    for one in group.members
                    if (data := self._calibrated(self.by_id[one])) is not None
                }
                tasks.append(GroupTask(group.job, members, group.context, self.plan.folders.arrays))
        self._do(tasks)

    def estimates(self) -> None:
        """Calculators, which see all findings."""
        context, folder = self.plan.context, self.plan.manifest.folder
        stale = [job for job in self.plan.estimates if job.stale]
        self._do([EstimateTask(job, self.findings, context, folder) for job in stale], FEW_CALCULATORS)

    @functools.cached_property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, once the pictures and groups are done."""
        return findings_of(self.plan, self.outputs)

    def floors(self) -> None:
        """Drawings of the property."""
        objects = self.plan.folders.objects
        self._do(
            [
                FloorTask(one.job, one.entry.picture, one.path, one.entry.places, objects)
                for one in self.plan.floors
                if one.job.stale
            ]
        )

    def _do(self, tasks: list[Task], few: int = FEW) -> None:
        waiting: list[CachedJob] = []
        since = time.monotonic()
        try:
            for number, outcome in run_tasks(tasks, self.jobs, self.executor, self.plan.folders.watch, few):
                waiting.extend(self._take(outcome))
                self.progress(self.total - len(self.waiting), self.total, _name(tasks[number]))
                if len(waiting) >= BATCH or time.monotonic() - since > BATCH_SECONDS:
                    self.plan.cache.remember(waiting)
                    waiting, since = [], time.monotonic()
        finally:
            self.plan.cache.remember(waiting)

    def _take(self, outcome: Outcome) -> Iterable[CachedJob]:
        self.failures.extend(outcome.failures)
        self.outputs.update(outcome.outputs)
        self.computed += len(self.waiting & outcome.outputs.keys())
        self.waiting.difference_update(outcome.outputs)
        return [CachedJob(address, self.keys[address].parts, output) for address, output in outcome.outputs.items()]

    def _picture_task(self, one: ThermogramPlan) -> ThermogramTask:
        entry, folders = one.entry, self.plan.folders
        visible = self.plan.manifest.folder / entry.visible if entry.visible else None
        files = (
            one.path,
            sidecar_path(one.path),
            *((visible,) if visible else ()),
            *(frame.path for frame in self.plan.frames),
        )
        marks = {path: self.plan.cache.marks.get(path) for path in files}
        return ThermogramTask(
            entry.shows,
            entry.file,
            one.path,
            one.sha256,
            visible,
            entry.notes,
            one.context,
            one.jobs,
            self._calibrated(one),
            folders.arrays,
            folders.made,
            self.plan.frames,
            marks,
            entry.id in self.grouped,
        )

    def _calibrated(self, one: ThermogramPlan) -> Mapping[str, Mapping[str, object]] | None:
        """What the last calibrate job left, if it is remembered or done."""
        jobs = one.of("calibrate")
        text = self.outputs.get(jobs[-1].address) if jobs else None
        data = json.loads(text) if text else {}
        return data if "thermogram" in data else None


def _calibrated_again(one: ThermogramPlan) -> ThermogramPlan:
    """The plan of a picture with its calibration to be done."""
    jobs = (replace(job, reasons=job.reasons or ("objects",)) if job.stage == "calibrate" else job for job in one.jobs)
    return replace(one, jobs=tuple(jobs))


def _name(task: Task) -> str:
    return task.source if isinstance(task, ThermogramTask) else f"{task.job.subject}: {task.job.step}"


def _unchanged(plan: Plan) -> ResultsDocument | None:
    """The stored results when no job is stale and nothing of what was published is missing or altered."""
    remembered = plan.remembered.get(RESULT)
    if plan.stale or remembered is None or remembered.parts.get("plan") != plan.digest:
        return None
    state = json.loads(remembered.output)
    try:
        folder = plan.folders.published
        if any(sha256_of(folder / name) != digest for name, digest in state["files"].items()):
            return None
        if not set(state["objects"]) <= plan.folders.objects.names():
            return None
    except OSError:
        return None
    return read_results(plan.folders.published)


def _published(results: ResultsDocument) -> set[str]:
    """Names of the picture objects that a document refers to."""
    return (
        {one.array.object for one in results.thermograms if one.array}
        | {one.visible for one in results.thermograms if one.visible}
        | {one.picture for one in results.floors}
    )


def _fetch(plan: Plan, results: ResultsDocument) -> None:
    """Bring pictures that workers kept on shared storage to the output folder. Raises UserError "store-lost"."""
    if not plan.folders.store:
        return
    objects = plan.folders.objects
    for name in sorted(_published(results) - objects.names()):
        try:
            with plan.folders.made.open(name) as stream:
                objects.put(stream.read(), Path(name).suffix)
        except (OSError, ValueError) as error:
            raise UserError.single(
                "store-lost",
                public(plan.folders.store),
                f"a picture that a worker kept cannot be read here: {name}",
                "Look whether this machine and all workers reach the same storage by this address; "
                "memory:// is seen by one process only. Then run again.",
            ) from error


def _tidy(plan: Plan, results: ResultsDocument, outputs: Mapping[str, str]) -> None:
    """Drop what nothing refers to any more, and remember the state of what was published."""
    wanted = {job.address for job in plan.jobs}
    plan.cache.forget([address for address in plan.remembered if address not in wanted and address != RESULT])
    published = _published(results)
    plan.folders.objects.keep_only(published)
    plan.folders.arrays.keep_only(_arrays(plan, outputs))
    folder = plan.folders.published
    files = {name: sha256_of(folder / name) for name in (FILE, FINDINGS, PLAN)}
    if not any(one.failed for one in results.not_analysed):
        state = json.dumps({"files": files, "objects": sorted(published)}, sort_keys=True)
        plan.cache.remember([CachedJob(RESULT, {"plan": plan.digest}, state)])
    else:
        plan.cache.forget([RESULT])


def _arrays(plan: Plan, outputs: Mapping[str, str]) -> set[str]:
    names: set[str] = set()
    for one in plan.thermograms:
        for job in one.of("calibrate"):
            text = outputs.get(job.address, "")
            if '"thermogram":' in text:
                names |= _names(json.loads(text)["thermogram"])
    return names


def _names(kept: Mapping[str, object]) -> set[str]:
    """Names of the array objects of one remembered thermogram."""
    return {str(name) for name in (kept.get("values"), kept.get("zones")) if name}
