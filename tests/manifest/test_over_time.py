"""Entries that stand for several pictures: pages, even steps in time, flat-field frames."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tifffile
from heatbrief.errors import UserError
from heatbrief.manifest.load import load_manifest
from heatbrief.manifest.schema import Manifest

from .fake_registry import REGISTRY


def load(folder: Path, pictures: str, more: str = "") -> Manifest:
    path = folder / "survey.yaml"
    path.write_text(f"format: 1\nproperty: X\nthermograms:\n{pictures}\n{more}", encoding="utf-8")
    return load_manifest(path, REGISTRY)


def codes(folder: Path, pictures: str, more: str = "") -> list[str]:
    with pytest.raises(UserError) as caught:
        load(folder, pictures, more)
    assert all(problem.remedy for problem in caught.value.problems)
    return [problem.code for problem in caught.value.problems]


@pytest.fixture
def stack(tmp_path):
    tifffile.imwrite(
        tmp_path / "meter cupboard.tiff", np.zeros((5, 8, 9), np.uint16), photometric="minisblack", metadata=None
    )
    np.save(tmp_path / "stack.npy", np.zeros((3, 8, 9)))
    return tmp_path


def test_all_pages_become_one_sequence(stack):
    found = load(
        stack,
        "  - {file: meter cupboard.tiff, pages: all, shows: cupboard, taken: 2026-07-14T16:20:00-07:00, every: 15 s}",
    )
    assert [one.page for one in found.thermograms] == [0, 1, 2, 3, 4]
    assert [one.id for one in found.thermograms] == [
        "meter-cupboard",
        *(f"meter-cupboard-page-{n}" for n in range(1, 5)),
    ]
    assert {one.sequence for one in found.thermograms} == {"meter-cupboard"} and {
        one.shows for one in found.thermograms
    } == {"cupboard"}
    assert found.thermograms[4].taken == "2026-07-14T16:21:00-07:00" and found.thermograms[0].pages == ""


def test_a_range_ends_at_the_most_pages(tmp_path, monkeypatch):
    monkeypatch.setattr("heatbrief.manifest.over_time.MOST_PAGES", 4)
    assert len(load(tmp_path, "  - {file: later.tiff, pages: 2..5}").thermograms) == 4
    assert len(load(tmp_path, "  - {file: later.tiff, pages: 7..7}").thermograms) == 1
    assert codes(tmp_path, "  - {file: later.tiff, pages: 2..6}") == ["bad-pages"]


def test_a_range_of_pages_needs_no_file(tmp_path):
    found = load(tmp_path, "  - {file: later.tiff, pages: 2..4, sequence: warming up}")
    assert [(one.page, one.sequence) for one in found.thermograms] == [
        (2, "warming up"),
        (3, "warming up"),
        (4, "warming up"),
    ]


def test_pages_of_an_array_file_and_of_one_that_is_not_there(stack):
    found = load(stack, "  - {file: stack.npy, pages: all}\n  - {file: absent.tiff, pages: all}")
    assert [(one.file, one.page) for one in found.thermograms] == [
        ("stack.npy", 0),
        ("stack.npy", 1),
        ("stack.npy", 2),
        ("absent.tiff", 0),
    ]


def test_a_folder_of_frames_every_so_often(tmp_path):
    for name in ("b", "a", "c"):
        (tmp_path / f"{name}.tiff").touch()
    found = load(tmp_path, "  - {file: '*.tiff', sequence: night, taken: 2026-01-10T23:59:50, every: 10 s}")
    assert [(one.id, one.taken) for one in found.thermograms] == [
        ("a", "2026-01-10T23:59:50"),
        ("b", "2026-01-11T00:00:00"),
        ("c", "2026-01-11T00:00:10"),
    ]


def test_regions_stand_on_every_page(stack):
    found = load(stack, "  - {file: meter cupboard.tiff, pages: 0..1, regions: [{name: fuse, point: [3, 3]}]}")
    assert [[region.thermogram for region in one.regions] for one in found.thermograms] == [
        ["meter-cupboard"],
        ["meter-cupboard-page-1"],
    ]


@pytest.mark.parametrize(
    ("entry", "code"),
    [
        ("{file: a.tiff, pages: 4..2}", "bad-pages"),
        ("{file: a.tiff, pages: some}", "bad-pages"),
        ("{file: a.tiff, pages: 0..99999}", "bad-pages"),
        ("{file: a.tiff, pages: 0..2, page: 1}", "pages-twice"),
        ("{file: a.tiff, pages: 0..2, id: one}", "id-of-many"),
        ("{file: a.tiff, pages: 0..2, every: 15 s}", "every-without-taken"),
        ("{file: a.tiff, every: 15, taken: 2026-01-10}", "bad-quantity"),
        ("{file: a.tiff, pages: 0..2, every: 15 s, taken: yesterday}", "bad-date"),
        ("{file: a.tiff, scale: {known_points: true, kelvin_per_count: 0.01}}", "scale-twice"),
        ("{file: a.tiff, scale: {known_points: false}}", "scale-incomplete"),
    ],
)
def test_what_cannot_be_meant_is_said(tmp_path, entry, code):
    assert set(codes(tmp_path, f"  - {entry}")) == {code}


def test_a_scale_from_known_points(tmp_path):
    found = load(
        tmp_path,
        "  - {file: a.tiff, scale: {known_points: true}}\n  - b.tiff",
        "defaults: {scale: {known_points: true}}\n",
    )
    assert all(one.scale.known_points for one in found.thermograms)


def test_the_fact_of_a_known_temperature_is_read_with_its_bounds(tmp_path):
    from heatbrief.registry import load_registry

    path = tmp_path / "survey.yaml"
    path.write_text(
        """\
