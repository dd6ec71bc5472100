"""Tasks in, outcomes out, on any `concurrent.futures` executor. A dead worker costs its picture, not the run."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool

from heatbrief.engine.work import Failure, Outcome, Task, ThermogramTask, work
from heatbrief.model.results import NotAnalysed

FEW = 2
"""So few tasks are done in this process: starting others would take longer."""


def default_jobs() -> int:
    """Worker processes by default: one for each core this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def run_tasks(tasks: Sequence[Task], jobs: int, executor: Callable[[int], Executor] | None = None) -> Iterator[tuple[int, Outcome]]:
    """Outcomes with the number of their task, in the order in which they are done.

    jobs      worker processes; 1 means none besides this one
    executor  makes another executor (a cluster's, say) for a number of jobs
    """
    if executor is None and (jobs <= 1 or len(tasks) <= FEW):
        for number, task in enumerate(tasks):
            yield number, work(task)
        return
    make = executor or (lambda count: ProcessPoolExecutor(max_workers=count))
    undone = dict(enumerate(tasks))
    with make(min(jobs, len(tasks))) as pool:
        futures: dict[Future[Outcome], int] = {pool.submit(work, task): number for number, task in undone.items()}
        try:
            for future in as_completed(futures):
                try:
                    outcome = future.result()
                except BrokenProcessPool:
                    break
                del undone[futures[future]]
                yield futures[future], outcome
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    for number, task in undone.items():
        yield number, _alone(task)


def _alone(task: Task) -> Outcome:
    """A task once more in a worker of its own, to find out which one kills workers."""
    with ProcessPoolExecutor(max_workers=1) as pool:
        try:
            return pool.submit(work, task).result()
        except BrokenProcessPool:
            source = task.source if isinstance(task, ThermogramTask) else task.job.subject
            return Outcome({}, (Failure(NotAnalysed(
                source, "worker-died", "the process that worked on this ended twice without a message.",
                "Use fewer processes with --jobs, open the picture with another program to see whether it is whole, and report it if it happens again.", "", True)),))
