"""What is seen of picture files without reading them; the files are written by the libraries of their formats."""

from __future__ import annotations

import numpy as np
import pytest
import tifffile
from heatbrief.manifest.glance import BROKEN, Glance, glance, page_count
from PIL import Image


def write(path, shape, kind="uint16", version=None):
    array = np.zeros(shape, kind)
    if path.suffix == ".npy":
        with path.open("wb") as stream:
            np.lib.format.write_array(stream, array, version=version)
    elif path.suffix.lower().startswith(".tif"):
        tifffile.imwrite(path, array, photometric="minisblack")
    else:
        Image.fromarray(array).save(path)
    return path


@pytest.mark.parametrize(
    ("name", "shape", "kind", "numbers", "colour"),
    [
        ("a.tiff", (3, 5), "uint16", "integer", False),
        ("a.TIF", (3, 5), "float32", "decimal", False),
        ("a.npy", (3, 5), "float64", "decimal", False),
        ("a.npy", (7, 3, 5), "int16", "integer", False),
        ("a.npy", (3, 5), "bool", "unknown", False),
        ("a.png", (3, 5), "uint8", "integer", False),
        ("a.png", (3, 5), "uint16", "integer", False),
        ("a.png", (3, 5, 3), "uint8", "integer", True),
        ("a.png", (3, 5, 4), "uint8", "integer", True),
    ],
)
def test_size_and_kind_of_numbers(tmp_path, name, shape, kind, numbers, colour):
    assert glance(write(tmp_path / name, shape, kind)) == Glance((5, 3), numbers, colour)


@pytest.mark.parametrize("version", [(1, 0), (2, 0)])
def test_both_forms_of_array_files(tmp_path, version):
    path = write(tmp_path / "a.npy", (4, 3, 5), version=version)
    assert glance(path).size == (5, 3) and page_count(path) == 4


@pytest.mark.parametrize(("shape", "pages"), [((5,), 1), ((3, 5), 1), ((2, 3, 5), 2), ((2, 2, 3, 5), 1)])
def test_pages_of_array_files(tmp_path, shape, pages):
    path = write(tmp_path / "a.npy", shape)
    assert page_count(path) == pages
    assert glance(path).size == ((5, 3) if len(shape) in (2, 3) else None)


def test_pages_of_other_files(tmp_path):
    assert page_count(write(tmp_path / "a.TIFF", (6, 3, 5))) == 6
    assert page_count(write(tmp_path / "a.png", (3, 5), "uint8")) == 1
    (tmp_path / "b.tiff").write_bytes(b"II*\0")
    (tmp_path / "b.mp4").write_bytes(b"no video")
    for name in ("b.tiff", "b.mp4", "none.png", "none.npy"):
        assert page_count(tmp_path / name) == 0


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("1,2,3\n4,5,6\n", Glance((3, 2), "integer")),
        ("1;2;3\n", Glance((3, 1), "integer")),
        ("1\t2\n3\t4.5\n", Glance((2, 2), "decimal")),
        ("  1   2 \n\n# note\n 3 4e0\n", Glance((2, 2), "decimal")),
        ("a,b\n-1,+2\n3,4,\n", Glance((2, 2), "integer")),
        (".5 1\n", Glance((2, 1), "decimal")),
        ("1,2\n3\n", BROKEN),
        ("1,2\nx,y\n", BROKEN),
        ("a,b\n", BROKEN),
        ("", BROKEN),
        ("\ufeff1 2\n", Glance((2, 1), "integer")),
    ],
)
def test_tables_of_numbers(tmp_path, text, seen):
    for suffix in (".csv", ".TXT", ".tsv"):
        path = tmp_path / f"a{suffix}"
        path.write_text(text, "utf-8")
        assert glance(path) == seen


def test_tables_of_more_than_20_megabytes_are_not_read(tmp_path, monkeypatch):
    path = tmp_path / "a.csv"
    path.write_text("1,2\n" * 5)
    monkeypatch.setattr("heatbrief.manifest.glance._TEXT_BYTES", 20)
    assert glance(path).size == (2, 5)
    path.write_text("1,2\n" * 5 + "\n")
    assert glance(path) == Glance()


def header(width, height, kind=0):
    """The first 26 bytes of a PNG file (ISO/IEC 15948): signature, length, IHDR, width, height, depth, colour."""
    return b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + width.to_bytes(4, "big") + height.to_bytes(4, "big") + bytes([8, kind])


@pytest.mark.parametrize(
    ("width", "height", "size"),
    [(1, 1, (1, 1)), (10**6, 1, (10**6, 1)), (10**6 + 1, 1, None), (0, 5, None), (5, 0, None), (70000, 3, (70000, 3))],
)
def test_sizes_that_no_picture_has_are_not_believed(tmp_path, width, height, size):
    (tmp_path / "a.png").write_bytes(header(width, height))
    assert glance(tmp_path / "a.png").size == size


@pytest.mark.parametrize(
    "data", [b"", b"no", b"X" + header(3, 5)[1:], header(3, 5).replace(b"IHDR", b"IDAT"), header(3, 5)[:25]]
)
def test_what_is_no_png_is_broken(tmp_path, data):
    (tmp_path / "a.png").write_bytes(data)
    assert glance(tmp_path / "a.png") == BROKEN


@pytest.mark.parametrize(("kind", "colour"), [(0, False), (2, True), (3, True), (4, False), (6, True)])
def test_colour_types_of_png(tmp_path, kind, colour):
    """ISO/IEC 15948: bit 1 of the colour type says that colour is used."""
    (tmp_path / "a.png").write_bytes(header(3, 5, kind))
    assert glance(tmp_path / "a.png").colour is colour


def test_other_files_are_unknown(tmp_path):
    for name in ("a.jpg", "a.npz", "a"):
        assert glance(tmp_path / name) == Glance()
    assert glance(tmp_path / "none.tiff") == BROKEN
