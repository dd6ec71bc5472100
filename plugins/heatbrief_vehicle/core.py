"""The core of a radiator as a map: which way coolant goes, how far it falls, and whether it was warm enough to
judge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from heatbrief.detect import number
from heatbrief.detect.measure import zone_allows_temperature
from heatbrief.model import Gate, Quantity, Thermogram

from heatbrief_vehicle.parts import profile

WARM_C = 65.0
"""Thermostats seen in makers' texts start at 80 to 95 degC; a core with no place above this has no flow to judge
(own choice below them)."""
ZERO, INLET_K = 273.15, 3.0
"""Bounds of the warm end: the accuracy usual for such cameras and the way to the edge (own choice)."""
RIM = 3


@dataclass(frozen=True)
class Flow:
    """The plane through a core: drop across it [K] with bounds, the way it falls, and its warm end [degC].

    sideways, downwards   left minus right and top minus bottom of the whole core [K]
    """

    drop: Quantity
    way: str
    inlet: Quantity
    sideways: Quantity
    downwards: Quantity


def without_rim(inside: np.ndarray) -> np.ndarray:
    """The region without its outermost pixels, which mix with the frame of the core."""
    from scipy.ndimage import binary_erosion

    return binary_erosion(inside, np.ones((2 * RIM + 1, 2 * RIM + 1), bool), border_value=1)


def flow_of(subject: Thermogram, inside: np.ndarray) -> Flow | None:
    """Medians of the two end fifths along the axis with the stronger slope; None for fewer than 100 pixels.

    Rows and columns are taken as medians, so that a band of cold tubes across the core does not move them.
    """
    rows, columns = np.nonzero(inside)
    if rows.size < 100:
        return None
    y0, y1, x0, x1 = rows.min(), rows.max() + 1, columns.min(), columns.max() + 1
    values = np.where(inside, subject.values, np.nan)[y0:y1, x0:x1].astype(float)
    if min(values.shape) < 5:
        return None
    across, down = (_ends(values, axis) for axis in (0, 1))
    (first, last, spread), way = (
        (across, "across") if abs(across[0] - across[1]) >= abs(down[0] - down[1]) else (down, "down")
    )
    names = {"across": ("left to right", "right to left"), "down": ("top to bottom", "bottom to top")}[way]
    warm, cold = max(first, last), min(first, last)
    value = (warm - cold) / 0.8
    half = max(1.0, 1.96 * spread, 0.08 * value)
    inlet = warm + 0.1 * value - ZERO
    return Flow(
        Quantity(value, "K", value - half, value + half, 0.95, "medians of the end fifths, carried to the ends"),
        names[0] if first >= last else names[1],
        Quantity(inlet, "degC", inlet - INLET_K, inlet + INLET_K, 0.95, "median of the warm end, carried to the edge"),
        _end_to_end(across, "left minus right"),
        _end_to_end(down, "top minus bottom"),
    )


def _end_to_end(ends: tuple[float, float, float], method: str) -> Quantity:
    """First minus last end [K], carried from the middles of the end fifths to the edges."""
    value, half = (ends[0] - ends[1]) / 0.8, max(1.0, 1.96 * ends[2], 0.1 * abs(ends[0] - ends[1]))
    return Quantity(value, "K", value - half, value + half, 0.95, method)


def _ends(values: np.ndarray, axis: int) -> tuple[float, float, float]:
    """Along the other axis [K]: (median of the first fifth, of the last fifth, scatter of lines from a straight
    line)."""
    line = profile(values, axis)
    fifth = max(1, line.size // 5)
    place = np.arange(line.size)
    left = line - np.polyval(np.polyfit(place, line, 1), place)
    return float(np.median(line[:fifth])), float(np.median(line[-fifth:])), float(np.std(left)) / np.sqrt(fifth)


def warm_gate(subject: Thermogram, inside: np.ndarray, flow: Flow, since: float | None) -> Gate:
    """A core is judged only when coolant flows through it: its warm end shows that, or the time since the start."""
    asked = f"asked: warm end of the core at {WARM_C:.0f} degC or more"
    remedy = "Take the picture when the engine has reached its working temperature and the thermostat is open."
    if not zone_allows_temperature(subject, inside):
        return Gate(
            "engine at working temperature",
            True if since is not None and since >= 900 else None,
            f"{asked}; the surface allows no temperature",
            "thermostat-manuals",
            remedy,
        )
    warm = flow.inlet.value >= WARM_C
    return Gate(
        "engine at working temperature",
        warm,
        f"{asked}; given: {number(flow.inlet.value, 'degC')}",
        "thermostat-manuals",
        "" if warm else remedy,
    )
