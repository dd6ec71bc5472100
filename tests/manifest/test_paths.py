"""Paths of a manifest stay below its folder, and patterns name files."""

from __future__ import annotations

import pytest
from heatbrief.manifest import paths
from heatbrief.manifest.nodes import Problems, Scalar
from heatbrief.manifest.paths import SurveyFolder

NODE = Scalar("survey.yaml", 1, 1, "x", True)


@pytest.fixture
def survey(tmp_path):
    folder = tmp_path / "survey"
    (folder / "ir" / "deep").mkdir(parents=True)
    for name in ("ir/b.tiff", "ir/a.tiff", "ir/deep/c.tiff", "ir/[x].tiff", "top.tiff"):
        (folder / name).touch()
    (tmp_path / "survey-other").mkdir()
    (tmp_path / "secret.tiff").touch()
    (folder / "out").symlink_to(tmp_path)
    (folder / "link.tiff").symlink_to(tmp_path / "secret.tiff")
    (folder / "near.tiff").symlink_to(folder / "top.tiff")
    (folder / "beside").symlink_to(tmp_path / "survey-other")
    return SurveyFolder(folder)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("ir/a.tiff", None),
        ("none/of/these.tiff", None),
        ("a..b/c.tiff", None),
        ("near.tiff", None),
        ("Cc:/x", None),
        ("ir\\a.tiff", "path-form"),
        ("C:/x.tiff", "path-form"),
        ("c:/x.tiff", "path-form"),
        ("/etc/passwd", "path-outside"),
        ("../secret.tiff", "path-outside"),
        ("ir/../../secret.tiff", "path-outside"),
        ("out/secret.tiff", "path-outside"),
        ("link.tiff", "path-outside"),
        ("beside/x.tiff", "path-outside"),
        ("ir/a\n.tiff", "file-name"),
        ("ir/a\t.tiff", "file-name"),
        ("ir/a\x1b.tiff", "file-name"),
    ],
)
def test_what_lies_in_the_folder(survey, text, code):
    for _ in range(2):
        problems = Problems()
        assert survey.holds(text, NODE, "file", problems) is (code is None)
        assert [one.code for one in problems.sorted()] == ([] if code is None else [code])


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("ir/*.tiff", ["ir/[x].tiff", "ir/a.tiff", "ir/b.tiff"]),
        ("ir/?.tiff", ["ir/a.tiff", "ir/b.tiff"]),
        ("ir/[a].tiff", ["ir/a.tiff"]),
        ("ir/[x].tiff", ["ir/[x].tiff"]),
        ("ir/*", ["ir/[x].tiff", "ir/a.tiff", "ir/b.tiff"]),
        ("ir/**/c.tiff", ["ir/deep/c.tiff"]),
        ("ir/*.png", ["ir/*.png"]),
        ("ir/a.tiff", ["ir/a.tiff"]),
        ("none.tiff", ["none.tiff"]),
        ("near*", ["near.tiff"]),
    ],
)
def test_patterns_name_their_files_and_everything_else_is_a_name(survey, text, found):
    assert list(survey.matches(text)) == found


def test_a_pattern_ends_at_the_most_files(survey, monkeypatch):
    monkeypatch.setattr(paths, "MAX_MATCHES", 2)
    assert len(survey.matches("ir/*.tiff")) == 2


def test_the_root_itself_may_be_the_folder():
    assert SurveyFolder(paths.Path("/")).holds("tmp/x.tiff", NODE, "file", Problems())
