"""Whatever bytes stand in a file, a reader returns a picture or raises StepError, and nothing else."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
import tifffile
from heatbrief.api import Context, NoSettings, StepError, View
from heatbrief.model.thermogram import Picture
from heatbrief.readers import STEPS
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

BY_SUFFIX = {suffix: step for step in STEPS for suffix in step.suffixes}
COUNTS = np.random.default_rng(1).integers(20000, 40000, (24, 32)).astype(np.uint16)
KELVIN = (COUNTS / 100.0).astype(np.float32)


def tiff_bytes(values: np.ndarray, **options) -> bytes:
    stream = io.BytesIO()
    tifffile.imwrite(stream, values, **options)
    return stream.getvalue()


def image_bytes(values: np.ndarray, kind: str) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(values).save(stream, kind)
    return stream.getvalue()


def array_bytes(save, values: np.ndarray) -> bytes:
    stream = io.BytesIO()
    save(stream, values)
    return stream.getvalue()


def text_bytes(delimiter: str, encoding: str) -> bytes:
    return "\n".join(delimiter.join(f"{value:.2f}" for value in row) for row in KELVIN[:8]).encode(encoding)


SAMPLES = {
    "plain.tif": tiff_bytes(COUNTS),
    "big.tif": tiff_bytes(COUNTS, bigtiff=True),
    "float.tif": tiff_bytes(KELVIN, compression="zlib", predictor=3),
    "deflate.tif": tiff_bytes(COUNTS, compression="zlib", predictor=2, byteorder=">"),
    "lzw.tif": tiff_bytes(COUNTS, compression="lzw"),
    "packbits.tif": tiff_bytes(COUNTS, compression="packbits", rowsperstrip=3),
    "tiled.tif": tiff_bytes(COUNTS, tile=(16, 16), compression="zstd"),
    "jpeg.tif": tiff_bytes((COUNTS >> 8).astype(np.uint8), compression="jpeg"),
    "pages.tif": tiff_bytes(np.stack([COUNTS] * 3), photometric="minisblack"),
    "palette.tif": tiff_bytes(
        (COUNTS >> 8).astype(np.uint8), photometric="palette", colormap=np.zeros((3, 256), np.uint16)
    ),
    "a.png": image_bytes(COUNTS, "PNG"),
    "grey.png": image_bytes((COUNTS >> 8).astype(np.uint8), "PNG"),
    "a.jpg": image_bytes((COUNTS >> 8).astype(np.uint8), "JPEG"),
    "a.npy": array_bytes(np.save, KELVIN),
    "a.npz": array_bytes(np.savez_compressed, KELVIN),
    "a.csv": text_bytes(",", "utf-8"),
    "utf16.csv": text_bytes(";", "utf-16"),
    "a.tsv": text_bytes("\t", "utf-8-sig"),
}
VIEWS = (View(), View(scale=(0.01, 0.0)), View(values_unit="degC"), View(page=1))


def survives(name: str, data: bytes, view: View, folder: Path) -> None:
    path = folder / name
    path.write_bytes(data)
    try:
        (picture,) = BY_SUFFIX[path.suffix].run(path, NoSettings(), Context(view=view))
    except StepError as error:
        assert error.code and error.message
        return
    assert isinstance(picture, Picture) and picture.values.ndim == 2 and picture.values.size
    assert np.isfinite(picture.values).any() and not np.isinf(picture.values).any()


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("hostile")


@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples_themselves_are_read(name, folder):
    (folder / name).write_bytes(SAMPLES[name])
    (picture,) = BY_SUFFIX[Path(name).suffix].run(folder / name, NoSettings(), Context(view=View()))
    assert picture.values.shape[1] == 32


@pytest.mark.parametrize("name", SAMPLES)
@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_cut_and_changed_bytes(name, folder, data):
    sample = bytearray(SAMPLES[name])
    # Headers decide most, so half of the changes fall into the first or last 400 bytes.
    edge = min(400, len(sample))
    place = st.one_of(
        st.integers(0, len(sample) - 1), st.integers(0, edge - 1), st.integers(len(sample) - edge, len(sample) - 1)
    )
    for at, value in data.draw(st.lists(st.tuples(place, st.integers(0, 255)), max_size=6)):
        sample[at] = value
    cut = data.draw(st.one_of(st.just(len(sample)), st.integers(1, len(sample))))
    survives(name, bytes(sample[:cut]), data.draw(st.sampled_from(VIEWS)), folder)


@pytest.mark.parametrize("name", ["a.tif", "a.png", "a.jpg", "a.npy", "a.npz", "a.csv"])
@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(data=st.binary(min_size=1, max_size=400))
def test_random_bytes(name, folder, data):
    survives(name, data, View(), folder)


@settings(max_examples=200, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(text=st.text(alphabet="0123456789.,;- \t\n\r\"'eE+nanifx_°\x00", min_size=1, max_size=120))
def test_random_tables(folder, text):
    survives("a.csv", text.encode(), View(values_unit="degC"), folder)


@pytest.mark.parametrize("name", SAMPLES)
def test_another_format_behind_the_name(name, folder):
    own = {".jpg": ".png", ".npz": ".npy", ".tsv": ".csv"}
    for suffix in (".tif", ".png", ".npy", ".csv"):
        if suffix != own.get(Path(name).suffix, Path(name).suffix):
            (folder / f"wrong{suffix}").write_bytes(SAMPLES[name])
            with pytest.raises(StepError):
                BY_SUFFIX[suffix].run(folder / f"wrong{suffix}", NoSettings(), Context())


def test_a_tiff_without_any_page_is_damaged_not_a_matter_of_the_manifest(tmp_path):
    path = tmp_path / "broken.tiff"
    path.write_bytes(b"II*\0garbage")
    with pytest.raises(StepError) as fault:
        BY_SUFFIX[".tiff"].run(path, NoSettings(), Context(view=View()))
    assert fault.value.code == "damaged" and "page" not in fault.value.remedy
