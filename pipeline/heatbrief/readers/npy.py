"""Reader of NPY and NPZ arrays. Headers are checked before memory is taken; pickled objects are never loaded."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import IO

import numpy as np
from numpy.lib import format as npy_format

from heatbrief.api import Context, NoSettings, Step
from heatbrief.errors import StepError
from heatbrief.model.thermogram import Picture
from heatbrief.readers.assemble import Decoded, assemble, grey_of
from heatbrief.readers.limits import (
    MOST_BYTES,
    MOST_PAGES,
    check_file,
    check_page,
    check_pixels,
    damaged,
    decoding,
    truncated,
)

NAMES = ("values", "temperature")
MOST_MEMBERS = 256
_MOST_HEADER = 10_000
_LAYOUT_REMEDY = "Save one 2-D array of numbers (rows, columns), or a 3-D one (pages, rows, columns)."


def read(path: Path, settings: NoSettings, context: Context) -> tuple[Picture, ...]:
    """The array, or the page `context.view.page` of a 3-D one; of an NPZ the only array or the one in `NAMES`."""
    size = check_file(path)
    with decoding("array"), path.open("rb") as stream:
        if stream.read(4) == b"PK\x03\x04":
            decoded = _from_archive(path, context.view.page)
        else:
            stream.seek(0)
            decoded = _from_stream(stream, size, context.view.page)
    return assemble(decoded, path, context)


def _header(stream: IO[bytes]) -> tuple[tuple[int, ...], bool, np.dtype]:
    """(shape, Fortran order, dtype); only the two header versions that plain numbers need."""
    version = npy_format.read_magic(stream)
    if version == (1, 0):
        shape, fortran, dtype = npy_format.read_array_header_1_0(stream, max_header_size=_MOST_HEADER)
    elif version == (2, 0):
        shape, fortran, dtype = npy_format.read_array_header_2_0(stream, max_header_size=_MOST_HEADER)
    else:
        raise StepError("picture-layout", f"array files of version {version} are not read", _LAYOUT_REMEDY)
    if dtype.hasobject or dtype.kind not in "uifb" or dtype.itemsize > 16:
        raise StepError(
            "picture-layout", f"values of the type {dtype.name} are not numbers for each pixel", _LAYOUT_REMEDY
        )
    return shape, fortran, dtype


def _from_stream(stream: IO[bytes], size: int, page: int) -> Decoded:
    """One page of the array that starts here; `size` is the number of bytes from the start to the end."""
    start = stream.tell()
    shape, fortran, dtype = _header(stream)
    channels = len(shape) == 3 and shape[-1] in (3, 4) and min(shape[:2]) > 4
    if len(shape) not in (2, 3) or (len(shape) == 3 and not channels and shape[0] > MOST_PAGES):
        raise StepError("picture-layout", f"the array has the shape {shape}", _LAYOUT_REMEDY)
    rows, columns = shape[:2] if channels or len(shape) == 2 else shape[1:]
    check_pixels(columns, rows)
    pages = 1 if channels or len(shape) == 2 else shape[0]
    check_page(page, pages)
    total = int(np.prod([int(side) for side in shape], dtype=object)) * dtype.itemsize
    if total > MOST_BYTES:
        raise StepError("too-large", f"the array has {total} bytes; the limit is {MOST_BYTES}", "Split it into pages.")
    if stream.tell() - start + total > size:
        raise truncated(f"the array needs {total} bytes")
    values = _values(stream, shape, fortran, dtype, total, page if pages > 1 else 0)
    if not channels:
        return Decoded(values)
    grey, notes = grey_of(values, f"array of shape {shape}")
    return Decoded(grey, notes=notes)


def _values(
    stream: IO[bytes], shape: tuple[int, ...], fortran: bool, dtype: np.dtype, total: int, page: int
) -> np.ndarray:
    paged = len(shape) == 3 and not (shape[-1] in (3, 4) and min(shape[:2]) > 4)
    if paged and not fortran:
        total //= shape[0]
        _skip(stream, total * page)
        shape, paged = shape[1:], False
    data = stream.read(total)
    if len(data) < total:
        raise truncated("the array is not complete")
    values = np.frombuffer(data, dtype=dtype)
    values = values.reshape(shape, order="F" if fortran else "C")
    return values[page] if paged else values


def _skip(stream: IO[bytes], count: int) -> None:
    while count > 0:
        got = len(stream.read(min(count, 1 << 22)))
        if not got:
            raise truncated("the array is not complete")
        count -= got


def _from_archive(path: Path, page: int) -> Decoded:
    with zipfile.ZipFile(path) as archive:
        members = [one for one in archive.infolist() if one.filename.endswith(".npy")]
        if len(archive.infolist()) > MOST_MEMBERS:
            raise StepError("too-large", f"the archive has more than {MOST_MEMBERS} parts", "Save one array alone.")
        chosen = _choose(archive, members)
        if chosen.flag_bits & 1 or chosen.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise damaged("the archive is encrypted or packed in an unusual way")
        with archive.open(chosen) as stream:
            return _from_stream(stream, chosen.file_size, page)


def _choose(archive: zipfile.ZipFile, members: list[zipfile.ZipInfo]) -> zipfile.ZipInfo:
    named = [one for name in NAMES for one in members if one.filename == f"{name}.npy"]
    if named:
        return named[0]
    flat = [one for one in members if _dimensions(archive, one) == 2] or [
        one for one in members if _dimensions(archive, one) == 3
    ]
    if len(flat) == 1:
        return flat[0]
    held = ", ".join(one.filename.removesuffix(".npy")[:40] for one in members[:8]) or "none"
    raise StepError(
        "picture-layout",
        f"the archive does not have exactly one picture array (arrays: {held})",
        f"Name the array {' or '.join(NAMES)}.",
    )


def _dimensions(archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> int:
    if member.flag_bits & 1 or member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return 0
    try:
        with archive.open(member) as stream:
            return len(_header(stream)[0])
    except (StepError, ValueError, EOFError, OSError):
        return 0


STEP = Step(
    name="heatbrief.npy",
    stage="ingest",
    version=1,
    run=read,
    suffixes=(".npy", ".npz"),
    reads=("view",),
    summary="Reads arrays saved as NPY or NPZ, one page of a 3-D array.",
    status="stable",
    title="reading of number arrays",
)
