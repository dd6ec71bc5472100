"""A step that hangs costs its own result; a worker that cannot be interrupted is ended and its picture listed."""

from __future__ import annotations

import gc
import os
import time

import pytest
from engine import faulty_steps
from heatbrief.engine import limits
from heatbrief.engine.execute import default_jobs, local_pool
from heatbrief.engine.limits import STEP_SECONDS, VARIABLE, step_seconds, time_limit, trace_of, watched
from heatbrief.errors import StepError


@pytest.fixture
def soon(monkeypatch):
    monkeypatch.setenv(VARIABLE, "0.4")
    monkeypatch.setattr(limits, "GRACE_SECONDS", 0.6)


@pytest.mark.parametrize("jobs", [1, 2])
@pytest.mark.parametrize("name", ["hangs", "catches_all"])
def test_a_step_that_hangs_is_stopped_and_others_go_on(trial, soon, name, jobs):
    report = trial(name, "warm", pictures=4, jobs=jobs)
    failed = [one for one in report.results.not_analysed if one.failed]
    assert {(one.code, one.step) for one in failed} == {("step-timeout", f"trial.{name}")}
    assert len(failed) == len(report.results.findings) == 4
    assert "after 0.4 s" in failed[0].message


def test_a_worker_that_hears_no_signal_is_ended(trial, soon):
    report = trial("deaf", "warm", pictures=4, jobs=2)
    failed = [one for one in report.results.not_analysed if one.failed]
    assert [(one.code, one.source) for one in failed] == [("step-timeout", "p1.tiff")]
    assert len(report.results.findings) == 3
    assert "faulty_steps.py" in report.failures[0].trace and "deaf" in report.failures[0].trace
    assert not report.plan.folders.watch.exists()


@pytest.mark.parametrize(
    ("given", "seconds"),
    [
        ("", STEP_SECONDS),
        ("12", 12.0),
        ("0", STEP_SECONDS),
        ("-1", STEP_SECONDS),
        ("nan", STEP_SECONDS),
        ("x", STEP_SECONDS),
    ],
)
def test_the_environment_may_set_the_limit(monkeypatch, given, seconds):
    monkeypatch.setenv(VARIABLE, given)
    assert step_seconds() == seconds


def test_time_that_is_kept_costs_nothing(tmp_path):
    mark = tmp_path / "watch" / "1.txt"
    with watched(mark, 0.3):
        with time_limit("quick"):
            pass
        time.sleep(0.4)
    assert not mark.exists() and trace_of(mark) == ""


def test_the_limit_is_the_steps_not_the_tasks(tmp_path):
    with watched(None, 0.3):
        for _ in range(3):
            with time_limit("short"):
                time.sleep(0.15)
        with pytest.raises(StepError, match=r"slow was stopped after 0.3 s"), time_limit("slow"):
            time.sleep(5)


class Inherited:
    """In a circle, so that only a search for cycles ends it; its end takes longer than anybody waits."""

    def __init__(self):
        self.itself = self
        self.made_in = os.getpid()

    def __del__(self):
        if os.getpid() != self.made_in:
            time.sleep(600)


def collected():
    return gc.collect() >= 0


def test_workers_never_end_what_they_inherited():
    gc.disable()
    try:
        Inherited()
        with local_pool(1) as pool:
            assert pool.submit(collected).result(timeout=30)
    finally:
        gc.enable()


def test_jobs_by_default_are_the_cores_at_hand():
    assert 1 <= default_jobs() <= (os.cpu_count() or 1)
    assert faulty_steps.__doc__
