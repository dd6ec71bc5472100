"""Flat field, known points and saturation from a manifest to the results, and what makes them be computed again."""

from __future__ import annotations

import io

import numpy as np
import pytest
import tifffile
from heatbrief.testing import Imager, Scene, render
from heatbrief.testing.parts import Patch
from support import results_of

STEP = 0.01
PARTS = (Patch(name="ice", box=(10, 10, 20, 20), rise_k=-22.0), Patch(name="plate", box=(120, 10, 20, 20), rise_k=18.0))


def counts(shading_k: float, name: str, *parts: Patch) -> np.ndarray:
    imager = Imager(noise_k=0.05, shading_k=shading_k, kelvin_per_count=STEP)
    return render(Scene(name=name, imager=imager, parts=parts)).counts


def tiff(values: np.ndarray) -> bytes:
    stream = io.BytesIO()
    tifffile.imwrite(stream, values, photometric="minisblack", metadata=None)
    return stream.getvalue()


FLAT = """\
format: 1
property: Flat
inspect: [envelope]
camera: {flat_field: [flat/*.tiff], noise: 50 mK}
defaults: {scale: {kelvin_per_count: 0.01}}
thermograms: [{file: wall.tiff, shows: wall}]
stages: {publish: []}
"""


@pytest.fixture
def flat(survey, tmp_path):
    frames = {f"flat/{n}.tiff": tiff(counts(2.0, f"frame {n}")) for n in range(3)}
    return survey(FLAT, {"wall.tiff": tiff(counts(2.0, "wall")), **frames}), tmp_path / "out"


def spread(out, slug="flat") -> float:
    (one,) = results_of(out, slug)["thermograms"]
    return one["statistics"]["p95"]["value"] - one["statistics"]["median"]["value"]


def test_a_flat_field_in_the_manifest_is_used_remembered_and_followed(flat, heatbrief):
    folder, out = flat
    assert heatbrief("run", folder, "--out", out, "--jobs", 1).code == 0
    (one,) = results_of(out, "flat")["thermograms"]
    assert any("flat field of 3 frames removed" in note for note in one["notes"])
    assert "lens shading" in {line["name"] for line in one["budget"]}
    even = spread(out)
    again = heatbrief("plan", folder, "--out", out)
    assert again.code == 0 and "camera data changed" not in again.out
    (folder / "flat/1.tiff").write_bytes(tiff(counts(-2.0, "another")))
    assert "camera data changed" in heatbrief("plan", folder, "--out", out).out
    (folder / "survey.yaml").write_text(FLAT.replace("flat_field: [flat/*.tiff], ", ""), "utf-8")
    assert heatbrief("run", folder, "--out", out, "--jobs", 1).code == 0
    assert spread(out) > 3 * even


def test_the_same_bytes_with_worker_processes(flat, heatbrief):
    folder, out = flat
    for jobs in (1, 2):
        assert heatbrief("run", folder, "--out", f"{out}{jobs}", "--jobs", jobs).code == 0
    assert results_of(out.with_name("out1"), "flat") == results_of(out.with_name("out2"), "flat")


def test_frames_that_are_missing_or_cannot_be_read_are_listed(flat, heatbrief):
    folder, out = flat
    text = FLAT.replace("[flat/*.tiff]", "[flat/0.tiff, flat/9.tiff, flat/bad.tiff]")
    (folder / "survey.yaml").write_text(text, "utf-8")
    (folder / "flat/bad.tiff").write_bytes(b"II*\x00 and no more")
    checked = heatbrief("check", folder)
    assert "flat/9.tiff" in checked.out + checked.err
    assert heatbrief("run", folder, "--out", out, "--jobs", 1).code == 3
    results = results_of(out, "flat")
    assert [(one["source"], one["code"]) for one in results["not_analysed"] if one["failed"]] == [
        ("flat/9.tiff", "flat-field-missing")
    ]
    notes = " ".join(results["thermograms"][0]["notes"])
    assert (
        "flat/bad.tiff left out" in notes and "flat field of 1 frame removed" in notes and "name two or more" in notes
    )


def test_known_points_and_saturation_reach_the_results(survey, heatbrief, tmp_path):
    values = np.minimum(counts(0.0, "points", *PARTS), 31100)
    folder = survey(
        """\
format: 1
property: Points
inspect: [envelope]
stages: {publish: []}
thermograms:
  - file: wall.tiff
    shows: wall, from inside
    emissivity: 0.95 +- 0.01
    reflected: 22 degC
    scale: {known_points: true}
    regions:
      - {name: ice water, box: [12, 12, 16, 16], facts: {known_temperature: 0 degC +- 0.3 K}}
      - {name: wall, box: [60, 70, 30, 30], facts: {known_temperature: 22 degC +- 0.3 K}}
      - {name: hot plate, box: [122, 12, 16, 16]}
""",
        {"wall.tiff": tiff(values)},
    )
    out = tmp_path / "out"
    assert heatbrief("run", folder, "--out", out, "--jobs", 1).code == 0
    (one,) = results_of(out, "points")["thermograms"]
    assert one["status"] == "analysed" and "provisional" in one["settings"]["scale"]
    regions = {region["name"]: region for region in one["regions"]}
    assert (
        regions["ice water"]["statistics"]["mean"]["low"] <= 0.0 <= regions["ice water"]["statistics"]["mean"]["high"]
    )
    assert "recording range" not in " ".join(regions["wall"]["notes"])
    assert "upper end of the recording range" in " ".join(regions["hot plate"]["notes"])
    assert regions["hot plate"]["statistics"]["max"]["method"].startswith("at least this")


def test_pages_run_as_a_sequence_and_the_step_says_how_steady_it_was(survey, heatbrief, tmp_path):
    frames = np.stack([counts(0.0, "page", *PARTS) + (80 if number == 2 else 0) for number in range(3)])
    folder = survey(
        """\
format: 1
property: Pages
inspect: [envelope]
defaults: {scale: {kelvin_per_count: 0.01}}
thermograms: [{file: run.tiff, pages: all, shows: wall, taken: 2026-01-10T08:00:00, every: 15 s}]
stages: {detect: [{use: heatbrief.steadiness}], publish: []}
""",
        {"run.tiff": tiff(frames)},
    )
    assert heatbrief("run", folder, "--out", tmp_path / "out", "--jobs", 1).code == 0
    results = results_of(tmp_path / "out", "pages")
    assert [one["taken"] for one in results["thermograms"]] == [
        f"2026-01-10T08:00:{second:02d}" for second in (0, 15, 30)
    ]
    notes = [one["message"] for one in results["not_analysed"] if one["step"] == "heatbrief.steadiness"]
    assert len(notes) == 1 and "after 30 s" in notes[0]
