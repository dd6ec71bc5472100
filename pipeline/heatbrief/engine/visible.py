"""A visible picture made fit for publishing: small, and without anything but its pixels."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from heatbrief.errors import StepError
from heatbrief.store.files import Objects

LONGEST_SIDE = 1280
MOST_PIXELS = 100_000_000
FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "BMP", "GIF")
"""Formats of still pictures. Others are refused, because some are programs for another program to run."""


def small_copy(path: Path | None, objects: Objects) -> dict[str, Any]:
    """Keep a JPEG of at most 1280 pixels a side, upright and without any tags.

    Returns {"object": name, "larger": [x, y]}: how many pixels of the picture as given make one of the copy.

    Raises StepError "visible-unreadable" for anything that is not a picture of sane size.
    """
    from PIL import Image, ImageOps

    remedy = "Correct `visible:` in the manifest, or save the picture as JPEG or PNG."
    if path is None or not path.is_file():
        raise StepError(
            "visible-missing", f"the visible picture{f' {path.name}' if path else ''} is not there.", remedy
        )
    try:
        with Image.open(path, formats=FORMATS) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise StepError(
                    "visible-unreadable",
                    f"the visible picture {path.name} has more than {MOST_PIXELS // 10**6} megapixels.",
                    remedy,
                )
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except StepError:
        raise
    except Exception as error:  # decoders raise errors of every kind on damaged files
        raise StepError(
            "visible-unreadable", f"the visible picture {path.name} cannot be read: {error}", remedy
        ) from error
    width, height = upright.size
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    clean = Image.frombytes("RGB", upright.size, upright.tobytes())
    stream = io.BytesIO()
    clean.save(stream, format="JPEG", quality=82, optimize=True)
    return {"object": objects.put(stream.getvalue(), ".jpg"), "larger": [width / clean.width, height / clean.height]}
