"""A cheap look at a picture file: its size, and whether its numbers are whole. What cannot be seen is unknown."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, Literal

SUFFIXES = (".tif", ".tiff", ".png", ".csv", ".tsv", ".txt", ".npy", ".npz")
Numbers = Literal["integer", "decimal", "unknown"]

_TEXT_BYTES = 20_000_000
_VIDEOS = {".mp4": "mov", ".mov": "mov", ".mkv": "matroska", ".avi": "avi"}
_MOST_FRAMES = 20_002


@dataclass(frozen=True)
class Glance:
    """size (width, height) in pixels or None; what the numbers look like; `colour`: no single number for each pixel;
    `broken`: certainly no picture.
    """

    size: tuple[int, int] | None = None
    numbers: Numbers = "unknown"
    colour: bool = False
    broken: bool = False


BROKEN = Glance(broken=True)


def glance(path: Path) -> Glance:
    """What can be seen without reading the pixels (text files are read, up to 20 MB)."""
    suffix = path.suffix.lower()
    look = {".tif": _tiff, ".tiff": _tiff, ".png": _png, ".npy": _npy}.get(suffix)
    if suffix in (".csv", ".tsv", ".txt"):
        look = _text
    try:
        found = look(path) if look else Glance()
    except Exception:  # any broken file: the run reports it in full
        return BROKEN
    return found if found.size is None or (min(found.size) >= 1 and max(found.size) <= 10**6) else BROKEN


def page_count(path: Path) -> int:
    """Pages of a TIFF or NPY file, frames of a video; 0 when that cannot be seen."""
    try:
        if path.suffix.lower() in (".tif", ".tiff"):
            import tifffile

            with tifffile.TiffFile(path) as file:
                return len(file.pages)
        if path.suffix.lower() == ".npy":
            shape = _npy_header(path)[0]
            return int(shape[0]) if len(shape) == 3 else 1
        if path.suffix.lower() in _VIDEOS:
            return _frames(path)
    except Exception:  # any broken file: the run reports it in full
        return 0
    return 1 if path.is_file() else 0


def _frames(path: Path) -> int:
    """Frames of a video, counted without decoding, up to more than any reader takes."""
    import av

    with path.open("rb") as file, av.open(file, mode="r", format=_VIDEOS[path.suffix.lower()]) as container:
        packets = container.demux(container.streams.video[0])
        return sum(1 for packet in islice(packets, _MOST_FRAMES) if packet.size)


def _kind(letter: str) -> Numbers:
    return "decimal" if letter == "f" else "integer" if letter in "iu" else "unknown"


def _tiff(path: Path) -> Glance:
    import tifffile

    with tifffile.TiffFile(path) as file:
        page: Any = file.pages[0]
        return Glance(
            (int(page.imagewidth), int(page.imagelength)), _kind(page.dtype.kind if page.dtype is not None else "?")
        )


def _png(path: Path) -> Glance:
    with path.open("rb") as stream:
        head = stream.read(26)
    if head[:8] != b"\x89PNG\r\n\x1a\n" or head[12:16] != b"IHDR":
        return BROKEN
    return Glance(
        (int.from_bytes(head[16:20], "big"), int.from_bytes(head[20:24], "big")), "integer", bool(head[25] & 2)
    )


def _npy_header(path: Path) -> tuple[tuple[int, ...], Any]:
    from numpy.lib import format as npy

    with path.open("rb") as stream:
        version = npy.read_magic(stream)
        read = npy.read_array_header_1_0 if version == (1, 0) else npy.read_array_header_2_0
        shape, _, dtype = read(stream)
    return shape, dtype


def _npy(path: Path) -> Glance:
    shape, dtype = _npy_header(path)
    return Glance((int(shape[-1]), int(shape[-2])) if len(shape) in (2, 3) else None, _kind(dtype.kind))


def _text(path: Path) -> Glance:
    if path.stat().st_size > _TEXT_BYTES:
        return Glance()
    lines = [
        line for line in path.read_text("utf-8-sig").splitlines() if line.strip() and not line.lstrip().startswith("#")
    ]
    rows = [[cell for cell in re.split(r"[,;\t]|\s+", line.strip().rstrip(",;")) if cell] for line in lines]
    while rows and not _numeric(rows[0]):
        rows.pop(0)
    widths = {len(row) for row in rows}
    if not rows or len(widths) != 1 or not all(map(_numeric, rows)):
        return BROKEN
    decimal = any("." in cell or "e" in cell.lower() for row in rows for cell in row)
    return Glance((widths.pop(), len(rows)), "decimal" if decimal else "integer")


def _numeric(row: list[str]) -> bool:
    return all(re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?", cell) for cell in row)
