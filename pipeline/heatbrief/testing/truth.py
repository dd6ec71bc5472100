"""What is true of a synthetic picture: the records a check's findings are measured against."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from heatbrief.testing.fields import Grid, Points


@dataclass(frozen=True)
class TruthRecord:
    """One part of one picture.

    contrast_k           mean true surface temperature with the part minus without it, over its mask [K]; a defect of
                         something larger (a bad contact, blocked tubes) is compared with the same thing in sound state
    apparent_contrast_k  the same of what an ideal imager sees (reflections count, true temperature or not) [K]
    mean_c               mean true surface temperature over its mask in the finished scene [degC]
    outline              corners [px]; pixels is the mask's area in pixels, area_m2 on the surface
    """

    name: str
    kind: str
    is_defect: bool
    contrast_k: float
    apparent_contrast_k: float
    mean_c: float
    pixels: float
    area_m2: float
    outline: Points
    note: str = ""

    def mask(self, height: int, width: int) -> np.ndarray:
        """Pixels within the outline, bool (height, width)."""
        from heatbrief.model.region import Region

        return Region(self.name, "", "polygon", self.outline).mask(height, width)


@dataclass(frozen=True)
class Truth:
    """All that is true of one picture; `offset_k` is the reading error its camera added to every pixel."""

    name: str
    width: int
    height: int
    pixel_m: tuple[float, float]
    emissivity: float
    reflected_c: float
    offset_k: float
    bad_pixels: int
    records: tuple[TruthRecord, ...]

    @property
    def defects(self) -> tuple[TruthRecord, ...]:
        """The records of parts that are defects."""
        return tuple(record for record in self.records if record.is_defect)


def hull(mask: np.ndarray, grid: Grid) -> Points:
    """Convex outline of a mask of the grid, in pixels rounded to a tenth; empty for an empty mask."""
    rows, columns = np.nonzero(mask)
    if rows.size == 0:
        return ()
    s = grid.oversample
    # half a step to either side, so that a single point still has an area
    places = np.unique(np.stack([columns, rows], axis=1)[_outer(rows, columns)], axis=0)
    corners = np.concatenate([places + offset for offset in ((-0.5, -0.5), (0.5, -0.5), (-0.5, 0.5), (0.5, 0.5))])
    from scipy.spatial import ConvexHull

    found = corners[ConvexHull(corners).vertices]
    thinned = found[:: max(1, len(found) // 16)]
    return tuple((round(float((x + 0.5) / s - 0.5), 1), round(float((y + 0.5) / s - 0.5), 1)) for x, y in thinned)


def _outer(rows: np.ndarray, columns: np.ndarray) -> np.ndarray:
    """Indices of the first and last point of every row: the hull needs no others."""
    first = np.flatnonzero(np.r_[True, rows[1:] != rows[:-1]])
    result: np.ndarray = np.r_[first, np.r_[first[1:] - 1, rows.size - 1]]
    return result


def to_json(truths: Truth | Iterable[Truth]) -> str:
    """Stable JSON text: sorted keys, rounded numbers, line feed at the end."""
    plain = asdict(truths) if isinstance(truths, Truth) else [asdict(one) for one in truths]
    return json.dumps(_rounded(plain), indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def from_json(text: str) -> tuple[Truth, ...]:
    """The truths of a text made by `to_json`."""
    found = json.loads(text)
    return tuple(_truth(one) for one in (found if isinstance(found, list) else [found]))


def read_truth(path: Path) -> tuple[Truth, ...]:
    """The truths in a file."""
    return from_json(Path(path).read_text(encoding="utf-8"))


def _truth(plain: dict[str, Any]) -> Truth:
    records = tuple(TruthRecord(**{**one, "outline": tuple(map(tuple, one["outline"]))}) for one in plain["records"])
    return Truth(**{**plain, "pixel_m": tuple(plain["pixel_m"]), "records": records})


def _rounded(value: object) -> object:
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(item) for item in value]
    return round(value, 6) + 0.0 if isinstance(value, float) else value
