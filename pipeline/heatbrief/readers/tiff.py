"""Reader of TIFF pictures: whole counts of 8 to 16 bits and floating point values, one page of any number."""

from __future__ import annotations

import logging
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from heatbrief.api import Context, NoSettings, Step
from heatbrief.errors import StepError
from heatbrief.model.thermogram import Picture
from heatbrief.readers import moment
from heatbrief.readers.assemble import Decoded, assemble, colour_picture, grey_of
from heatbrief.readers.limits import (
    MOST_PAGES,
    MOST_PIXELS,
    check_file,
    check_page,
    check_pixels,
    damaged,
    decoding,
    truncated,
)

if TYPE_CHECKING:
    import tifffile

# TIFF 6.0 numbers and those registered for later general codecs: none, LZW, JPEG, deflate (two),
# PackBits, LZMA, Zstandard.
COMPRESSIONS = frozenset({1, 5, 7, 8, 32946, 32773, 34925, 50000})
_WHITE_IS_ZERO, _BLACK_IS_ZERO, _PALETTE = 0, 1, 3
_MOST_EXPANSION = 2
_CIRCLE = 100

# A decoder's remarks on hostile bytes belong into the StepError, not on the user's screen.
logging.getLogger("tifffile").addHandler(logging.NullHandler())


def read(path: Path, settings: NoSettings, context: Context) -> tuple[Picture, ...]:
    """The page `context.view.page` of a TIFF file as one Picture; StepError for anything else."""
    size = check_file(path)
    import tifffile

    with decoding("TIFF"), tifffile.TiffFile(path) as tiff:
        page = _page(tiff, context.view.page)
        _check(page, size)
        values = page.asarray(maxworkers=1)
        taken = moment.from_tag(page.tags.valueof(306))
        decoded = _grey(page, values, taken)
    return assemble(decoded, path, context)


def _page(tiff: tifffile.TiffFile, asked: int) -> tifffile.TiffPage:
    if not 0 <= asked < MOST_PAGES:
        check_page(asked, MOST_PAGES)
    try:
        page: Any = tiff.pages[asked]
        # A chain of pages that runs in a circle gives an earlier page again.
        if any(tiff.pages[number].offset == page.offset for number in range(min(asked, _CIRCLE))):
            page = None
    except IndexError:
        page = None
    if page is None and asked == 0:
        raise damaged("TIFF: it holds no picture at all")
    if page is None:
        # Pages are found one after another, so the count is known only now.
        raise StepError(
            "no-such-page",
            f"page {asked} is asked for and the file has fewer pages, counted from 0",
            "Correct `page` in the manifest.",
        )
    result: tifffile.TiffPage = page
    return result


def _check(page: tifffile.TiffPage, size: int) -> None:
    """Everything that can be known from the tags alone, before memory is taken for the values."""
    check_pixels(page.imagewidth, page.imagelength)
    if page.imagedepth != 1 or page.samplesperpixel > 4 or (page.samplesperpixel > 1 and page.planarconfig != 1):
        raise StepError(
            "picture-layout",
            f"pages of the shape {tuple(page.shape)} are not pictures of one value per pixel",
            "Export one greyscale page for each picture.",
        )
    if int(page.compression) not in COMPRESSIONS:
        raise StepError(
            "unsupported-compression",
            f"TIFF compression {int(page.compression)} is not read",
            "Save without compression, or with LZW, deflate or PackBits.",
        )
    if page.dtype is None or page.dtype.kind not in "uif":
        raise StepError(
            "picture-layout",
            f"{page.bitspersample} bits per value of this kind are not read",
            "Save as 16-bit or 32-bit floating point greyscale.",
        )
    _check_segments(page, size)


def _check_segments(page: Any, size: int) -> None:
    offsets, counts = page.dataoffsets, page.databytecounts
    if not offsets or len(offsets) != len(counts):
        raise damaged("TIFF: the list of strips or tiles is not complete")
    segment = math.prod(int(side) for side in page.chunks)
    if segment < 1 or len(offsets) * segment > 2 * MOST_PIXELS * page.samplesperpixel:
        raise damaged("TIFF: strips or tiles much larger than the picture")
    if len(offsets) < math.prod(int(side) for side in page.chunked):
        raise truncated("TIFF: strips or tiles are missing")
    most = _MOST_EXPANSION * segment * page.dtype.itemsize + 65536
    for offset, count in zip(offsets, counts, strict=True):
        if count <= 0 or offset <= 0:
            raise truncated("TIFF: a strip or tile is missing")
        if offset + count > size:
            raise truncated(f"TIFF: it has {size} bytes, and the picture needs {offset + count}")
        if count > most:
            raise damaged("TIFF: a strip or tile holds more bytes than it can need")


def _grey(page: tifffile.TiffPage, values: np.ndarray, taken: str) -> Decoded:
    """One channel, from greyscale or from colours that are all grey."""
    photometric = int(page.photometric)
    notes: tuple[str, ...] = ()
    layout = f"TIFF, {page.samplesperpixel} values per pixel"
    if photometric == _PALETTE:
        if page.colormap is None or values.ndim != 2 or int(values.max()) >= page.colormap.shape[1]:
            raise damaged("TIFF: the table of colours is not complete")
        colours = np.moveaxis(page.colormap[:, values] >> 8, 0, -1).astype(np.uint8)
        values, notes = grey_of(colours, "TIFF with a table of colours")
        return Decoded(values, 8, taken, notes)
    if values.ndim == 3:
        values, notes = (values[..., 0], ()) if values.shape[-1] == 1 else grey_of(values, layout)
    elif photometric not in (_WHITE_IS_ZERO, _BLACK_IS_ZERO):
        raise colour_picture(layout)
    if photometric == _WHITE_IS_ZERO:
        notes += ("the file says that small counts are shown bright; counts kept as recorded",)
    whole = values.dtype.kind in "ui"
    return Decoded(values, int(page.bitspersample) if whole else None, taken, notes)


STEP = Step(
    name="heatbrief.tiff",
    stage="ingest",
    version=1,
    run=read,
    suffixes=(".tif", ".tiff"),
    reads=("view",),
    summary="Reads TIFF pictures: 8-bit and 16-bit counts, floating point values, any page.",
    status="stable",
    title="reading of TIFF pictures",
)
