"""Pictures as PNG (ISO/IEC 15948), a good deal quicker and smaller than by the usual way through zlib."""

from __future__ import annotations

import struct
import zlib
from contextlib import suppress

import numpy as np

SIGNATURE = b"\x89PNG\r\n\x1a\n"
_SAMPLE = 16
"""Every so many rows are looked at when a filter is chosen for the whole picture."""
NONE, SUB, UP = 0, 1, 2
_GREY, _RGB, _PALETTE = 0, 2, 3


def png_bytes(pixels: np.ndarray, palette: bytes = b"", steady: bool = True) -> bytes:
    """A PNG of uint8 or uint16 (height, width) grey levels, uint8 (height, width, 3) colours, or uint8 places in a palette.

    palette  red, green and blue of each entry, at most 256
    steady   equal input gives equal bytes on every machine; False packs three times as quickly, and other processors
             may pack the same pixels into other bytes
    Raises ValueError for other shapes.
    """
    kind = _RGB if pixels.ndim == 3 else _PALETTE if palette else _GREY
    depth = pixels.dtype.itemsize
    if (
        pixels.dtype.kind != "u"
        or not pixels.size
        or (kind == _RGB and (pixels.shape[2] != 3 or depth != 1))
        or depth > (2 if kind == _GREY else 1)
        or pixels.ndim not in (2, 3)
    ):
        raise ValueError(f"no PNG can hold {pixels.dtype} {pixels.shape}")
    height, width = pixels.shape[:2]
    rows = np.ascontiguousarray(pixels, ">u2" if depth == 2 else np.uint8).view(np.uint8).reshape(height, -1)
    data = _deflated(_filtered(rows, depth * (3 if kind == _RGB else 1), kind), steady)
    parts = _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8 * depth, kind, 0, 0, 0))
    if kind == _PALETTE:
        parts += _chunk(b"PLTE", palette)
    return b"".join((SIGNATURE, *parts, *_chunk(b"IDAT", data), *_chunk(b"IEND", b"")))


def _filtered(rows: np.ndarray, step: int, kind: int) -> bytearray:
    """Rows with their filter in front, one for all rows; `step` bytes make a pixel."""
    chosen = NONE if kind == _PALETTE else _best(rows, step)
    filtered = bytearray(rows.shape[0] * (rows.shape[1] + 1))
    lines = np.frombuffer(filtered, np.uint8).reshape(rows.shape[0], -1)
    lines[:, 0] = chosen
    if chosen == SUB:
        lines[:, 1 : 1 + step] = rows[:, :step]
        np.subtract(rows[:, step:], rows[:, :-step], out=lines[:, 1 + step :])
    elif chosen == UP:
        lines[0, 1:] = rows[0]
        np.subtract(rows[1:], rows[:-1], out=lines[1:, 1:])
    else:
        lines[:, 1:] = rows
    return filtered


def _best(rows: np.ndarray, step: int) -> int:
    """The filter after which the fewest different bytes are left, told by the entropy of some rows."""
    some = rows[1::_SAMPLE]
    if some.shape[0] < 1 or rows.shape[1] <= step:
        return NONE
    left = {
        NONE: some[:, step:],
        SUB: some[:, step:] - some[:, :-step],
        UP: (some - rows[0:-1:_SAMPLE][: some.shape[0]])[:, step:],
    }
    return min(left, key=lambda name: (_entropy(left[name], step), name))


def _entropy(data: np.ndarray, step: int) -> float:
    """Bits for each pixel when its bytes are told apart by their place in it."""
    flat, total = data.reshape(-1), 0.0
    places = flat.size // step * step
    for place in range(step):
        counts = np.bincount(flat[place:places:step], minlength=256)
        share = counts[counts > 0] / max(1, places // step)
        total -= float((share * np.log2(share)).sum())
    return total


def _deflated(data: bytearray, steady: bool) -> bytes:
    """A zlib stream (RFC 1950)."""
    with suppress(ImportError):  # no isal for this processor
        if not steady:
            from isal import isal_zlib

            return isal_zlib.compress(data, 2)
    with suppress(ImportError):  # a build of imagecodecs without libdeflate
        from imagecodecs import deflate_encode

        return bytes(deflate_encode(data, level=1))
    return zlib.compress(data, 1)


def _chunk(name: bytes, data: bytes) -> tuple[bytes, ...]:
    """The parts of a chunk, put together once for all chunks."""
    return struct.pack(">I", len(data)), name, data, struct.pack(">I", zlib.crc32(data, zlib.crc32(name)))
