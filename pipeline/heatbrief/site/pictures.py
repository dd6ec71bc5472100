"""Stored arrays and photos to pictures for the site, with the range their colours stand for."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageOps

from heatbrief.errors import UserError
from heatbrief.model.results import RegionRecord, StoredArray, ThermogramRecord
from heatbrief.site.colours import LEVELS, palette, to_indices
from heatbrief.site.levels import Box, Levels
from heatbrief.store.files import checked_name
from heatbrief.store.png import png_bytes
from heatbrief.store.png_reading import grey_counts

MOST_PIXELS = 50_000_000
LONGEST_PHOTO = 1600
CROP_SHARE = 0.28
"""A finding's outline fills about this share of the enlarged part's width or height."""
SMALLEST_CROP = 24
_DARKEST, _LIGHTEST = 40.0, 225.0

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Drawn:
    """One picture file of the site.

    path      where it lies in the site
    box       part of the thermogram shown, (x0, y0, x1, y1), upper ends excluded
    low, high values at the ends of the colours, in `unit`; below, above: True when pixels lie beyond
    """

    path: str
    data: bytes
    width: int
    height: int
    box: Box = (0, 0, 0, 0)
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    below: bool = False
    above: bool = False
    masked: bool = False


@dataclass(frozen=True)
class Pictures:
    """All picture files: of thermograms and photos by thermogram id, enlarged parts by finding id.

    objects  where the stored arrays lie, from which the viewer's values are read one picture at a time
    """

    thermal: dict[str, Drawn]
    photos: dict[str, Drawn]
    crops: dict[str, Drawn]
    scale: Drawn
    photo_failures: frozenset[str] = frozenset()
    objects: Path = Path()

    def files(self) -> Iterable[Drawn]:
        """Every file once."""
        return (*self.thermal.values(), *self.photos.values(), *self.crops.values(), self.scale)


Stored = tuple[np.ndarray, bytes]
"""Counts (height, width), uint16, 0 where masked, and a PNG of them as `png_bytes` writes it."""


def read_counts(array: StoredArray, objects: Path) -> np.ndarray:
    """Stored counts (height, width), uint16; 0 where masked. Raises UserError."""
    quick = _quickly(array, objects)
    return _counts(array, objects) if quick is None else quick[0]


def read_stored(array: StoredArray, objects: Path) -> Stored:
    """Stored counts with a picture file of them. Raises UserError."""
    quick = _quickly(array, objects)
    if quick is not None:
        return quick
    counts = _counts(array, objects)
    return counts, png_bytes(counts)


def _quickly(array: StoredArray, objects: Path) -> Stored | None:
    """A picture as heatbrief writes it; None when it takes the way for all pictures to read it, or refuse it."""
    if not 0 < array.width * array.height <= MOST_PIXELS:
        return None
    try:
        data = (objects / checked_name(array.object)).read_bytes()
    except (OSError, ValueError, UserError):
        return None
    counts = grey_counts(data, array.width, array.height)
    return None if counts is None else (counts, data)


def _counts(array: StoredArray, objects: Path) -> np.ndarray:
    with _opened(objects, array.object) as image:
        counts = np.asarray(image)
    if counts.ndim != 2 or counts.dtype.kind not in "iu" or counts.shape != (array.height, array.width):
        raise UserError.single(
            "picture-damaged",
            array.object,
            f"is not a greyscale picture of {array.width} by {array.height} pixels",
            "Run the survey again; do not edit the objects folder.",
        )
    return counts.astype(np.uint16, copy=False)


def values_of(array: StoredArray, counts: np.ndarray) -> np.ndarray:
    """Values (height, width) in the array's unit, NaN where masked."""
    values = array.low + array.step * (counts.astype(float) - 1.0)
    values[counts == 0] = np.nan
    return values


def withheld_in(array: StoredArray) -> np.ndarray:
    """Pixels (height, width) whose temperature is withheld; their values are relative."""
    mask = np.zeros(array.height * array.width, bool)
    for start, length in array.withheld:
        mask[max(start, 0) : max(start + length, 0)] = True
    return mask.reshape(array.height, array.width)


def colour_range(values: np.ndarray | Levels, places: Iterable[Points]) -> tuple[float, float]:
    """Ends of the colour scale: 1st to 99th percentile, widened so that named places are not cut off."""
    height, width = values.shape
    ends = _percentiles(values, 1, 99)
    if not ends:
        return 0.0, 1.0
    low, high = ends
    for box in dict.fromkeys(bounds_of(points, width, height) for points in places):
        inner = _percentiles(_cut(values, box), 2, 98)
        if inner:
            low, high = min(low, inner[0]), max(high, inner[1])
    if high - low < 1e-3 * max(1.0, abs(high)):
        middle = (low + high) / 2
        low, high = middle - 0.5, middle + 0.5
    return low, high


def draw(
    values: np.ndarray | Levels,
    span: tuple[float, float],
    unit: str,
    path: str,
    box: Box | None = None,
    bare: np.ndarray | None = None,
) -> Drawn:
    """A thermogram or a part of it in colours, pixel for pixel, so that nothing is invented between them.

    bare  pixels (height, width) without a temperature of their own: grey, from their coldest to their warmest
    """
    height, width = values.shape
    box = (0, 0, width, height) if box is None else box
    part = _cut(values, box)
    colours = bytes(palette())
    if isinstance(part, Levels):
        data, masked = png_bytes(part.indices(*span), colours, steady=False), part.masked
        lowest, highest = part.ends()
    else:
        indices, masked = to_indices(part, *span), bool(np.isnan(part).any())
        inside = np.isfinite(part)
        if bare is not None and isinstance(values, np.ndarray) and bare.any():
            grey = _greyed(indices, part, _cut(bare, box), np.percentile(values[bare], (1, 99)))
            data, inside = png_bytes(grey, steady=False), inside & ~_cut(bare, box)
        else:
            data = png_bytes(indices, colours, steady=False)
        lowest, highest = part[inside].min(initial=np.inf), part[inside].max(initial=-np.inf)
    margin = (span[1] - span[0]) / LEVELS
    below, above = bool(lowest < span[0] - margin), bool(highest > span[1] + margin)
    return Drawn(path, data, part.shape[1], part.shape[0], box, unit, *span, below, above, masked)


