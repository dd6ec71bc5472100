"""NPY and NPZ: pages, choice of the array, refusals before memory is taken."""

from __future__ import annotations

import io
import pickle
import zipfile

import numpy as np
import pytest


@pytest.mark.parametrize("dtype", ["u1", "<u2", ">u2", "i2", "<f4", ">f8", "f2", "u4", "i8", "?"])
@pytest.mark.parametrize("order", ["C", "F"])
def test_arrays(tmp_path, counts, read, dtype, order):
    values = np.asarray((counts // 300).astype(dtype), order=order)
    np.save(tmp_path / "a.npy", values)
    picture = read(tmp_path / "a.npy")
    np.testing.assert_array_equal(picture.values, values)
    assert picture.values.dtype.isnative


@pytest.mark.parametrize("order", ["C", "F"])
def test_pages(tmp_path, counts, read, refused, order):
    stack = np.asarray(np.stack([counts, counts + 1, counts + 2]), order=order)
    np.save(tmp_path / "a.npy", stack)
    np.testing.assert_array_equal(read(tmp_path / "a.npy", page=1).values, counts + 1)
    assert refused(tmp_path / "a.npy", page=3) == "no-such-page"


def test_archives_give_the_named_or_the_only_array(tmp_path, counts, read, refused):
    np.savez(tmp_path / "named.npz", other=counts, temperature=counts + 5)
    np.savez_compressed(tmp_path / "only.npz", heat=counts, times=np.arange(3.0))
    np.savez(tmp_path / "two.npz", a=counts, b=counts)
    np.testing.assert_array_equal(read(tmp_path / "named.npz").values, counts + 5)
    np.testing.assert_array_equal(read(tmp_path / "only.npz").values, counts)
    assert refused(tmp_path / "two.npz") == "picture-layout"


class Trap:
    """Calls a function when it is unpickled."""

    def __reduce__(self):
        return (exec, ("raise SystemExit('unpickled')",))


def test_pickled_objects_are_never_loaded(tmp_path, refused):
    np.save(tmp_path / "a.npy", np.array([[Trap(), 1], [2, 3]], dtype=object), allow_pickle=True)
    assert refused(tmp_path / "a.npy") == "picture-layout"
    (tmp_path / "b.npy").write_bytes(pickle.dumps(Trap()))
    assert refused(tmp_path / "b.npy") == "damaged"


@pytest.mark.parametrize(
    ("dtype", "code"), [("c8", "picture-layout"), ("U3", "picture-layout"), ("M8[s]", "picture-layout")]
)
def test_other_kinds_of_values(tmp_path, refused, dtype, code):
    np.save(tmp_path / "a.npy", np.zeros((4, 4), dtype))
    assert refused(tmp_path / "a.npy") == code


def header(shape: str, descr: str = "<f8") -> bytes:
    text = f"{{'descr': '{descr}', 'fortran_order': False, 'shape': {shape}, }}".encode()
    return b"\x93NUMPY\x01\x00" + len(text).to_bytes(2, "little") + text


@pytest.mark.parametrize(
    ("shape", "code"),
    [
        ("(100000, 100000)", "too-large"),
        ("(5000, 5000)", "truncated"),
        ("(0, 5)", "damaged"),
        ("(-4, -4)", "damaged"),
        ("(7,)", "picture-layout"),
        ("(99999, 600, 800)", "too-large"),
        ("(2**70, 2)", "damaged"),
        ("(True, 4)", "damaged"),
    ],
)
def test_headers_that_lie(tmp_path, refused, shape, code):
    (tmp_path / "a.npy").write_bytes(header(shape) + bytes(64))
    assert refused(tmp_path / "a.npy") == code


def test_an_archive_that_unpacks_without_bound_is_refused(tmp_path, refused):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("values.npy", header("(30000, 30000)") + bytes(10_000_000))
    (tmp_path / "a.npz").write_bytes(stream.getvalue())
    assert refused(tmp_path / "a.npz") == "too-large"


def test_colours_in_an_array(tmp_path, counts, read, refused):
    grey = (counts >> 8).astype(np.uint8)
    np.save(tmp_path / "a.npy", np.stack([grey, grey[::-1], grey], axis=-1))
    np.save(tmp_path / "b.npy", np.stack([grey] * 3, axis=-1))
    assert refused(tmp_path / "a.npy") == "colour-picture"
    np.testing.assert_array_equal(read(tmp_path / "b.npy").values, grey)
