"""A picture before the measurement equation: ends of the recording, bad pixels, what the camera adds, known points."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import cast

import numpy as np

from heatbrief.api import Context
from heatbrief.calibrate.bad_pixels import find_bad_pixels, replaced
from heatbrief.calibrate.carried import seen, with_errors
from heatbrief.calibrate.columns import without_stripes
from heatbrief.calibrate.flat_field import without_shading
from heatbrief.calibrate.known_points import (
    Line,
    Point,
    bend_of,
    count_noise,
    line_through,
    notes_of,
    points_of,
    scaled,
)
from heatbrief.calibrate.saturation import masks_of, places_of, saturation_notes
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.model.thermogram import Picture, Thermogram

_RAW = frozenset({"uint16", "int16"})
"""8-bit pictures have been stretched and sharpened for show, and temperatures have been cleaned by the camera."""
FINER = 8
"""Steps in one recorded count once a pattern has been subtracted: rounding adds a 28th of a count."""

Calibrate = Callable[[Picture, RadianceSettings, Context], Thermogram]


@dataclass(frozen=True)
class Prepared:
    """The picture to calibrate, pixels at the ends of the recording, places (row, column) of bad pixels, notes."""

    picture: Picture
    low: np.ndarray
    high: np.ndarray
    bad: np.ndarray
    notes: tuple[str, ...]


def prepared(picture: Picture, settings: RadianceSettings, context: Context) -> Prepared:
    """The picture without what the camera itself adds, as far as that is known.

    The order matters: ends of the recording and bad pixels are seen in the counts as recorded; the camera's repeating
    pattern goes before the stripes of this one picture.
    """
    low, high = masks_of(picture)
    raw = not picture.kelvin and picture.values.dtype.name in _RAW
    bad: np.ndarray = np.empty((0, 2), np.intp)
    notes: tuple[str, ...] = ()
    if settings.bad_pixels and raw:
        bad = find_bad_pixels(picture.values, settings.bad_pixel_limit)
    if len(bad):
        picture = replace(picture, values=replaced(picture.values, bad))
        low[tuple(bad.T)] = high[tuple(bad.T)] = False
        notes = (f"{len(bad)} bad pixels, each standing alone, replaced by the median of their neighbours",)
    if settings.flat_field and context.camera.flat_field is not None:
        picture, more = without_shading(picture, context.camera.flat_field)
        notes += more
    if settings.stripes and raw and (picture.scale is not None or context.view.known_points):
        picture, more = without_stripes(picture)
        notes += more
    return Prepared(_whole(picture) if raw else picture, low, high, bad, notes)


def _whole(picture: Picture) -> Picture:
    """Counts from which something was subtracted as whole ones of a finer scale, which tables can serve."""
    if picture.scale is None or picture.values.dtype.kind != "f":
        return picture
    step, zero = picture.scale
    return replace(picture, values=np.rint(picture.values * FINER).astype(np.int32), scale=(step / FINER, zero))


def finished(thermogram: Thermogram, ready: Prepared, notes: tuple[str, ...] = ()) -> Thermogram:
    """The thermogram with everything that was found before it: errors, places and counts of pixels, notes."""
    facts = {
        **thermogram.facts,
        "bad_pixels": len(ready.bad),
        "bad_pixel_places": tuple((int(column), int(row)) for row, column in ready.bad),
        **places_of(ready.low, ready.high),
    }
    low, high = int(np.count_nonzero(ready.low)), int(np.count_nonzero(ready.high))
    done = replace(with_errors(thermogram, ready.picture.errors), facts=facts, saturated_low=low, saturated_high=high)
    own = cast(tuple[str, ...], thermogram.facts.get("notes", ()))
    said = (*notes, *own, *ready.notes, *(saturation_notes(done) if low or high else ()))
    return replace(done, facts={**facts, "notes": tuple(dict.fromkeys(said))})


def from_known_points(
    ready: Prepared, settings: RadianceSettings, context: Context, calibrated: Calibrate
) -> tuple[Thermogram, Prepared] | str:
    """A thermogram on a provisional scale and its picture, or the reason why there is none.

    The scale is laid twice: first through the surfaces' own temperatures, which gives the surroundings, then through
    what the camera saw of them by the equation of each surface.
    """
    points = points_of(ready.picture, context.regions, ready.low | ready.high)
    line = line_through(points, bend_of(ready.picture))
    if isinstance(line, str):
        return line
    first = _on(line, ready, settings, context, calibrated)[0]
    line = line_through(tuple(_apparent(one, first, context) for one in points), bend_of(ready.picture))
    if isinstance(line, str):
        return line
    thermogram, done, lost = _on(line, ready, settings, context, calibrated)
    if line.slope < 0.0:
        done = replace(done, low=done.high, high=done.low)  # the highest counts are the coldest
    own = cast(Mapping[str, object], thermogram.facts.get("settings", {}))
    used = {**own, "scale": f"provisional, from {len(points)} known points"}
    facts = {**thermogram.facts, "settings": used, "provisional": True}
    return replace(thermogram, facts=facts), replace(done, notes=(*notes_of(points, line, lost), *done.notes))


def _on(
    line: Line, ready: Prepared, settings: RadianceSettings, context: Context, calibrated: Calibrate
) -> tuple[Thermogram, Prepared, int]:
    """Calibrated on a line; the camera's accuracy plays no part then, and its noise is what the picture shows."""
    picture, lost = scaled(ready.picture, line)
    noise = count_noise(np.asarray(ready.picture.values, np.float64)) * abs(line.slope)
    camera = replace(context.camera, noise=noise, accuracy=0.0, accuracy_percent=0.0)
    return calibrated(picture, settings, replace(context, camera=camera)), replace(ready, picture=picture), lost


def _apparent(point: Point, thermogram: Thermogram, context: Context) -> Point:
    """A point with the temperature the camera saw of it."""
    region, zone = context.region_of(point.name), 0
    if thermogram.zones is not None and region is not None:
        zone = int(np.bincount(thermogram.zones[region.mask(*thermogram.shape)]).argmax())
    equation = thermogram.equations[zone] if thermogram.equations else None
    apparent, slope = seen(np.array([point.kelvin]), equation)
    return replace(point, kelvin=float(apparent[0]), kelvin_standard=point.kelvin_standard / float(slope[0]))