def _greyed(indices: np.ndarray, values: np.ndarray, bare: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Red, green, blue (height, width, 3) with the bare places in grey, the lighter the warmer."""
    level = np.clip((values - ends[0]) / max(ends[1] - ends[0], 1e-9), 0.0, 1.0)
    pixels: np.ndarray = np.reshape(np.array(palette(), np.uint8), (256, 3))[indices]
    pixels[bare] = np.rint(_DARKEST + (_LIGHTEST - _DARKEST) * level[bare])[:, None].astype(np.uint8)
    return pixels


def draw_photo(objects: Path, name: str, path: str, turn: bool = True) -> Drawn | None:
    """An ordinary photo, smaller, without place, date and maker data; None when it is no readable picture.

    turn  upright as its own data say; False keeps the pixels where an outline was aligned with them
    """
    try:
        with _opened(objects, name) as image:
            photo = (ImageOps.exif_transpose(image) if turn else image).convert("RGB")
    except UserError:
        return None
    width, height = photo.size
    photo.thumbnail((LONGEST_PHOTO, LONGEST_PHOTO))
    stream = io.BytesIO()
    plain = Image.frombytes("RGB", photo.size, photo.tobytes())  # comments and colour profiles would be written again
    plain.save(stream, format="JPEG", quality=82, optimize=True)
    return Drawn(path, stream.getvalue(), photo.width, photo.height, (0, 0, width, height))


def region_points(region: RegionRecord, record: ThermogramRecord) -> Points:
    """Corners of a region's outline; the picture's corners for a whole one."""
    if region.shape == "box" and len(region.points) >= 2:
        xs, ys = zip(*region.points, strict=True)
        return ((min(xs), min(ys)), (max(xs), min(ys)), (max(xs), max(ys)), (min(xs), max(ys)))
    if region.points:
        return region.points
    return ((0, 0), (record.width - 1, 0), (record.width - 1, record.height - 1), (0, record.height - 1))


def bounds_of(points: Points, width: int, height: int) -> Box:
    """Smallest box around points within the picture; at least one pixel."""
    if not points:
        return 0, 0, width, height
    xs, ys = [x for x, _ in points], [y for _, y in points]
    x0, y0 = (int(min(max(edge, 0), size - 1)) for edge, size in ((min(xs), width), (min(ys), height)))
    x1, y1 = (int(min(max(edge + 1, at + 1), size)) for edge, at, size in ((max(xs), x0, width), (max(ys), y0, height)))
    return x0, y0, x1, y1


def crop_box(points: Points, width: int, height: int) -> Box | None:
    """The part to enlarge around an outline, in the proportions of the picture; None when it is most of it."""
    x0, y0, x1, y1 = bounds_of(points, width, height)
    scale = max((x1 - x0) / width, (y1 - y0) / height) / CROP_SHARE
    scale = max(scale, SMALLEST_CROP / max(width, height))
    if scale > 0.7:
        return None
    wide, high = max(round(width * scale), 1), max(round(height * scale), 1)
    left = min(max(round((x0 + x1 - wide) / 2), 0), width - wide)
    top = min(max(round((y0 + y1 - high) / 2), 0), height - high)
    return left, top, left + wide, top + high


def _cut(values: Any, box: Box) -> Any:
    x0, y0, x1, y1 = box
    return values.cut(box) if isinstance(values, Levels) else values[y0:y1, x0:x1]


def _percentiles(values: np.ndarray | Levels, *shares: float) -> tuple[float, ...]:
    """Percentiles of what was read, empty when nothing was."""
    if isinstance(values, Levels):
        return values.percentiles(*shares)
    good = values[np.isfinite(values)]
    return tuple(float(one) for one in np.percentile(good, shares)) if good.size else ()


def _opened(objects: Path, name: str) -> Image.Image:
    """A fully loaded picture among the objects. Raises UserError."""
    if not name or "/" in name or "\\" in name or name.startswith("."):
        raise UserError.single(
            "bad-object-name",
            name,
            "is not the name of a stored picture",
            "The results document was changed; run the survey again.",
        )
    try:
        image = Image.open(objects / name, formats=("PNG", "JPEG", "TIFF", "WEBP"))
        if image.width * image.height > MOST_PIXELS:
            raise ValueError(f"has more than {MOST_PIXELS} pixels")
        image.load()
        return image
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise UserError.single(
            "picture-missing",
            objects / name,
            f"cannot be read: {error}",
            "Keep the objects folder beside results.json, or run the survey again.",
        ) from error


open_picture = _opened


def scale_picture() -> Drawn:
    """The colours themselves, low at the bottom, for the bar beside every picture."""
    entries = np.arange(LEVELS - 1, -1, -1, dtype=np.uint8)[:, None]
    return Drawn("pictures/scale.png", png_bytes(entries, bytes(palette())), 1, LEVELS)
