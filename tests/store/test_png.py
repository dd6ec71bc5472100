"""Pictures as PNG, read back by Pillow, an independent decoder."""

from __future__ import annotations

import io
import sys

import numpy as np
import pytest
from heatbrief.store.png import png_bytes
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from PIL import Image

SIDES = st.tuples(st.integers(1, 40), st.integers(1, 40))
GREY = SIDES.flatmap(lambda shape: st.sampled_from([np.uint8, np.uint16]).flatmap(lambda kind: arrays(kind, shape)))
COLOUR = SIDES.flatmap(lambda shape: arrays(np.uint8, (*shape, 3)))


def read(data: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(data), formats=("PNG",)) as image:
        image.load()
        return np.asarray(image)


@settings(max_examples=150, deadline=None)
@given(pixels=GREY | COLOUR, steady=st.booleans())
def test_another_decoder_reads_the_same_pixels(pixels: np.ndarray, steady: bool) -> None:
    assert np.array_equal(read(png_bytes(pixels, steady=steady)), pixels)


@pytest.mark.parametrize("steady", [True, False])
@pytest.mark.parametrize("missing", [(), ("isal",), ("isal", "imagecodecs")])
def test_it_is_written_without_a_library_too(
    missing: tuple[str, ...], steady: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in missing:
        monkeypatch.setitem(sys.modules, name, None)
    pixels = np.random.default_rng(1).integers(0, 20, (200, 300)).astype(np.uint8)
    data = png_bytes(pixels, steady=steady)
    assert np.array_equal(read(data), pixels)
    assert len(data) < pixels.size


@pytest.mark.parametrize("kind", ["smooth", "noisy", "flat"])
def test_every_filter_is_undone(kind: str) -> None:
    rows, columns = np.mgrid[0:200, 0:300]
    pixels = {
        "smooth": 100 * rows + columns // 7,
        "noisy": np.random.default_rng(1).integers(0, 65536, (200, 300)),
        "flat": np.full((200, 300), 7),
    }[kind].astype(np.uint16)
    data = png_bytes(pixels)
    assert np.array_equal(read(data), pixels)
    assert data == png_bytes(pixels.copy(order="F"))


def test_palette() -> None:
    palette = np.random.default_rng(1).integers(0, 256, (200, 3)).astype(np.uint8)
    places = np.random.default_rng(2).integers(0, 200, (30, 40)).astype(np.uint8)
    with Image.open(io.BytesIO(png_bytes(places, palette.tobytes()))) as image:
        assert image.mode == "P"
        assert np.array_equal(np.asarray(image.convert("RGB")), palette[places])


def test_it_is_no_larger_than_the_usual_way() -> None:
    pixels = (29000 + np.cumsum(np.random.default_rng(1).normal(0, 3, (240, 320)), axis=1)).astype(np.uint16)
    usual = io.BytesIO()
    Image.fromarray(pixels).save(usual, "PNG", compress_level=1)
    assert len(png_bytes(pixels)) < 1.1 * len(usual.getvalue())


@pytest.mark.parametrize(
    "pixels",
    [
        np.zeros((3, 3)),
        np.zeros((0, 3), np.uint8),
        np.zeros((3, 3, 4), np.uint8),
        np.zeros((3, 3, 3), np.uint16),
        np.zeros((3, 3), np.uint32),
        np.zeros(3, np.uint8),
    ],
)
def test_other_arrays_are_refused(pixels: np.ndarray) -> None:
    with pytest.raises(ValueError, match="no PNG"):
        png_bytes(pixels)
