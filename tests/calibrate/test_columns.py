"""Stripes of the detector: found and removed where they stand out, real edges and lines left as they are."""

from __future__ import annotations

import numpy as np
import pytest
import tifffile
from heatbrief.calibrate.columns import _bands, _running_median, stripes_of, without_stripes
from heatbrief.model.thermogram import Picture
from heatbrief.testing import Imager, Scene, render
from heatbrief.testing.parts import Patch
from scipy.ndimage import median_filter

STEP = 0.01
EDGE = Patch(name="warm half", box=(160, 0, 160, 240), rise_k=3.0)
LINE = Patch(name="hot pipe", box=(40, 0, 3, 240), rise_k=1.0)


def scene(column_k: float, *parts: Patch, noise_k: float = 0.05) -> tuple[np.ndarray, np.ndarray]:
    """(counts, true offset of each column in counts)."""
    imager = Imager(column_k=column_k, noise_k=noise_k, kelvin_per_count=STEP)
    made = Scene(name="stripes", width=320, height=240, mottle_k=0.2, imager=imager, parts=parts)
    return render(made).counts, column_k / STEP * made.random("columns").standard_normal(320)


def stripe_size(counts: np.ndarray) -> float:
    """Robust size of the differences of the means of neighbouring columns, in counts."""
    steps = np.diff(np.mean(counts, axis=0))
    return float(1.4826 * np.median(np.abs(steps - np.median(steps))))


@pytest.mark.parametrize("column_k", [0.02, 0.05, 0.1])
def test_known_stripes_are_removed(column_k):
    """The published recipe for synthetic scenes has column patterns of 0.2 to 0.5 of the noise [CP]."""
    counts, truth = scene(column_k)
    found = stripes_of(counts)
    free = found.offsets != 0.0
    assert free.mean() > 0.85
    assert np.corrcoef(found.offsets[free], truth[free])[0, 1] > 0.9
    left = (truth - found.offsets)[free]
    assert left.std() < 0.45 * truth.std()
    assert 0.5 * left.std() < found.standard < 2.0 * left.std()


def test_a_picture_without_stripes_is_not_touched():
    for parts in ((), (EDGE,), (EDGE, LINE)):
        counts, _ = scene(0.0, *parts)
        picture = Picture(counts, False, (STEP, 0.0))
        assert without_stripes(picture) == (picture, ())


def test_edges_and_lines_of_the_scene_survive():
    counts, truth = scene(0.03, EDGE, LINE)
    found = stripes_of(counts)
    assert np.all(found.offsets[157:164] == 0.0) and np.all(found.offsets[40:43] == 0.0)
    clean = counts - truth
    after = counts - found.offsets
    for at, beside in ((165, 154), (41, 47)):
        contrast = [np.median(one[:, at]) - np.median(one[:, beside]) for one in (clean, after)]
        assert contrast[1] == pytest.approx(contrast[0], abs=0.1 * abs(contrast[0]))


def test_an_edge_that_runs_part_of_the_way_is_not_a_stripe():
    counts, _ = scene(0.0, Patch(name="door", box=(100, 100, 2, 140), rise_k=0.4))
    assert stripes_of(counts) is None


def test_rows_count_as_columns_do_and_the_error_that_stays_is_carried(thermogram):
    counts, _ = scene(0.05)
    turned = Picture(np.ascontiguousarray(counts.T), False, (STEP, 0.0), 0.0, 65535.0)
    done, notes = without_stripes(turned)
    assert "rows" in notes[0] and stripe_size(done.values.T) < 0.5 * stripe_size(counts)
    (source,) = done.errors
    assert source.name == "rows and columns" and source.reach == 1.0 and 0.005 < source.standard < 0.05
    found = thermogram(turned, view={"material": "painted plaster"})
    carried = next(one for one in found.errors[0] if one.name == "rows and columns")
    # A pixel's emissivity below 1 raises what an apparent error means for the surface: 1 / 0.9 to 1 / 1.
    assert 1.0 <= carried.sensitivity[0] < 1.25
    assert any("stripes" in note for note in found.facts["notes"])


def test_temperatures_counts_of_unknown_meaning_and_switched_off_pictures_stay(thermogram):
    counts, _ = scene(0.1)
    for picture, settings in (
        (Picture(counts * STEP, True), {}),
        (Picture(counts, False), {}),
        (Picture(counts, False, (STEP, 0.0)), {"stripes": False}),
    ):
        found = thermogram(picture, settings=settings)
        assert not any("stripes" in note for note in found.facts["notes"])


def test_flat_frames_of_an_uncooled_camera(measurements):
    """Two frames of an even target, open data: median columns 0.016 and 0.017 K apart, in rows as much [computed]."""
    for path in sorted(measurements("castle-wall").glob("flat_*.tiff")):
        counts = tifffile.imread(path)
        done, notes = without_stripes(Picture(counts, False, (1 / 40, 173.15)))
        assert notes
        for before, after in ((counts, done.values), (counts.T, done.values.T)):
            if stripes_of(before) is not None:
                assert stripe_size(after) < 0.6 * stripe_size(before)


def test_the_running_median_is_the_median_in_all_cases():
    """What is made of least and greatest alone is a median when it is one of all cases of nine zeros and ones."""
    cases = np.zeros((512, 17), np.float32)
    cases[:, 4:13] = (np.arange(512)[:, None] >> np.arange(9)) & 1
    assert np.array_equal(_running_median(cases)[:, 8], np.median(cases[:, 4:13], axis=1))
    lines = np.random.default_rng(12).normal(0.0, 1.0, (5, 40)).astype(np.float32)
    assert np.array_equal(_running_median(lines), median_filter(lines, (1, 9), mode="mirror"))


@pytest.mark.parametrize("count", [32, 33, 34, 39, 61])
def test_bands_are_the_means_of_parts(count):
    lines = np.random.default_rng(13).normal(0.0, 1.0, (count, 20)).astype(np.float32)
    wanted = [part.mean(axis=0, dtype=float) for part in np.array_split(lines, 8)]
    assert _bands(lines) == pytest.approx(np.array(wanted), abs=1e-6)
