"""The data of the viewer on a picture's page: 16-bit counts, bounds and outlines in a script loaded after the page."""

from __future__ import annotations

import base64
import itertools
import json
from collections.abc import Mapping
from typing import Any

import numpy as np

from heatbrief.model.comparison import PicturePair
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import RegionRecord, StoredArray, ThermogramRecord
from heatbrief.site.changes import Earlier
from heatbrief.site.colours import MAPS, colour_bytes
from heatbrief.site.context import Data, Site
from heatbrief.site.format import conversion, typeset_unit
from heatbrief.site.page import clean
from heatbrief.site.pictures import Drawn, region_points, withheld_in
from heatbrief.store.png import png_bytes

COLOURS = "pictures/colours.js"
SINGLE = ("min", "centre", "max")
"""Statistics that are readings of one pixel; their bounds are those of a pixel of that temperature."""
MOST_OTHERS = 8


def colours_script() -> bytes:
    """The colour maps."""
    return _script("heatbriefColours", {name: base64.b64encode(colour_bytes(name)).decode("ascii") for name in MAPS})


def values_script(about: Data, array: StoredArray | None, counts: np.ndarray, packed: bytes = b"") -> bytes:
    """The values of a picture, counts (height, width) as stored, as a PNG that `png_bytes` writes: 16-bit grey in one piece,
    one filter for all rows. They come last, as they need no look at their letters.

    packed  the counts as such a PNG, if there is one already
    """
    if array is not None and array.withheld:
        counts, packed = np.where(withheld_in(array), np.uint16(0), counts), b""  # no reading where none is given
    head = _script("heatbriefPicture", about).removesuffix(b"});\n")
    return b"".join((head, b',"values":"', base64.b64encode(packed or png_bytes(counts)), b'"});\n'))


def about_picture(site: Site, record: ThermogramRecord, drawn: Drawn) -> Data:
    """What the viewer gets about one picture besides its counts: how they become display values, bounds, outlines."""
    array = record.array
    assert array is not None
    scaled, factor, offset, code = _display(site, record, array)
    return {
        **_stored(record.id, array, factor, offset),
        "scaled": scaled,
        "unit": typeset_unit(code) if scaled else site.words.say("viewer.counts"),
        "difference": typeset_unit(conversion("K", site.units)[2]) if scaled else site.words.say("viewer.counts"),
        "low_end": round(drawn.low * factor + offset, 6),
        "high_end": round(drawn.high * factor + offset, 6),
        "bounds": _knots(record.statistics, factor, offset) if scaled else [],
        "regions": [_region(one, record, scaled, factor, offset) for one in record.regions if one.shape != "whole"],
    }


def about_earlier(site: Site, record: ThermogramRecord, pair: PicturePair) -> Data:
    """The earlier picture as the viewer lays it over this one, besides its counts."""
    array = pair.earlier
    assert array is not None
    _, factor, offset, _ = _display(site, record, array)
    return _stored(_earlier_id(record), array, factor, offset)


def _display(site: Site, record: ThermogramRecord, array: StoredArray) -> tuple[bool, float, float, str]:
    """(whether it has a temperature scale, factor, offset, unit) from stored values to those of the reader."""
    scaled = array.unit == "degC" and record.status != "unscaled"
    return (scaled, *(conversion(array.unit, site.units) if scaled else (1.0, 0.0, "counts")))


def _stored(name: str, array: StoredArray, factor: float, offset: float) -> Data:
    """How the counts of an array become display values: factor * (low + step * (count - 1)) + offset."""
    return {
        "id": name,
        "width": array.width,
        "height": array.height,
        "low": array.low,
        "step": array.step,
        "factor": factor,
        "offset": offset,
    }


def _earlier_id(record: ThermogramRecord) -> str:
    return f"{record.id} before"


def earlier_path(path: str) -> str:
    """Where the script with the values of the earlier picture lies, by that of the later one."""
    return path.removesuffix("-values.js") + "-before-values.js"


