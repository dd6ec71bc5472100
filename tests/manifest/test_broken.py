"""Broken manifests as data: `broken/NAME.yaml` and the whole message expected in `broken/NAME.txt`."""

from __future__ import annotations

import os
import pickle
from pathlib import Path

import pytest
from heatbrief.errors import UserError
from heatbrief.manifest.load import load_manifest

from .fake_registry import REGISTRY

BROKEN = Path(__file__).with_name("broken")


@pytest.fixture(autouse=True)
def in_folder(monkeypatch):
    monkeypatch.chdir(BROKEN)


@pytest.mark.parametrize("name", sorted(path.stem for path in BROKEN.glob("*.yaml")))
def test_the_whole_message(name):
    with pytest.raises(UserError) as caught:
        load_manifest(Path(f"{name}.yaml"), REGISTRY)
    assert str(caught.value) + "\n" == Path(f"{name}.txt").read_text("utf-8")


def test_each_expected_message_belongs_to_a_manifest():
    assert {path.stem for path in BROKEN.glob("*.txt")} == {path.stem for path in BROKEN.glob("*.yaml")}


def test_ten_mistakes_are_told_at_once_where_they_stand():
    with pytest.raises(UserError) as caught:
        load_manifest(Path("ten_mistakes.yaml"), REGISTRY)
    lines = Path("ten_mistakes.yaml").read_text("utf-8").split("\n")
    wrong = ["adress", "envelop", "24", "120 %", "../secret", "wod", "2,4 m", "secert", "[1, 2, 0, 4]", "neta"]
    places = [problem.where.split(":") for problem in caught.value.problems]
    assert len(places) == 10
    for (file, line, column), text in zip(places, wrong, strict=True):
        assert file == "ten_mistakes.yaml"
        assert lines[int(line) - 1][int(column) - 1 :].startswith(text)


def test_errors_survive_pickling():
    with pytest.raises(UserError) as caught:
        load_manifest(Path("ten_mistakes.yaml"), REGISTRY)
    assert pickle.loads(pickle.dumps(caught.value)).problems == caught.value.problems


def test_more_problems_than_anybody_reads_are_cut(tmp_path):
    path = tmp_path / "survey.yaml"
    path.write_text(
        "format: 1\nproperty: X\nthermograms: [a.tiff]\n" + "".join(f"key{number}: 1\n" for number in range(3000))
    )
    with pytest.raises(UserError) as caught:
        load_manifest(path, REGISTRY)
    assert len(caught.value.problems) == 501
    assert caught.value.problems[-1].code == "too-many-problems"


@pytest.mark.parametrize("make", ["folder", "missing", "fifo", "large"])
def test_what_is_not_a_readable_file(tmp_path, make):
    path = tmp_path / "survey.yaml"
    if make == "folder":
        path.mkdir()
    elif make == "fifo":
        os.mkfifo(path)
    elif make == "large":
        path.write_bytes(b"#" * 5_000_001)
    with pytest.raises(UserError) as caught:
        load_manifest(path, REGISTRY)
    assert caught.value.problems[0].code in {"not-a-file", "cannot-read", "file-too-large"}
