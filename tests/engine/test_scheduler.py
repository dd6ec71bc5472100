"""A run on the workers of a Dask scheduler gives the bytes of a local run, also when one is killed in the middle."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from benchmarks import faults
from heatbrief.engine.limits import VARIABLE
from heatbrief.engine.scheduler import Cluster
from support import tree_state

distributed = pytest.importorskip("distributed")

PICTURES = 12


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]


@pytest.fixture
def cluster(tmp_path):
    """A scheduler and two worker processes on loopback; gives the address and the workers' nannies."""
    address = f"tcp://127.0.0.1:{free_port()}"
    begin = [
        sys.executable,
        "-m",
        "distributed.cli.dask_scheduler",
        "--host",
        "127.0.0.1",
        "--port",
        address.rpartition(":")[2],
        "--no-dashboard",
    ]
    worker = [
        sys.executable,
        "-m",
        "distributed.cli.dask_worker",
        address,
        "--nthreads",
        "1",
        "--host",
        "127.0.0.1",
        "--no-dashboard",
        "--local-directory",
        str(tmp_path / "dask"),
    ]
    steps = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])}  # where faulty_steps.py is found
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "env": steps}
    started = [subprocess.Popen(begin, **quiet), *(subprocess.Popen(worker, **quiet) for _ in range(2))]
    try:
        with distributed.Client(address, timeout=60, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=60)
        yield address, started[1:]
    finally:
        for one in reversed(started):
            one.terminate()
        for one in started:
            try:
                one.wait(20)
            except subprocess.TimeoutExpired:
                one.kill()


def workers_of(address: str) -> dict[str, int]:
    with distributed.Client(address, timeout=60, set_as_default=False) as client:
        return client.run(os.getpid)


@pytest.mark.parametrize("store", ["", "file://", "path"])
def test_two_workers_give_the_bytes_of_a_local_run_also_when_one_is_killed(cluster, heatbrief, tmp_path, store):
    address, _ = cluster
    shared = tmp_path / "shared"
    there = ["--store", {"file://": shared.as_uri(), "path": shared}[store]] if store else []
    faults.write_survey(tmp_path / "survey", 2.0, PICTURES)
    assert heatbrief("run", tmp_path / "survey", "--out", tmp_path / "local").code == 0
    victim = next(iter(workers_of(address).values()))
    objects = shared / faults.SLUG if store else tmp_path / "out" / faults.SLUG / "objects"
    killed = []

    def kill() -> None:
        for _ in range(6000):
            if objects.is_dir() and any(objects.iterdir()):
                os.kill(victim, signal.SIGKILL)
                killed.append(victim)
                return
            time.sleep(0.01)

    killer = threading.Thread(target=kill)
    killer.start()
    done = heatbrief("run", tmp_path / "survey", "--out", tmp_path / "out", "--scheduler", address, *there)
    killer.join()
    assert done.code == 0, done.err
    assert killed
    assert tree_state(tmp_path / "out" / faults.SLUG) == tree_state(tmp_path / "local" / faults.SLUG)
    again = heatbrief("run", tmp_path / "survey", "--out", tmp_path / "out", "--scheduler", address, *there)
    assert "nothing to compute" in again.out
    if store:  # no check needs exact arrays later, so nothing stays there; workers put nothing beside the output folder
        assert not list((shared / faults.SLUG).iterdir())
        assert not (tmp_path / "out" / ".heatbrief" / faults.SLUG / "objects").exists()


def test_a_step_that_hangs_on_a_worker_costs_its_picture_only(cluster, trial, monkeypatch):
    address, _ = cluster
    monkeypatch.setenv(VARIABLE, "1.5")
    before = set(workers_of(address).values())
    with distributed.Client(address, timeout=60, set_as_default=False) as client:
        report = trial("deaf", "warm", pictures=4, executor=lambda jobs: Cluster(client))
    failed = [one for one in report.results.not_analysed if one.failed]
    assert [(one.code, one.source) for one in failed] == [("step-timeout", "p1.tiff")]
    assert [one.thermogram for one in report.results.findings] == ["p0", "p2", "p3"]
    assert "faulty_steps.py" in report.failures[0].trace and "deaf" in report.failures[0].trace
    assert before - set(workers_of(address).values())  # the worker that hung was ended
    assert not report.plan.folders.watch.exists()


def test_a_scheduler_that_does_not_answer_is_said(heatbrief, tmp_path, monkeypatch):
    faults.write_survey(tmp_path / "survey", 2.0, 1)
    real = distributed.Client
    monkeypatch.setattr(distributed, "Client", lambda address, timeout, **named: real(address, timeout=1, **named))
    done = heatbrief(
        "run", tmp_path / "survey", "--out", tmp_path / "out", "--scheduler", f"tcp://127.0.0.1:{free_port()}"
    )
    assert (done.code, "error[scheduler-silent]" in done.err) == (2, True), done.err
