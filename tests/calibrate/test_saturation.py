"""Ends of the recording range: found, carried with the picture, said with every number they touch."""

from __future__ import annotations

import numpy as np
from heatbrief.calibrate.saturation import ends_of, saturated, saturation_notes
from heatbrief.calibrate.statistics import statistics
from heatbrief.model.thermogram import Picture
from heatbrief.testing import masked

ROWS, COLUMNS = 60, 80


def counts(top: int = 65535, noise: float = 6.0) -> np.ndarray:
    """A warm target in the middle of a noisy scene, cut off at `top`."""
    y, x = np.mgrid[:ROWS, :COLUMNS]
    warm = 14000 + 6000 * np.exp(-((x - 40) ** 2 + (y - 30) ** 2) / 120.0)
    return np.minimum(warm + np.random.default_rng(3).normal(0, noise, warm.shape), top).round().astype(np.uint16)


def test_the_format_s_own_end():
    picture = Picture(counts(), False, None, 0.0, 65535.0)
    assert ends_of(picture) == (0.0, 65535.0)


def test_a_recording_that_ends_below_its_format():
    """14-bit counts in a 16-bit file end at 16383 = 2^14 - 1."""
    assert ends_of(Picture(counts(16383), False, None, 0.0, 65535.0)) == (0.0, 16383.0)
    low = (30000 - counts(16383)).astype(np.uint16)
    assert ends_of(Picture(low, False, None, 0.0, 65535.0)) == (30000.0 - 16383.0, 65535.0)


def test_a_flat_top_of_a_drawn_scene_is_not_saturation():
    drawn = np.full((ROWS, COLUMNS), 14000, np.uint16)
    drawn[20:40, 20:40] = 16000
    assert ends_of(Picture(drawn, False, None, 0.0, 65535.0)) == (0.0, 65535.0)


def test_numbers_that_saturation_touches_say_so(thermogram):
    found = thermogram(Picture(counts(16383), False, (0.02, 0.0), 0.0, 65535.0))
    low, high = saturated(found)
    true = counts() >= 16383
    assert not low.any() and np.array_equal(high, true) and found.saturated_high == true.sum() > 50
    whole = statistics(found)
    assert "at least this" in whole["max"].method and "at least this" in whole["mean"].method
    assert "at least" not in whole["min"].method and "at least" not in whole["median"].method
    inside, outside = np.zeros_like(high), np.zeros_like(high)
    inside[28:33, 38:43], outside[:10, :10] = True, True
    assert "at least this" in statistics(found, inside)["median"].method
    assert "at least" not in statistics(found, outside)["max"].method
    assert {one.method[:13] for name, one in statistics(found, high).items() if name != "centre"} == {"at least this"}
    assert len(saturation_notes(found, inside)) == 1 and saturation_notes(found, outside) == ()
    assert any("upper end of the recording range" in note for note in found.facts["notes"])


def test_the_lower_end_reads_at_most(thermogram):
    values = counts()
    values[:5, :7] = 0
    found = thermogram(Picture(values, False, (0.02, 0.0), 0.0, 65535.0), settings={"bad_pixels": False})
    assert found.saturated_low == 35
    # 0 counts are 0 K: no possible temperature, so these pixels are masked and no minimum is taken from them.
    assert "at most" not in statistics(found)["min"].method
    assert "at most" in statistics(thermogram(Picture(values, False, (0.002, 260.0), 0.0, 65535.0)))["min"].method


def test_a_replaced_pixel_is_no_longer_at_the_end(thermogram):
    values = counts()
    values[5, 5] = 65535
    found = thermogram(Picture(values, False, (0.01, 0.0), 0.0, 65535.0))
    assert found.facts["bad_pixels"] == 1 and found.saturated_high == 0


def test_places_survive_the_store_and_masking(thermogram, tmp_path):
    import json

    from heatbrief.store.arrays import keep_thermogram, load_thermogram
    from heatbrief.store.codec import to_json
    from heatbrief.store.files import ObjectStore

    found = thermogram(Picture(counts(16383), False, (0.02, 0.0), 0.0, 65535.0))
    store = ObjectStore(tmp_path)
    back = load_thermogram(store, json.loads(to_json(keep_thermogram(store, found))))
    assert np.array_equal(saturated(back)[1], saturated(found)[1])
    assert "at least" not in statistics(masked(found, saturated(found)[1]))["max"].method


def test_unscaled_counts_say_it_too(thermogram):
    found = thermogram(Picture(counts(16383), False, None, 0.0, 65535.0))
    assert statistics(found)["max"].method.startswith("at least this")
