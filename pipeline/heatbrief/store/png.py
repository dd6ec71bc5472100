"""Pictures to PNG by libdeflate: as small as the slow settings of other encoders, and quicker than their quick ones."""

from __future__ import annotations

import struct
import zlib

import numpy as np

GREY, COLOUR, PALETTE = 0, 2, 3
"""Colour types of PNG (W3C, Portable Network Graphics, section 11.2.1) [memory]."""


def png_bytes(pixels: np.ndarray, palette: bytes = b"", level: int = 1) -> bytes:
    """The file of a picture, the same bytes for the same pixels.

    pixels   (height, width) uint8 or uint16 grey levels, (height, width, 3) uint8 red, green, blue,
             or with a palette (height, width) uint8 entries of it
    palette  red, green, blue of each entry
    level    effort of the compression, 1 to 12
    """
    from imagecodecs import deflate_encode

    height, width = pixels.shape[:2]
    kind = PALETTE if palette else COLOUR if pixels.ndim == 3 else GREY
    wide = pixels.dtype == np.uint16
    rows = np.ascontiguousarray(pixels, ">u2" if wide else np.uint8).view(np.uint8).reshape(height, -1)
    lines = np.zeros((height, rows.shape[1] + 1), np.uint8)  # each row begins with the filter it went through: none
    lines[:, 1:] = rows
    head = struct.pack(">IIBBBBB", width, height, 16 if wide else 8, kind, 0, 0, 0)
    parts = [(b"IHDR", head), (b"PLTE", palette), (b"IDAT", bytes(deflate_encode(lines, level=level))), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(_part(name, data) for name, data in parts if data or name == b"IEND")


def _part(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(data, zlib.crc32(name)))
