"""`heatbrief new`: a manifest from a folder of pictures."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
import tifffile
import yaml
from heatbrief.errors import UserError
from heatbrief.manifest.load import load_manifest
from heatbrief.manifest.template import BROKEN_MARK, first_manifest, quoted
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from .fake_registry import REGISTRY


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    root = tmp_path / "Sandpiper: Row #3"
    (root / "ir").mkdir(parents=True)
    counts = np.arange(12, dtype=np.uint16).reshape(3, 4)
    tifffile.imwrite(root / "ir" / "attic-001.tiff", counts)
    tifffile.imwrite(root / "ir" / "attic-002.tiff", counts)
    tifffile.imwrite(root / "ir" / "wall 20260714T1620.tif", counts.astype(np.float32))
    Image.fromarray(counts).save(root / "ir" / "panel.png")
    Image.new("RGB", (4, 3)).save(root / "ir" / "panel.jpg")
    (root / "visible").mkdir()
    Image.new("RGB", (4, 3)).save(root / "visible" / "attic-001.png")
    np.save(root / "ir" / "roof.npy", counts)
    (root / "ir" / "table.csv").write_text("20.5,21\n22,23\n")
    (root / "broken.tiff").write_bytes(b"II*\0nothing")
    (root / "published").mkdir()
    (root / "published" / "x.png").touch()
    (root / ".hidden.png").touch()
    return root


def new_manifest(folder: Path) -> str:
    return first_manifest(folder).text


def loaded(folder: Path):
    path = folder / "survey.yaml"
    path.write_text(new_manifest(folder), encoding="utf-8")
    return load_manifest(path, REGISTRY)


def test_it_loads_and_holds_what_could_be_read(folder):
    found = loaded(folder)
    pictures = {one.file: one for one in found.thermograms}
    assert list(pictures) == [
        "broken.tiff",
        "ir/attic-001.tiff",
        "ir/attic-002.tiff",
        "ir/panel.png",
        "ir/roof.npy",
        "ir/table.csv",
        "ir/wall 20260714T1620.tif",
    ]
    assert found.property.name == folder.name and found.date == "2026-07-14"
    assert pictures["broken.tiff"].size is None
    assert pictures["ir/attic-001.tiff"].size == (4, 3) == pictures["ir/roof.npy"].size
    assert pictures["ir/table.csv"].size == (2, 2)
    assert pictures["ir/panel.png"].visible == "ir/panel.jpg"
    assert pictures["ir/attic-001.tiff"].visible == "visible/attic-001.png"
    assert pictures["ir/wall 20260714T1620.tif"].taken == "2026-07-14T16:20"


def test_it_asks_for_what_could_not(folder):
    text = new_manifest(folder)
    assert text == new_manifest(folder)
    for question in ("How warm was it inside?", "kelvin is one count?", "in degC, kelvin or degF", "made of?"):
        assert question in text


def test_the_scale_of_most_is_asked_once_and_that_of_the_others_with_them(folder):
    shared, _, own = new_manifest(folder).partition("thermograms:")
    assert shared.count("# scale: {kelvin_per_count") == 1 and "# scale: {values" not in shared
    assert own.count("# scale: {values: degC}") == 2 and "# scale: {kelvin_per_count" not in own
    for name in ("attic-001.tiff", "attic-002.tiff", "roof.npy"):
        (folder / "ir" / name).unlink()
    shared, _, own = new_manifest(folder).partition("thermograms:")
    assert "# scale: {values" in shared and own.count("# scale: {kelvin_per_count") == 1


def test_files_that_cannot_be_read_are_marked_and_named(folder):
    (folder / "ir" / "notes.txt").write_text("the attic was hot\n")
    (folder / "ir" / "cut.png").write_bytes(b"\x89PNG")
    found = first_manifest(folder)
    assert found.broken == ("broken.tiff", "ir/cut.png", "ir/notes.txt")
    lines = found.text.split("\n")
    for name in found.broken:
        assert lines[lines.index(f"  - file: {name}") + 1] == BROKEN_MARK
    assert found.text.count(BROKEN_MARK) == 3


def test_every_question_can_be_answered_by_removing_its_mark(folder):
    """The commented lines are valid manifest lines in their place."""
    lines = new_manifest(folder).split("\n")
    answered = [
        line.replace("# ", "", 1)
        if line.strip().startswith("# ") and line.strip()[2:].split(":")[0].isidentifier()
        else line
        for line in lines
    ]
    text = "\n".join(answered)
    path = folder / "survey.yaml"
    path.write_text(text, encoding="utf-8")
    found = load_manifest(path, REGISTRY)
    pictures = {one.file: one for one in found.thermograms}
    assert pictures["ir/attic-001.tiff"].sequence == pictures["ir/attic-002.tiff"].sequence != ""
    assert pictures["ir/panel.png"].sequence == ""
    assert (
        found.conditions.inside_air.value == 21
        and found.thermograms[0].distance.value == 2.4
        and found.camera.noise.value == 0.05
    )


@pytest.mark.parametrize(
    "name",
    [
        "a: b.png",
        "- x.png",
        "#x.png",
        "&a *b.png",
        "{{x}}.png",
        "%TAG.png",
        "'q\".png",
        "雪.png",
        "yes.png",
        "[1].png",
        " lead.png",
        "!x.png",
        "null.png",
        "a*.png",
        "2026-07-14.png",
        "a\u202eb.png",
        "a\nb.png",
        "a\\b.png",
    ],
)
def test_hostile_file_names(tmp_path, name):
    for file in (name, "plain.png"):
        (tmp_path / file).touch()
    files = [one.file for one in loaded(tmp_path).thermograms]
    assert files == sorted([name, "plain.png"] if not set(name) & set("\u202e\n\\") else ["plain.png"])


@pytest.mark.skipif(os.name == "nt", reason="names are bytes elsewhere")
def test_names_that_are_no_text(tmp_path):
    (Path(os.fsdecode(os.fsencode(tmp_path) + b"/bad\xff.png"))).touch()
    (tmp_path / "good.png").touch()
    assert [one.file for one in loaded(tmp_path).thermograms] == ["good.png"]


@given(st.text(st.characters(blacklist_categories=["Cs"]), max_size=30))
def test_quoted_text_is_read_back(text):
    assert yaml.safe_load(quoted(text)) == text


def test_no_pictures_and_no_folder(tmp_path):
    for path, code in ((tmp_path, "no-pictures"), (tmp_path / "none", "path-missing")):
        with pytest.raises(UserError) as caught:
            new_manifest(path)
        assert caught.value.problems[0].code == code


def test_drawings_are_listed_as_floors_and_not_as_pictures(folder):
    (folder / "plan").mkdir()
    Image.new("RGB", (40, 30)).save(folder / "plan" / "ground-floor.png")
    found = loaded(folder)
    assert [(one.name, one.picture) for one in found.floors] == [("ground floor", "plan/ground-floor.png")]
    assert all(not one.file.startswith("plan/") for one in found.thermograms)


def test_without_drawings_there_is_a_question(folder):
    assert "# floors:" in new_manifest(folder) and loaded(folder).floors == ()
