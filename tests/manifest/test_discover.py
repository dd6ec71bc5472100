"""From paths on a command line to manifests."""

from __future__ import annotations

from pathlib import Path

import pytest
from heatbrief.errors import UserError
from heatbrief.manifest.discover import check_unique_properties, find_surveys
from heatbrief.manifest.load import load_manifest

from .fake_registry import REGISTRY


def make(folder: Path, name: str = "X") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "survey.yaml"
    path.write_text(f"format: 1\nproperty: '{name}'\nthermograms: [a.tiff]\n")
    return path


def code(*paths: Path) -> list[str]:
    with pytest.raises(UserError) as caught:
        find_surveys(paths)
    assert all(problem.remedy for problem in caught.value.problems)
    return [problem.code for problem in caught.value.problems]


def test_a_file_a_folder_and_a_folder_of_folders(tmp_path):
    b, a = make(tmp_path / "many" / "b"), make(tmp_path / "many" / "a")
    make(tmp_path / "many" / ".hidden")
    other = tmp_path / "own.yml"
    other.write_text(a.read_text())
    assert find_surveys([b]) == [b]
    assert find_surveys([b.parent]) == [b]
    assert find_surveys([tmp_path / "many"]) == [a, b]
    assert find_surveys([other]) == [other]


def test_the_same_manifest_counts_once(tmp_path):
    path = make(tmp_path / "a")
    (tmp_path / "link").symlink_to(tmp_path / "a")
    assert find_surveys([path, path.parent, tmp_path / "a" / ".." / "a", tmp_path / "link"]) == [path]


def test_paths_that_lead_nowhere_are_all_named(tmp_path):
    (tmp_path / "empty").mkdir()
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "x.tiff").touch()
    assert code(tmp_path / "none", tmp_path / "empty", tmp_path / "full", tmp_path / "full" / "x.tiff") == [
        "path-missing",
        "no-survey",
        "no-survey",
        "not-a-manifest",
    ]
    assert code() == ["no-survey"]


def test_two_properties_with_one_name(tmp_path):
    first, second = (
        load_manifest(make(tmp_path / folder, name), REGISTRY) for folder, name in (("a", "Row 3"), ("b", "row  3!"))
    )
    check_unique_properties([first])
    with pytest.raises(UserError) as caught:
        check_unique_properties([first, second])
    (problem,) = caught.value.problems
    assert str(first.path) in problem.message and problem.where == str(second.path) and problem.code == "two-properties"


def test_an_empty_folder_and_one_without_a_manifest_are_told_apart(tmp_path):
    (tmp_path / "empty").mkdir()
    (tmp_path / "full" / "x").mkdir(parents=True)
    with pytest.raises(UserError) as caught:
        find_surveys([tmp_path / "empty", tmp_path / "full"])
    empty, full = (problem.message for problem in caught.value.problems)
    assert empty == "the folder is empty" and full.startswith("there is no survey.yaml")


def test_a_name_that_no_file_can_have_says_why(tmp_path):
    with pytest.raises(UserError) as caught:
        find_surveys([tmp_path / ("x" * 300)])
    (problem,) = caught.value.problems
    assert problem.code in ("cannot-read", "path-missing") and len(problem.message) < 200
