"""What is compared for which check, and what it is divided by so that weather and load of the day drop out."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.compare.rule import EDGES, WIDE_EDGES
from heatbrief.physics.electrical import LEAST_LOAD


@dataclass(frozen=True)
class Kind:
    """One measure.

    drive         what makes the fault visible: "air difference", "load", "drying", "working temperature" or "" for nothing
    least         of the drive, in its unit, below which nothing is compared; why: source or mark of that
    spread        relative standard uncertainty of two surveys of one unchanged place beyond what is measured (our choice)
    edges         of the share that is left
    """

    key: str
    title: str
    drive: str
    least: float
    why: str
    spread: float
    edges: tuple[float, float, float] = EDGES


FACTOR = Kind(
    "temperature factor",
    "part of the temperature factor that is missing",
    "air difference",
    5.0,
    "EN 13187 as quoted in gate-en-13187: never below 5 K",
    0.06,
)
RISE = Kind("rise at equal load", "rise at the load of the earlier survey", "load", LEAST_LOAD, "load-gate", 0.05)
WET = Kind("wet area", "area wetter than its surroundings", "drying", 3.0, "our choice", 0.1)
DEVIATION = Kind(
    "deviation", "deviation over the working temperature of the others", "working temperature", 10.0, "our choice", 0.06
)
CONTRAST = Kind("contrast", "contrast as measured, not made independent of weather", "", 0.0, "", 0.15, WIDE_EDGES)

BY_CHECK: tuple[tuple[str, Kind], ...] = (
    ("envelope.roof_moisture", CONTRAST),
    ("envelope.", FACTOR),
    ("electrical.", RISE),
    ("plumbing.wet_ground", WET),
    ("plumbing.damp_surface", WET),
    ("plumbing.", CONTRAST),
    ("vehicle.", DEVIATION),
    ("", CONTRAST),
)
"""Beginning of a check's name -> what is compared; the first that fits. Checks of other plugins are compared by contrast."""

DRYING_AIR: dict[str, tuple[str, str]] = {"plumbing.damp_surface": ("inside_air", "humidity")}
"""Conditions (air, humidity) that dry the surface, by check; outside air for the others."""

LOADS: tuple[tuple[str, tuple[float, float, float]], ...] = (
    ("load", (1.6, 1.8, 2.0)),
    ("load share", (1.6, 1.8, 2.0)),
    ("power", (1.0, 1.4, 2.0)),
)
"""Facts that state a load, with the low, usual and high exponent of rise against it (rated-rise, load-exponent; of power: our choice)."""

OUTDOORS = (
    *("outside", "outdoors", "outdoor", "exterior", "facade", "roof", "yard", "carport", "driveway", "garden"),
    *("solar", "photovoltaic", "pv"),
)
"""Words by which a picture of electrical parts is known to be taken outside, where wind cools them."""
MOST_WIND = 4.0
"""Wind above which a rise outdoors is not compared [m/s] (common practice; 4 to 5)."""

SUNNY = frozenset({FACTOR.key, WET.key, CONTRAST.key})
"""Measures that sun on the surface spoils."""


def kind_of(check: str) -> Kind:
    """What is compared for a check."""
    return next(kind for start, kind in BY_CHECK if check.startswith(start))