def viewer_panel(site: Site, record: ThermogramRecord, earlier: Earlier | None = None) -> Data | None:
    """What the page itself holds for the viewer; None when there are no values to look at."""
    path = site.values_of.get(record.id)
    if path is None:
        return None
    words, photo = site.words, site.pictures.photos.get(record.id)
    matrix = _matrix(record, photo) if photo else []
    return {
        "id": record.id,
        "values": path,
        "colours": COLOURS,
        "say": json.dumps(words.get("viewer.say") | _scale_words(site, record), sort_keys=True),
        "decimal": words.get("numbers.decimal"),
        "maps": [{"value": name, "text": words.say(f"viewer.maps.{name}")} for name in MAPS],
        "photo": photo.path if photo and matrix else "",
        "matrix": json.dumps(matrix),
        "photo_beside": bool(photo and not matrix),
        "others": [*before_data(site, record, earlier), *_others(site, record)],
    }


def _scale_words(site: Site, record: ThermogramRecord) -> dict[str, str]:
    if record.status == "unscaled":
        return {"scale_unscaled": site.words.say("picture.scale_unscaled")}
    return {"scale": site.words.get("picture.scale")}


def before_data(site: Site, record: ThermogramRecord, earlier: Earlier | None) -> list[Data]:
    """The same view in the earlier survey, if there is one that can be laid over this one."""
    pair = earlier.pair(record) if earlier is not None else None
    if earlier is None or pair is None:
        return []
    when = pair.taken or earlier.comparison.before.date or site.words.say("changes.unstated")
    text = site.words.say("viewer.compare_earlier", when=when)
    return [{"id": _earlier_id(record), "values": earlier_path(site.values_of[record.id]), "text": text}]


def others(site: Site, record: ThermogramRecord) -> list[ThermogramRecord]:
    """The first pictures of the same room, size and state."""
    alike = site.alike.get((record.room, record.width, record.height, record.status), ())
    return list(itertools.islice((one for one in alike if one.id != record.id), MOST_OTHERS))


def _others(site: Site, record: ThermogramRecord) -> list[Data]:
    """Pictures of the same room and size that can be laid beside this one, such as the same view at another time."""
    return [
        {
            "id": one.id,
            "values": site.values_of[one.id],
            "text": " · ".join(filter(None, (site.picture_name(one.id), one.taken))),
        }
        for one in others(site, record)
    ]


def _matrix(record: ThermogramRecord, photo: Drawn) -> list[float]:
    """From pixels of the photo as published to pixels of the picture, row by row; empty when nothing says how."""
    if len(record.visible_matrix) != 9 or not np.isfinite(record.visible_matrix).all():
        return []
    smaller = np.diag([(photo.box[2] - photo.box[0]) / photo.width, (photo.box[3] - photo.box[1]) / photo.height, 1.0])
    return [float(f"{one:.9g}") for one in (np.reshape(record.visible_matrix, (3, 3)) @ smaller).ravel()]


def _region(region: RegionRecord, record: ThermogramRecord, scaled: bool, factor: float, offset: float) -> Data:
    points = region.points if region.shape != "whole" else region_points(region, record)
    return {
        "name": clean(region.name),
        "shape": region.shape,
        "points": [[float(x), float(y)] for x, y in points],
        "bounds": _knots(region.statistics, factor, offset) if scaled else [],
    }


def _knots(statistics: Mapping[str, Quantity], factor: float, offset: float) -> list[list[float]]:
    """[value, below, above] in display units of the readings of single pixels, from low to high."""
    found = {}
    for name in SINGLE:
        one = statistics.get(name)
        if one is not None and one.unit == "degC" and one.high > one.low:
            found[round(one.value * factor + offset, 6)] = (one.value - one.low, one.high - one.value)
    return [[value, *(round(width * factor, 6) for width in found[value])] for value in sorted(found)]


def _script(function: str, data: Any) -> bytes:
    """A call with plain data. Only ASCII, and no character that could end a script or start a tag."""
    text = json.dumps(clean(data), ensure_ascii=True, allow_nan=False, sort_keys=True, separators=(",", ":"))
    return f"{function}({text.replace('<', chr(92) + 'u003c')});\n".encode("ascii")
