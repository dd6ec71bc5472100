"""Faults of the synthetic imager: statistics, independence, reproducibility, files."""

from __future__ import annotations

import hashlib
from dataclasses import replace

import numpy as np
import pytest
import tifffile
from heatbrief.testing import Imager, Scene, read_truth, render, write
from heatbrief.testing.parts import ALL, PARTS, Patch, Reflection

BLANK = Scene(
    "blank",
    160,
    120,
    base_c=30.0,
    emissivity=1.0,
    distance_m=1e-9,
    imager=Imager(noise_k=0.0, blur_px=0.0, kelvin_at_0=273.15),
)


def with_imager(**faults) -> Scene:
    return replace(BLANK, imager=replace(BLANK.imager, **faults))


def test_noise_has_the_stated_spread_and_no_pattern():
    residual = render(with_imager(noise_k=0.05, kelvin_per_count=0.001)).reading - 303.15
    n = residual.size
    assert residual.std() == pytest.approx(0.05, rel=4 / np.sqrt(2 * n))
    assert abs(residual.mean()) < 4 * 0.05 / np.sqrt(n)
    neighbours = np.mean(residual[:, 1:] * residual[:, :-1]) / residual.var()
    assert abs(neighbours) < 4 / np.sqrt(n), "neighbours are independent"


def test_noise_in_kelvin_falls_for_hotter_surfaces():
    # same signal noise, steeper radiance: dL/dT at 30 degC over that at 200 degC, band 8-14 um
    hot = render(replace(with_imager(noise_k=0.5), base_c=200.0)).reading.std()
    # W m-2 sr-1 K-1 [computed: K1]; rows for 25 and 37 degC, straight between them
    at_30, at_200 = np.interp(30.0, (25.0, 37.0), (0.823722, 0.915628)), 2.070711
    assert hot == pytest.approx(0.5 * at_30 / at_200, rel=0.02)


def test_rounding_alone_spreads_by_a_step_over_root_twelve():
    # quantisation sd of 100 mK steps is 28.87 mK [computed]
    ramp = tuple(Patch(box=(x - 0.5, -1, 1, 200), rise_k=0.0137 * x) for x in range(160))
    made = render(replace(with_imager(kelvin_per_count=0.1), parts=ramp, oversample=1))
    assert (made.reading - made.apparent).std() == pytest.approx(0.02887, rel=0.05)


def test_column_pattern_is_one_value_per_column():
    residual = render(with_imager(column_k=0.2, kelvin_per_count=0.001)).reading - 303.15
    assert np.ptp(residual, axis=0).max() < 0.0011
    assert residual[0].std() == pytest.approx(0.2, rel=0.2)


def test_shading_is_zero_in_the_middle_and_full_in_the_corners():
    residual = render(with_imager(shading_k=1.0)).reading - 303.15
    assert abs(residual[60, 80]) < 0.02
    assert residual[0, 0] == pytest.approx(1.0, abs=0.02)
    assert residual[-1, -1] == pytest.approx(residual[0, -1], abs=0.02)


def test_bad_pixels_are_counted_and_stuck_at_the_ends():
    made = render(with_imager(bad_share=0.01))
    assert made.truth.bad_pixels == made.bad.sum()
    assert made.bad.sum() == pytest.approx(192, abs=60)
    assert set(np.unique(made.counts[made.bad])) == {0, 65535}
    assert np.abs(made.reading[~made.bad] - 303.15).max() < 0.006


def test_offset_belongs_to_the_camera_and_stays_within_its_accuracy():
    offsets = np.array([Imager(accuracy_k=2.0, camera=number).offset() for number in range(400)])
    assert np.abs(offsets).max() <= 2.0
    assert offsets.std() == pytest.approx(2.0 / np.sqrt(3.0), rel=0.1)  # rectangular distribution, JCGM 100 4.3.7
    one, two = (render(replace(with_imager(accuracy_k=2.0, camera=3), name=name)) for name in ("first", "second"))
    assert one.truth.offset_k == two.truth.offset_k != 0.0
    assert one.reading.mean() - 303.15 == pytest.approx(one.truth.offset_k, abs=0.006)


def test_counts_are_clipped_to_the_recording_range():
    assert (
        render(replace(with_imager(kelvin_at_0=0.0), base_c=500.0)).counts.min() == 65535
    )  # 0.01 K per count from 0 K tops at 382.2 degC


