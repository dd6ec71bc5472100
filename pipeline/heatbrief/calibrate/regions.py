"""The record of a region: its readings, its area, and what has to be known about its size."""

from __future__ import annotations

from heatbrief.calibrate.small_targets import size_note
from heatbrief.calibrate.statistics import statistics
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Thermogram

_FLAT = ("box", "polygon")


def region_statistics(thermogram: Thermogram, region: Region) -> tuple[dict[str, Quantity], tuple[str, ...]]:
    """Readings of a region by name, with its "area" [m2] where the geometry is known; and notes.

    Points and lines have no area; temperatures are left out as in `statistics`.
    """
    mask = region.mask(*thermogram.shape)
    valid = mask & thermogram.valid
    if not valid.any():
        return {}, ("outside the picture or wholly masked",)
    found, notes = statistics(thermogram, valid), []
    if region.shape in _FLAT:
        if note := size_note(valid):
            notes.append(note)
        if thermogram.pixel is not None:
            area = thermogram.pixel.area_of(mask)
            if area is None:
                notes.append("no area: the region reaches beyond the horizon of the known rectangle's surface")
            else:
                found["area"] = area
    if thermogram.scale == "temperature" and "mean" not in found:
        notes.append("its emissivity is too low for a temperature to be given; compare it with its like only")
    return found, tuple(notes)
