"""Tasks in, outcomes out, on any `concurrent.futures` executor. A dead worker costs its picture, not the run."""

from __future__ import annotations

import gc
import multiprocessing
import os
import shutil
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from contextlib import contextmanager
from itertools import islice
from pathlib import Path

from heatbrief.engine.limits import REMEDY, overtime, step_seconds, trace_of, watched
from heatbrief.engine.memory import keep_memory
from heatbrief.engine.tasks import Failure, Outcome, Task, ThermogramTask
from heatbrief.engine.work import work
from heatbrief.errors import UserError
from heatbrief.model.results import NotAnalysed

FEW = 2
"""So few tasks are done in this process: starting others would take longer."""

AHEAD = 3
"""Tasks handed over ahead for each worker: enough to keep it busy, and few to doubt when it dies."""

TOGETHER = 4
"""So many tasks at most go to a worker of this machine in one message, and their outcomes come back in one: each
message wakes three threads."""

Make = Callable[[int], Executor]


def default_jobs() -> int:
    """Worker processes by default: one for each core this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def local_pool(count: int) -> ProcessPoolExecutor:
    """Worker processes on this machine that end when this process does, however it ends."""
    return ProcessPoolExecutor(max_workers=count, initializer=_end_with_parent)


def run_tasks(
    tasks: Sequence[Task], jobs: int, executor: Make | None = None, watch: Path | None = None, few: int = FEW
) -> Iterator[tuple[int, Outcome]]:
    """Outcomes with the number of their task, in the order in which they are done.

    jobs      worker processes; 1 means none besides this one
    executor  makes another executor (a cluster's, say) for a number of jobs
    watch     an empty folder, seen by all workers, for the marks of workers that are ended for their time
    few       so many tasks are done in this process
    """
    keep_memory()
    if executor is None and (jobs <= 1 or len(tasks) <= few):
        for number, task in enumerate(tasks):
            yield number, _timed(task, None, step_seconds())
        return
    with _folder(watch) as marks:
        rest = list(range(len(tasks)))
        while rest:
            undone, rest = set(rest), []
            for number, outcome in _until_broken(
                tasks,
                sorted(undone),
                min(jobs, len(undone)),
                executor or local_pool,
                marks,
                1 if executor else TOGETHER,
            ):
                if outcome is None:
                    outcome = _alone(tasks[number], _mark(marks, number))
                undone.discard(number)
                yield number, outcome
            rest = sorted(undone)


def _until_broken(
    tasks: Sequence[Task], numbers: Sequence[int], jobs: int, make: Make, marks: Path | None, together: int
) -> Iterator[tuple[int, Outcome | None]]:
    """Outcomes; when the pool breaks, None for the tasks it had been given, and no more.

    together  so many tasks at most in one message; what is said of a lost message is said of all of them
    """
    seconds = step_seconds()
    pool = make(jobs)
    waiting = _shares(numbers, together, jobs)
    running: dict[Future[list[Outcome]], Sequence[int]] = {}
    broken: list[int] = []
    whole = False
    try:
        while True:
            for share in islice(waiting, 0 if broken else AHEAD * getattr(pool, "workers", jobs) - len(running)):
                handed = [(tasks[number], _mark(marks, number)) for number in share]
                running[pool.submit(_in_turn, handed, seconds)] = share
            if not running:
                break
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                share = running.pop(future)
                try:
                    yield from zip(share, future.result(), strict=True)
                except UserError:
                    raise
                except BrokenExecutor:
                    broken.extend(share)
                except CancelledError as error:
                    raise UserError.single(
                        "scheduler-lost",
                        "--scheduler",
                        "the scheduler or all of its workers went away",
                        "Start them again and repeat the run; what is done is remembered.",
                    ) from error
                except Exception as error:  # whatever a cluster says of a worker that died
                    said = f"{type(error).__name__}: {str(error)[:200]}"
                    yield from ((number, _died(tasks[number], _mark(marks, number), said)) for number in share)
        whole = True
    finally:
        if not whole:
            for future in running:
                future.cancel()
        pool.shutdown(wait=whole and not broken)
    yield from ((number, None) for number in sorted(broken))


def _shares(numbers: Sequence[int], most: int, workers: int) -> Iterator[Sequence[int]]:
    """Tasks that go out together: fewer where there are few, so that all workers are busy to the end."""
    size = max(1, min(most, len(numbers) // (8 * workers)))
    return (numbers[first : first + size] for first in range(0, len(numbers), size))


def _alone(task: Task, mark: Path | None) -> Outcome:
    """A task once more in a worker of its own, to find out which one kills workers."""
    if mark is not None and trace_of(mark):
        return _died(task, mark)
    with local_pool(1) as pool:
        try:
            return pool.submit(_timed, task, mark, step_seconds()).result()
        except BrokenExecutor:
            return _died(task, mark)


def _in_turn(handed: Sequence[tuple[Task, Path | None]], seconds: float) -> list[Outcome]:
    """Tasks in a worker, one after the other."""
    return [_timed(task, mark, seconds) for task, mark in handed]


def _timed(task: Task, mark: Path | None, seconds: float) -> Outcome:
    """A task in a worker. One that was ended for its time before is not tried again."""
    if mark is not None and trace_of(mark):
        return _died(task, mark)
    with watched(mark, seconds):
        return work(task)


def _died(task: Task, mark: Path | None, said: str = "it ended twice without a message") -> Outcome:
    source = task.source if isinstance(task, ThermogramTask) else task.job.subject
    trace = trace_of(mark) if mark is not None else ""
    if trace:
        error = overtime("", step_seconds())
        return Outcome({}, (Failure(NotAnalysed(source, "step-timeout", error.message, REMEDY, "", True), trace),))
    return Outcome(
        {},
        (
            Failure(
                NotAnalysed(
                    source,
                    "worker-died",
                    f"the process that worked on this died: {said}.",
                    "Use fewer processes with --jobs, open the picture with another program to see whether it is whole, "
                    "and report it if it happens again.",
                    "",
                    True,
                )
            ),
        ),
    )


@contextmanager
def _folder(watch: Path | None) -> Iterator[Path | None]:
    """The folder for marks, empty before and gone after."""
    if watch is not None:
        shutil.rmtree(watch, ignore_errors=True)
    try:
        yield watch
    finally:
        if watch is not None:
            shutil.rmtree(watch, ignore_errors=True)


def _mark(folder: Path | None, number: int) -> Path | None:
    return None if folder is None else folder / f"{number}.txt"


def _end_with_parent() -> None:
    """In a worker: leave when the process that started it is gone, even when it was killed.

    What the worker inherited is never collected here: libraries that decode videos wait for ever for threads of theirs
    that only the first process has.
    """
    gc.freeze()
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def follow() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=follow, daemon=True).start()
