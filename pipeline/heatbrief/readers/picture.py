"""Reader of PNG and JPEG pictures: 16-bit counts, 8-bit grey levels, colours with a colour bar; others are refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from heatbrief.api import Context, NoSettings, Step
from heatbrief.errors import StepError
from heatbrief.model.thermogram import Picture
from heatbrief.readers import moment
from heatbrief.readers.assemble import Decoded, assemble, check_size, colour_picture, grey_of, transparent
from heatbrief.readers.colour_bar import recover
from heatbrief.readers.compression import compression_of
from heatbrief.readers.limits import check_file, check_page, check_pixels, damaged, decoding

if TYPE_CHECKING:
    from PIL import Image

_PNG_MAGIC = b"\x89PNG\r\n\x1a\n"
_SIXTEEN = ("I;16", "I;16B", "I;16L", "I")


def read(path: Path, settings: NoSettings, context: Context) -> tuple[Picture, ...]:
    """The picture as counts; StepError "colour-picture" for colours, others for files that cannot be used."""
    check_file(path)
    check_page(context.view.page, 1)
    from PIL import Image

    with decoding("picture"):
        depth = _check_header(path)
        with Image.open(path, formats=("PNG", "JPEG")) as image:
            check_pixels(*image.size)
            if context.view.colour_bar is None:
                decoded = _decode(image, depth)
            else:
                colours, compression = _colours(image), compression_of(image)
    if context.view.colour_bar is None:
        return assemble(decoded, path, context)
    picture = recover(colours, context.view.colour_bar, compression)
    check_size(picture.values, context)
    return (replace(picture, taken=moment.from_name(path.stem)),)


def _check_header(path: Path) -> int:
    """Bits per value. A PNG's size is checked here, before any library looks at it."""
    with path.open("rb") as stream:
        head = stream.read(29)
    if not head.startswith(_PNG_MAGIC):
        return 8
    if len(head) < 29 or head[12:16] != b"IHDR":
        raise damaged("PNG: the header is not complete")
    check_pixels(int.from_bytes(head[16:20], "big"), int.from_bytes(head[20:24], "big"))
    depth, colour = head[24], head[25]
    if depth < 8 and colour == 0:
        raise StepError(
            "picture-layout",
            f"grey pictures of {depth} bits per pixel hold too few levels",
            "Export 16-bit or 8-bit greyscale.",
        )
    if depth == 16 and colour in (2, 6):
        raise colour_picture("PNG, 16 bits for each of red, green and blue")
    if depth == 16 and colour == 4:
        raise StepError("picture-layout", "16-bit grey with transparency is not read", "Export 16-bit greyscale alone.")
    return depth


def _colours(image: Image.Image) -> np.ndarray:
    """Red, green and blue of 0 to 255, (height, width, 3)."""
    if image.mode not in ("L", "P", "RGB", "RGBA", "LA", "PA"):
        raise StepError(
            "picture-layout", f"a colour bar in pictures of the kind {image.mode} is not read", "Export 8-bit colours."
        )
    wide = np.asarray(image.convert("RGBA"))
    if wide[..., 3].min() != wide[..., 3].max():
        raise transparent()
    return wide[..., :3]


def _decode(image: Image.Image, depth: int) -> Decoded:
    mode = image.mode
    if mode in _SIXTEEN and depth == 16:
        return Decoded(np.asarray(image).astype(np.uint16), 16)
    if mode == "L":
        return Decoded(np.array(image, dtype=np.uint8), 8)
    if mode in ("CMYK", "YCbCr", "LAB", "HSV"):
        raise colour_picture(mode)
    if mode not in ("P", "PA", "LA", "RGB", "RGBA"):
        raise StepError("picture-layout", f"pictures of the kind {mode} are not read", "Export 16-bit greyscale.")
    wide = "RGBA" if mode in ("PA", "LA", "RGBA") or "transparency" in image.info else "RGB"
    values, notes = grey_of(np.asarray(image.convert(wide)), f"{image.format}, {mode}")
    return Decoded(values, 8, notes=notes)


STEP = Step(
    name="heatbrief.picture",
    stage="ingest",
    version=2,
    run=read,
    suffixes=(".png", ".jpg", ".jpeg"),
    reads=("view",),
    summary="Reads PNG and JPEG pictures: 16-bit counts, 8-bit grey levels, and colours by their colour bar.",
    status="stable",
    title="reading of PNG and JPEG pictures",
)
