"""Areas of a surface that its smooth field and its framing do not explain."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from heatbrief.api import Context
from heatbrief.detect import Area, Field, find_areas, fit_field, mask_key, once, search_mask
from heatbrief.detect.measure import Sign
from heatbrief.detect.subjects import others_mask
from heatbrief.model import Quantity, Region, Thermogram

from heatbrief_envelope.framing import Framing, framing_of

LINE_ELONGATION = 4.0
LINE_WIDTH_M = 0.25
"""A bridge with the spread of its heat in the lining (common practice)."""
PLAIN_LINE_SHARE = 0.08
MOST = 50
_RIM = 3
"""Pixels about an area that are still part of it to a search for framing."""
LEAST_SURFACE = 400
"""Framing is not looked for on fewer pixels."""


@dataclass(frozen=True)
class Searched:
    """What a search of one region gave: its areas, the framing that was expected, and its pixels."""

    areas: tuple[Area, ...]
    framing: Framing | None
    inside: np.ndarray


def searched(
    subject: Thermogram,
    region: Region,
    context: Context,
    words: tuple[str, ...],
    sign: Sign | None,
    smallest_m2: float = 0.0,
) -> Searched:
    """Areas of one sign ("either" when it is not known) that stand out of the smooth field and the framing of a region.

    Declared regions that show none of the words are objects in front of the surface and left out.
    """
    inside = search_mask(subject, region, context) & ~others_mask(context, words, region, subject)
    start = once(subject.values, ("envelope search", mask_key(inside)), lambda: _start(subject, inside))
    any_size = smallest_m2 == 0.0 or subject.pixel is None
    if start.framing is None and any_size and len(start.areas) < MOST:
        areas = tuple(area for area in start.areas if sign in (None, "either", area.sign))
        areas = tuple(replace(area, ordinal=place) for place, area in enumerate(areas, 1))
    else:
        areas = find_areas(
            subject,
            inside,
            sign or "either",
            smallest_m2=smallest_m2,
            field=start.field,
            most=MOST,
        )
    return Searched(areas, start.framing, inside)


@dataclass(frozen=True)
class _Start:
    """What all searches of one surface have in common: its field with the framing, and the areas before that."""

    field: Field
    framing: Framing | None
    areas: tuple[Area, ...]


def _start(subject: Thermogram, inside: np.ndarray) -> _Start:
    field = fit_field(subject.values, inside, "smooth", noise=subject.noise())
    areas = find_areas(subject, inside, field=field, most=MOST)
    usable = field.inside & np.isfinite(field.expected)
    if np.count_nonzero(usable) <= LEAST_SURFACE:
        return _Start(field, None, areas)
    residual = subject.values - field.expected
    plain = usable & ~_compact(subject, areas) if areas else usable
    if not plain.all():
        residual[~plain] = 0.0
    framing = framing_of(residual, plain, subject.noise(), subject.pixel.width if subject.pixel else None)
    if framing is not None:
        field = replace(field, expected=(field.expected + framing.expected).astype(np.float32))
    return _Start(field, framing, areas)


def _compact(subject: Thermogram, areas: tuple[Area, ...]) -> np.ndarray:
    """Pixels of areas too broad to be members, with their rims, which would hide the framing beside them."""
    mask = np.zeros(subject.shape, bool)
    for area in areas:
        if not is_line(subject, area) and area.fill > 0.5:
            x0, y0, x1, y1 = area.box
            top, left = max(y0 - _RIM, 0), max(x0 - _RIM, 0)
            rim = np.pad(area.bits, _RIM)
            for _ in range(2):  # rows first, then, turned over, columns
                rim = np.logical_or.reduce([np.roll(rim, by, axis=0) for by in range(-_RIM, _RIM + 1)]).T
            mask[top : y1 + _RIM, left : x1 + _RIM] |= rim[
                top - y0 + _RIM : mask.shape[0] - y0 + _RIM, left - x0 + _RIM : mask.shape[1] - x0 + _RIM
            ]
    return mask


def is_line(subject: Thermogram, area: Area) -> bool:
    """Whether an area is long and narrow, as a bridge or a member is."""
    if area.elongation < LINE_ELONGATION:
        return False
    if subject.pixel is not None:
        return area.width * subject.pixel.width <= LINE_WIDTH_M
    return area.width <= PLAIN_LINE_SHARE * subject.shape[1]


def share_of(area: Area, inside: np.ndarray) -> Quantity:
    """Share of the searched region that the area covers."""
    whole = max(int(np.count_nonzero(inside)), 1)
    rim = 0.5 * np.sqrt(area.pixels) * 4 / whole
    value = area.pixels / whole
    return Quantity(
        value, "1", max(0.0, value - rim), min(1.0, value + rim), 0.95, "pixels of the area over pixels of the region"
    )


def framing_note(region: Region, framing: Framing | None, subject: Thermogram) -> tuple[str, ...]:
    """What to say about framing that was found and taken as normal."""
    if framing is None:
        return ()
    unit = "K" if subject.scale == "temperature" else "counts"
    every = f", {framing.spacing * subject.pixel.width:.2f} m apart" if subject.pixel else ""
    return (
        f"{subject.id}, {region.name}: {framing.lines} regular lines{every}, {framing.contrast:+.1f} {unit}: "
        "framing members as expected, not a defect.",
    )