format: 1
property: X
thermograms:
  - file: a.tiff
    scale: {known_points: true}
    regions:
      - {name: ice water, box: [2, 2, 9, 9], facts: {known_temperature: 0 degC +- 0.3 K}}
      - {name: mug, box: [12, 2, 9, 9], facts: {known_temperature: 104 degF +- 1 K}}
""",
        encoding="utf-8",
    )
    ice, mug = (
        region.facts["known_temperature"] for region in load_manifest(path, load_registry()).thermograms[0].regions
    )
    assert (ice.value, ice.unit, ice.low, ice.high) == (0.0, "degC", -0.3, 0.3)
    assert mug.value == pytest.approx(40.0) and mug.half_width == pytest.approx(1.0)


def test_flat_field_frames_are_found_and_kept_inside_the_folder(tmp_path):
    (tmp_path / "flat").mkdir()
    for name in ("2", "1"):
        (tmp_path / "flat" / f"{name}.tiff").touch()
    found = load(
        tmp_path,
        "  - a.tiff",
        "camera: {flat_field: [flat/*.tiff, other.tiff, flat/1.tiff], flat_field_shows: many scenes}\n",
    )
    assert (
        found.camera.flat_field == ("flat/1.tiff", "flat/2.tiff", "other.tiff")
        and found.camera.flat_field_shows == "many scenes"
    )
    assert codes(tmp_path, "  - a.tiff", "camera: {flat_field: [../x.tiff]}\n") == ["path-outside"]
    assert codes(tmp_path, "  - a.tiff", "camera: {flat_field: [a.tiff], flat_field_shows: nothing}\n") == [
        "unknown-choice"
    ]


def test_files_of_one_name_are_sequences_of_their_own(tmp_path):
    for folder in ("attic", "hall"):
        (tmp_path / folder).mkdir()
        tifffile.imwrite(
            tmp_path / folder / "run.tiff", np.zeros((2, 8, 9), np.uint16), photometric="minisblack", metadata=None
        )
    np.save(tmp_path / "hall" / "run.npy", np.zeros((2, 8, 9)))
    files = ("attic/run.tiff", "hall/run.tiff", "hall/run.npy")
    found = load(tmp_path, "\n".join(f"  - {{file: {file}, pages: all}}" for file in files))
    names = [one.sequence for one in found.thermograms]
    assert names[::2] == names[1::2] == ["run", "hall-run", "run-npy"]
    found = load(tmp_path, "  - {file: attic/run.tiff, pages: all}\n  - {file: hall/run.tiff, sequence: run}")
    assert [one.sequence for one in found.thermograms] == ["attic-run", "attic-run", "run"]