def test_faults_are_drawn_independently():
    """Switching one fault on or off leaves the draws of the others as they were."""
    noise = render(with_imager(noise_k=0.05, kelvin_per_count=0.001)).reading
    both = render(with_imager(noise_k=0.05, shading_k=1.0, kelvin_per_count=0.001)).reading
    shading = render(with_imager(shading_k=1.0, kelvin_per_count=0.001)).reading
    assert np.abs((both - shading) - (noise - 303.15)).max() < 0.003


def test_the_same_scene_gives_the_same_bytes_and_another_seed_does_not(tmp_path):
    scene = replace(
        with_imager(noise_k=0.05, bad_share=0.001),
        parts=(Patch(name="spot", box=(40, 40, 20, 20), rise_k=3.0, defect=True),),
    )
    sums = []
    for number, made in enumerate((render(scene), render(scene), render(replace(scene, seed=2)))):
        folder = tmp_path / str(number)
        folder.mkdir()
        picture, truth = write(made, folder, "spot")
        sums.append((hashlib.sha256(picture.read_bytes()).hexdigest(), hashlib.sha256(truth.read_bytes()).hexdigest()))
    assert sums[0] == sums[1]
    assert sums[0][0] != sums[2][0]


def test_files_can_be_read_back(tmp_path):
    made = render(
        replace(
            BLANK,
            parts=(Patch(name="spot", box=(40, 30, 20, 10), rise_k=3.0, defect=True), Reflection(box=(0, 0, 9, 9))),
        )
    )
    picture, truth = write(made, tmp_path, "spot")
    with tifffile.TiffFile(picture) as file:
        page = file.pages[0]
        assert np.array_equal(page.asarray(), made.counts)
        assert page.compression.name in ("ADOBE_DEFLATE", "DEFLATE")
        assert not {"DateTime", "Software", "ImageDescription"} & {tag.name for tag in page.tags.values()}
    read = read_truth(truth)[0]
    assert [record.name for record in read.defects] == ["spot"]
    assert read.records[0].contrast_k == pytest.approx(3.0)
    assert read.records[0].mask(120, 160).sum() == 200 == read.records[0].pixels


def test_painting_does_not_change_what_it_is_given():
    from heatbrief.testing.rendering import grid_of, paint

    scene = replace(BLANK, mottle_k=0.2)
    fields, _ = paint(scene, grid_of(scene))
    before = [
        array.copy() for array in (fields.kelvin, fields.emissivity, fields.reflected, fields.tone, fields.uneven)
    ]
    for kind in ALL:
        kind(**EXAMPLES.get(kind.kind, {})).paint(fields, grid_of(scene))
        after = (fields.kelvin, fields.emissivity, fields.reflected, fields.tone, fields.uneven)
        assert all(np.array_equal(a, b) for a, b in zip(before, after, strict=True)), kind


EXAMPLES = {
    "patch": {"box": (20, 20, 60, 40), "rise_k": 2.0},
    **{kind: {"box": (20, 20, 60, 40)} for kind in ("reflection", "shade", "sun-patch", "missing-insulation")},
    **{
        kind: {"line": ((10, 60), (90, 60), (150, 20))}
        for kind in ("thermal-bridge", "conductor", "pipe-ridge", "duct", "exhaust-runner")
    },
    "joint": {"line": ((0, 60), (160, 60)), "centre_px": (80, 60), "extra_k": 10},
    "wet-patch": {"centre_px": (80, 60)},
    "warm-spread": {"centre_px": (80, 60)},
    "air-leak": {"start_px": (80, 20), "toward_px": (80, 100)},
    "radiator": {"box": (20, 20, 100, 60), "sludge": 0.4, "air": 0.1, "defect": True},
    "engine-radiator": {"box": (20, 20, 100, 60), "blocked": (0.4, 0.6, 0.2, 0.9), "defect": True},
    "breaker": {"load_a": 16.0},
}


@pytest.mark.parametrize("kind", sorted(PARTS))
@pytest.mark.parametrize("size", [(160, 120), (1, 1), (7, 3)])
def test_every_part_renders_at_any_size(kind, size):
    scene = Scene("part", *size, base_c=24.0, parts=(PARTS[kind](name="it", **EXAMPLES.get(kind, {})),))
    made = render(scene)
    assert made.counts.shape == (size[1], size[0])
    assert np.all(np.isfinite(made.kelvin))
    assert np.all((made.kelvin > 200) & (made.kelvin < 700))
    if size == (160, 120):
        assert made.truth.records[0].pixels > 0
        assert np.ptp(made.kelvin) > 0.05 or kind in ("reflection", "layers")
