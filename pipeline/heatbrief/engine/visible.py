"""Ordinary pictures made fit for publishing: small, and without anything but their pixels."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heatbrief.errors import StepError
from heatbrief.store.files import Objects

if TYPE_CHECKING:
    from PIL import Image

LONGEST_SIDE = 1280
MOST_PIXELS = 100_000_000
FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "BMP", "GIF")
"""Formats of still pictures. Others are refused, because some are programs for another program to run."""
DRAWN_COLOURS = 256
"""A drawing of so few colours is kept without loss."""


def small_copy(path: Path | None, objects: Objects) -> dict[str, Any]:
    """Keep a JPEG of at most 1280 pixels a side, upright and without any tags.

    Returns {"object": name, "larger": [x, y]}: how many pixels of the picture as given make one of the copy.

    Raises StepError "visible-unreadable" for anything that is not a picture of sane size.
    """
    remedy = "Correct `visible:` in the manifest, or save the picture as JPEG or PNG."
    if path is None or not path.is_file():
        raise StepError(
            "visible-missing", f"the visible picture{f' {path.name}' if path else ''} is not there.", remedy
        )
    try:
        upright = _upright(path)
    except _TooLarge as error:
        raise StepError("visible-unreadable", f"the visible picture {path.name} {error}.", remedy) from error
    except Exception as error:  # decoders raise errors of every kind on damaged files
        raise StepError(
            "visible-unreadable", f"the visible picture {path.name} cannot be read: {error}", remedy
        ) from error
    width, height = upright.size
    clean = _reduced(upright)
    return {"object": objects.put(_jpeg(clean), ".jpg"), "larger": [width / clean.width, height / clean.height]}


def floor_copy(path: Path, places: Mapping[str, tuple[float, float]], objects: Objects) -> dict[str, Any]:
    """Keep a drawing of the property as `small_copy` keeps a photo; one of few colours as PNG, without loss.

    Returns {"object", "width", "height", "places"}; places as shares of width and height.
    Raises StepError "floor-picture" for what is no picture, "floor-place" for a place that is not on it.
    """
    remedy = "Correct `picture:` under `floors:`, or save the drawing as PNG or JPEG."
    if not path.is_file():
        raise StepError("floor-picture", f"the drawing {path.name} is not there.", remedy)
    try:
        upright = _upright(path)
    except _TooLarge as error:
        raise StepError("floor-picture", f"the drawing {path.name} {error}.", remedy) from error
    except Exception as error:  # decoders raise errors of every kind on damaged files
        raise StepError("floor-picture", f"the drawing {path.name} cannot be read: {error}", remedy) from error
    width, height = upright.size
    beyond = sorted(name for name, (x, y) in places.items() if not (0 <= x < width and 0 <= y < height))
    if beyond:
        raise StepError(
            "floor-place",
            f"{', '.join(beyond[:5])}: this place is not on the drawing {path.name} of {width} x {height} pixels.",
            "Give [x, y] in pixels of the drawing, counted from its top left.",
        )
    clean = _reduced(upright)
    few = clean.getcolors(DRAWN_COLOURS) is not None
    name = objects.put(_png(clean), ".png") if few else objects.put(_jpeg(clean), ".jpg")
    shares = {one: [round(x / width, 5), round(y / height, 5)] for one, (x, y) in places.items()}
    return {"object": name, "width": clean.width, "height": clean.height, "places": shares}


class _TooLarge(ValueError):
    """More pixels than are decoded."""


def _upright(path: Path) -> Image.Image:
    """Decoded, in three colours, turned as its tags say."""
    from PIL import Image, ImageOps

    with Image.open(path, formats=FORMATS) as picture:
        if picture.width * picture.height > MOST_PIXELS:
            raise _TooLarge(f"has more than {MOST_PIXELS // 10**6} megapixels")
        upright = ImageOps.exif_transpose(picture)
        if "A" in upright.getbands() or "transparency" in upright.info:  # a clear ground is paper, not black
            clear = upright.convert("RGBA")
            paper = Image.new("RGBA", clear.size, "white")
            return Image.alpha_composite(paper, clear).convert("RGB")
        return upright.convert("RGB")


def _reduced(upright: Image.Image) -> Image.Image:
    """At most LONGEST_SIDE pixels a side, rebuilt from the pixels alone."""
    from PIL import Image

    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    return Image.frombytes("RGB", upright.size, upright.tobytes())


def _jpeg(picture: Image.Image) -> bytes:
    stream = io.BytesIO()
    picture.save(stream, format="JPEG", quality=82, optimize=True)
    return stream.getvalue()


def _png(picture: Image.Image) -> bytes:
    stream = io.BytesIO()
    picture.quantize(DRAWN_COLOURS).save(stream, format="PNG", optimize=True)
    return stream.getvalue()
