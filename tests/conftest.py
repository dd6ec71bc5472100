"""Tests of heatbrief as a whole, and what several folders share: real measurements, survey folders, the command.

Folders without code of their own: `corpus/` holds inputs that once crashed something, `published/` values of published
sources with their marks, `external_plugin/` a plugin written by hand outside this project.
"""

from __future__ import annotations

import contextlib
import io
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from support import ROOT

settings.register_profile("heatbrief", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("heatbrief")

collect_ignore = [
    "external_plugin"
]  # a project of its own; test_external_plugin.py runs its tests where it is installed
SHARED_DATA = ROOT.parent / "shared" / "data"


@pytest.fixture
def measurements():
    """Path of a folder of openly licensed measurements; skips where they are not present."""

    def find(name: str) -> Path:
        folder = SHARED_DATA / name
        if not folder.is_dir():
            pytest.skip(f"the open measurements {name} are not on this machine ({SHARED_DATA})")
        return folder

    return find


@dataclass(frozen=True)
class Outcome:
    """What one call of the command gave."""

    code: int
    out: str
    err: str


@pytest.fixture
def heatbrief():
    """Call the command in this process: heatbrief("run", folder, "--out", out)."""
    from heatbrief.cli import main

    def call(*arguments: object) -> Outcome:
        out, err = io.StringIO(), io.StringIO()
        code = 0
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            try:
                main([str(argument) for argument in arguments])
            except SystemExit as leaving:
                code = int(leaving.code or 0)
        return Outcome(code, out.getvalue(), err.getvalue())

    return call


@pytest.fixture
def survey(tmp_path: Path):
    """A survey folder: survey("format: 1 ...", {"ir/a.tiff": path or bytes})."""

    def make(text: str, pictures: dict[str, Path | bytes], name: str = "survey") -> Path:
        folder = tmp_path / name
        folder.mkdir(exist_ok=True)
        (folder / "survey.yaml").write_text(text, "utf-8")
        for target, source in pictures.items():
            path = folder / target
            path.parent.mkdir(parents=True, exist_ok=True)
            if isinstance(source, bytes):
                path.write_bytes(source)
            else:
                shutil.copyfile(source, path)
        return folder

    return make
