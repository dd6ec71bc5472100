"""The data of the viewer on a picture's page: 16-bit counts, bounds and outlines in a script loaded after the page."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from heatbrief.model.comparison import PicturePair
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import RegionRecord, StoredArray, ThermogramRecord
from heatbrief.site.changes import Earlier, earlier_counts
from heatbrief.site.colours import MAPS, colour_bytes
from heatbrief.site.context import Data, Site
from heatbrief.site.format import conversion, typeset_unit
from heatbrief.site.page import clean
from heatbrief.site.pictures import Drawn, read_counts, region_points, withheld_in

COLOURS = "pictures/colours.js"
SINGLE = ("min", "centre", "max")
"""Statistics that are readings of one pixel; their bounds are those of a pixel of that temperature."""
MOST_OTHERS = 8


def viewer_files(site: Site, earlier: Earlier | None = None) -> Iterator[tuple[str, bytes]]:
    """The scripts with the values of every picture and with the colour maps, with their paths, one at a time."""
    if not site.pictures.thermal:
        return
    maps = {name: base64.b64encode(colour_bytes(name)).decode("ascii") for name in MAPS}
    yield COLOURS, _script("heatbriefColours", maps)
    names = site.values_of
    for record in site.results.thermograms:
        if record.id in names and record.array is not None:
            yield names[record.id], _script("heatbriefPicture", picture_data(site, record, record.array))
            pair = earlier.pair(record) if earlier is not None else None
            if earlier is not None and pair is not None:
                data = earlier_data(site, record, earlier, pair)
                yield _earlier_path(names[record.id]), _script("heatbriefPicture", data)


def picture_data(site: Site, record: ThermogramRecord, array: StoredArray) -> Data:
    """What the viewer gets about one picture: counts, how they become display values, bounds, outlines."""
    drawn, counts = site.pictures.thermal[record.id], read_counts(array, site.pictures.objects)
    counts = np.where(withheld_in(array), np.uint16(0), counts)  # no reading where none is given
    scaled = array.unit == "degC" and record.status != "unscaled"
    factor, offset, code = conversion(array.unit, site.units) if scaled else (1.0, 0.0, "counts")
    return {
        "id": record.id,
        "width": array.width,
        "height": array.height,
        "low": array.low,
        "step": array.step,
        "factor": factor,
        "offset": offset,
        "scaled": scaled,
        "unit": typeset_unit(code) if scaled else site.words.say("viewer.counts"),
        "difference": typeset_unit(conversion("K", site.units)[2]) if scaled else site.words.say("viewer.counts"),
        "low_end": round(drawn.low * factor + offset, 6),
        "high_end": round(drawn.high * factor + offset, 6),
        "bounds": _knots(record.statistics, factor, offset) if scaled else [],
        "regions": [_region(one, record, scaled, factor, offset) for one in record.regions if one.shape != "whole"],
        "values": base64.b64encode(counts.astype("<u2").tobytes()).decode("ascii"),
    }


def earlier_data(site: Site, record: ThermogramRecord, earlier: Earlier, pair: PicturePair) -> Data:
    """The earlier picture as the viewer lays it over this one."""
    array = pair.earlier
    assert array is not None
    scaled = array.unit == "degC" and record.status != "unscaled"
    factor, offset, _ = conversion(array.unit, site.units) if scaled else (1.0, 0.0, "counts")
    return {
        "id": _earlier_id(record),
        "width": array.width,
        "height": array.height,
        "low": array.low,
        "step": array.step,
        "factor": factor,
        "offset": offset,
        "values": base64.b64encode(earlier_counts(earlier, pair).astype("<u2").tobytes()).decode("ascii"),
    }


def _earlier_id(record: ThermogramRecord) -> str:
    return f"{record.id} before"


def _earlier_path(path: str) -> str:
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
        "others": [*_before(site, record, earlier), *_others(site, record)],
    }


def _scale_words(site: Site, record: ThermogramRecord) -> dict[str, str]:
    if record.status == "unscaled":
        return {"scale_unscaled": site.words.say("picture.scale_unscaled")}
    return {"scale": site.words.get("picture.scale")}


def _before(site: Site, record: ThermogramRecord, earlier: Earlier | None) -> list[Data]:
    """The same view in the earlier survey."""
    pair = earlier.pair(record) if earlier is not None else None
    if earlier is None or pair is None:
        return []
    when = pair.taken or earlier.comparison.before.date or site.words.say("changes.unstated")
    text = site.words.say("viewer.compare_earlier", when=when)
    return [{"id": _earlier_id(record), "values": _earlier_path(site.values_of[record.id]), "text": text}]


def _others(site: Site, record: ThermogramRecord) -> list[Data]:
    """Pictures of the same room and size that can be laid beside this one, such as the same view at another time."""
    alike = site.alike.get((record.room, record.width, record.height, record.status), ())
    found = [one for one in alike if one.id != record.id]
    return [
        {
            "id": one.id,
            "values": site.values_of[one.id],
            "text": " · ".join(filter(None, (site.picture_name(one.id), one.taken))),
        }
        for one in found[:MOST_OTHERS]
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
