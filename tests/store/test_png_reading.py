"""The quick reader gives what Pillow, an independent decoder, gives, or nothing."""

from __future__ import annotations

import io

import numpy as np
import pytest
from heatbrief.store.png import png_bytes
from heatbrief.store.png_reading import grey_counts
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from PIL import Image

SIDES = st.tuples(st.integers(1, 40), st.integers(1, 40))


def pillow(data: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(data), formats=("PNG",)) as image:
        return np.asarray(image)


@settings(max_examples=150, deadline=None)
@given(pixels=SIDES.flatmap(lambda shape: arrays(np.uint16, shape)))
def test_the_same_pixels_as_another_decoder(pixels: np.ndarray) -> None:
    data, (height, width) = png_bytes(pixels), pixels.shape
    found = grey_counts(data, width, height)
    assert found is not None and found.dtype == np.uint16
    assert np.array_equal(found, pillow(data)) and np.array_equal(found, pixels)


@pytest.mark.parametrize("kind", ["rows alike", "columns alike", "noise"])
def test_every_filter_is_undone(kind: str) -> None:
    rows, columns = np.mgrid[0:200, 0:300]
    pixels = {
        "rows alike": 90 * columns + np.random.default_rng(1).integers(0, 3, (200, 300)),
        "columns alike": 100 * rows + columns // 7,
        "noise": np.random.default_rng(1).integers(0, 65536, (200, 300)),
    }[kind].astype(np.uint16)
    data = png_bytes(pixels)
    found = grey_counts(data, 300, 200)
    assert found is not None and np.array_equal(found, pillow(data))


@settings(max_examples=300, deadline=None)
@given(at=st.integers(0, 10_000), other=st.integers(1, 255))
def test_a_damaged_byte_is_noticed(at: int, other: int) -> None:
    pixels = np.arange(600, dtype=np.uint16).reshape(20, 30)
    data = bytearray(png_bytes(pixels))
    data[at % len(data)] ^= other
    found = grey_counts(bytes(data), 30, 20)
    assert found is None or np.array_equal(found, pixels)


def test_what_is_written_otherwise_is_left_to_others() -> None:
    pixels = np.arange(600, dtype=np.uint16).reshape(20, 30)
    whole, stream = png_bytes(pixels), io.BytesIO()
    Image.fromarray(pixels.astype(np.uint8)).save(stream, "PNG")
    assert grey_counts(stream.getvalue(), 30, 20) is None
    assert grey_counts(whole, 20, 30) is None
    assert all(grey_counts(whole[:end], 30, 20) is None for end in range(len(whole)))
