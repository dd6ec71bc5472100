"""A small share of the fuzzing: damaged files of every kind never crash a reader or the manifest."""

from __future__ import annotations

import random

import pytest
from benchmarks import fuzz


@pytest.mark.parametrize("suffix", fuzz.SUFFIXES)
def test_damaged_files_are_read_or_refused(suffix, tmp_path):
    call, chance = fuzz.target(suffix, tmp_path), random.Random(suffix)
    for sound in fuzz.seeds()[suffix]:
        call(sound)
        for _ in range(25):
            call(fuzz.changed(suffix, sound, chance))


@pytest.mark.parametrize("suffix", fuzz.SUFFIXES)
def test_what_once_crashed_does_not(suffix, tmp_path):
    call = fuzz.target(suffix, tmp_path)
    for data in fuzz.corpus(suffix):
        call(data)


def test_a_crash_is_counted(tmp_path, monkeypatch):
    monkeypatch.setattr(fuzz, "target", lambda suffix, folder: lambda data: 1 // 0)
    monkeypatch.setattr(fuzz.resource, "setrlimit", lambda *_: None)
    fuzz.worker(".npy", 3, 1, tmp_path, False)
    assert len(list(tmp_path.glob("crash-*.npy"))) == 3
