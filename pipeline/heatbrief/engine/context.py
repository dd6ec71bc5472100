"""The manifest's facts as the contexts that steps receive."""

from __future__ import annotations

from heatbrief.api.context import Camera, ColourBar, Context, Rectangle, View
from heatbrief.manifest.schema import (
    COUNTS,
    CameraEntry,
    ColourBarEntry,
    Manifest,
    RegionEntry,
    ScaleEntry,
    ThermogramEntry,
)
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region, Shape

CELSIUS = 273.15
WHOLE = 1e-6


def survey_context(manifest: Manifest) -> Context:
    """Facts for steps that look at the whole survey."""
    views = {entry.id: view_of(entry) for entry in manifest.thermograms}
    regions = tuple(region for entry in manifest.thermograms for region in regions_of(entry))
    return Context(
        property=manifest.property.name,
        conditions=manifest.conditions,
        camera=camera_of(manifest.camera),
        views=views,
        regions=regions,
        prices=manifest.prices,
        currency=manifest.currency,
        bill=manifest.bill,
    )


def thermogram_context(manifest: Manifest, entry: ThermogramEntry) -> Context:
    """Facts for steps that look at one picture: its own conditions win over the survey's."""
    conditions = manifest.conditions if entry.conditions is None else entry.conditions.over(manifest.conditions)
    return Context(
        property=manifest.property.name,
        conditions=conditions,
        camera=camera_of(manifest.camera),
        view=view_of(entry),
        regions=regions_of(entry),
        facts=entry.facts,
        prices=manifest.prices,
        currency=manifest.currency,
    )


def camera_of(entry: CameraEntry) -> Camera:
    """The camera as plain numbers."""
    return Camera(
        field_of_view=_pair(entry.field_of_view),
        noise=_value(entry.noise),
        accuracy=_value(entry.accuracy),
        accuracy_percent=_value(entry.accuracy_percent),
        band=_pair(entry.band),
        pixel_pitch=_value(entry.pixel_pitch),
        focal_length=_value(entry.focal_length),
        response=entry.response,
    )


def view_of(entry: ThermogramEntry) -> View:
    """What is known about one picture."""
    applied = (
        {}
        if entry.applied is None
        else {
            name: quantity.value
            for name in ("emissivity", "reflected", "transmittance")
            if (quantity := getattr(entry.applied, name)) is not None
        }
    )
    scale, unit = scale_of(entry.scale)
    return View(
        thermogram=entry.id,
        source=entry.file,
        page=entry.page,
        shows=entry.shows,
        room=entry.room,
        material=entry.material,
        emissivity=entry.emissivity,
        reflected=entry.reflected,
        distance=entry.distance,
        tilt=entry.tilt,
        pixel_size=entry.pixel_size,
        scale=scale,
        values_unit=unit,
        colour_bar=colour_bar_of(entry.scale),
        known_points=entry.scale is not None and entry.scale.known_points,
        applied=applied,
        size=entry.size,
        taken=entry.taken,
        sequence=entry.sequence,
        rectangle=rectangle_of(entry),
        visible_points=entry.visible_points,
        visible_matrix=tuple(number for row in entry.visible_matrix or () for number in row),
    )


def rectangle_of(entry: ThermogramEntry) -> Rectangle | None:
    """The known rectangle of a picture, or None."""
    known = entry.rectangle
    return None if known is None else Rectangle(known.corners, known.width, known.height)


def scale_of(entry: ScaleEntry | None) -> tuple[tuple[float, float] | None, str]:
    """((kelvin per count, kelvin at count 0) or None, unit of temperatures in the file or "")."""
    if entry is None:
        return None, ""
    if entry.kelvin_per_count is None:
        return None, "" if entry.values in (None, COUNTS) else entry.values
    zero = 0.0 if entry.zero_at is None else entry.zero_at.value + CELSIUS
    return (entry.kelvin_per_count, zero), ""


def colour_bar_of(entry: ScaleEntry | None) -> ColourBar | None:
    """The colour bar of a scale with its direction and the uncertainty of its ends settled, or None."""
    if entry is None or entry.bar is None:
        return None
    bar = entry.bar
    return ColourBar(
        bar.box,
        _ends_of(bar),
        _end_standard(bar),
        bar.runs or ("right" if bar.box[2] > bar.box[3] else "up"),
        bar.picture,
        bar.overlays,
    )


def _ends_of(bar: ColourBarEntry) -> tuple[float, float]:
    return bar.ends[0].value, bar.ends[1].value


def _end_standard(bar: ColourBarEntry) -> float:
    """Standard uncertainty [K] of an end: as stated, else of rounding to the digits that the two numbers seem to have."""
    stated = max(end.standard for end in bar.ends)
    return stated or _rounding_step(_ends_of(bar)) / 12.0**0.5


def _rounding_step(ends: tuple[float, float]) -> float:
    """Whole degrees when both numbers are whole in degC or degF, else a tenth of a kelvin: finer print is rare."""
    if all(abs(end - round(end)) < WHOLE for end in ends):
        return 1.0
    if all(abs(end * 1.8 - round(end * 1.8)) < WHOLE for end in ends):
        return 5.0 / 9.0
    return 0.1


def regions_of(entry: ThermogramEntry) -> tuple[Region, ...]:
    """The regions of one picture in the order of the manifest."""
    return tuple(_region(region, entry) for region in entry.regions)


def _region(entry: RegionEntry, on: ThermogramEntry) -> Region:
    shape: Shape = "whole"
    points: tuple[tuple[float, float], ...] = ()
    if entry.outline is not None:
        shape, points = "polygon", entry.outline
    elif entry.box is not None:
        left, top, width, height = entry.box
        shape, points = "box", ((left, top), (left + width, top + height))
    elif entry.line is not None:
        shape, points = "line", entry.line
    elif entry.point is not None:
        shape, points = "point", (entry.point,)
    return Region(
        entry.name,
        on.id,
        shape,
        points,
        entry.shows,
        entry.room or on.room,
        entry.group,
        entry.material,
        entry.emissivity,
        entry.facts,
    )


def _value(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value


def _pair(pair: tuple[Quantity, Quantity] | None) -> tuple[float, float] | None:
    return None if pair is None else (pair[0].value, pair[1].value)
