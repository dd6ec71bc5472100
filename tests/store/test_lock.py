"""A lock is held once, named, and taken over from a process that is gone."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys

import pytest
from heatbrief.errors import UserError
from heatbrief.store.files import swap_folder, sweep
from heatbrief.store.lock import Lock


def holder(**changes) -> str:
    return json.dumps({"host": socket.gethostname(), "pid": os.getpid(), "started": "", **changes})


def test_a_lock_is_held_once_and_leaves_nothing(tmp_path):
    path = tmp_path / "a" / "b" / "lock"
    with Lock(path):
        with pytest.raises(UserError) as caught, Lock(path):
            pass
        assert caught.value.problems[0].code == "run-at-work"
        assert str(path) in caught.value.problems[0].remedy
        assert [one.name for one in path.parent.iterdir()] == ["lock"]
    assert list(tmp_path.iterdir()) == []


def test_a_lock_of_a_process_that_is_gone_is_taken_over(tmp_path):
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    for text in (
        holder(pid=gone.pid),
        holder(started="another process had this number"),
        "",
        "[]",
        "{",
        '{"pid": "x"}',
    ):
        (tmp_path / "kept").touch()
        (tmp_path / "lock").write_text(text)
        with Lock(tmp_path / "lock"):
            assert json.loads((tmp_path / "lock").read_text())["pid"] == os.getpid()
        assert [one.name for one in tmp_path.iterdir()] == ["kept"]


def test_a_lock_of_another_machine_stays(tmp_path):
    (tmp_path / "lock").write_text(holder(host="elsewhere", pid=1))
    with pytest.raises(UserError, match="process 1 on elsewhere"), Lock(tmp_path / "lock"):
        pass
    assert (tmp_path / "lock").read_text() == holder(host="elsewhere", pid=1)


def test_folders_are_swapped_whole(tmp_path, monkeypatch):
    for able in (True, False):
        if not able:
            monkeypatch.setattr("heatbrief.store.files._exchange", lambda one, other: False)
        for turn in range(2):
            (tmp_path / "new").mkdir()
            (tmp_path / "new" / f"{turn}").touch()
            swap_folder(tmp_path / "new", tmp_path / "site")
            assert [one.name for one in (tmp_path / "site").iterdir()] == [f"{turn}"]
            assert [one.name for one in tmp_path.iterdir()] == ["site"]


def test_only_what_a_killed_run_left_is_swept(tmp_path):
    keep = ["results.json", "site", ".hidden", "notes.part", "site.tmp-x", "plan.old-"]
    for name in (*keep, ".results.json.12.part", ".lock.3.ab12.part"):
        (tmp_path / name).touch()
    for name in ("site.tmp-44", "site.old-7"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "index.html").touch()
    sweep(tmp_path)
    assert sorted(one.name for one in tmp_path.iterdir()) == sorted(keep)
