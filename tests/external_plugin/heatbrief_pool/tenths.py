"""A reader of tables of tenths of a degree Celsius, and a step that masks the edge that a housing covers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from heatbrief.api import Context, NoSettings, Step, StepError, setting
from heatbrief.model import Picture

LONGEST = 4_000_000


def read(path: Path, settings: NoSettings, context: Context) -> list[Picture]:
    """Whole numbers, a row for each line. Raises StepError for anything else."""
    try:
        text = path.read_bytes()[: LONGEST + 1].decode("ascii")
        rows = [[int(word) for word in line.split()] for line in text.splitlines() if line.strip()]
        values = np.array(rows, dtype=float)
    except ValueError as error:
        raise StepError("pool-tenths", f"{path.name} is no table of whole numbers", "Export it again.") from error
    if values.ndim != 2 or not values.size or len(text) > LONGEST:
        raise StepError("pool-tenths", f"{path.name} is empty or too large", "Export it again.")
    return [Picture(values / 10.0 + 273.15, kelvin=True)]


@dataclass(frozen=True)
class Housing:
    """How much of the edge the housing covers."""

    edge: float = setting(2.0, unit="px", low=0, help="width of the covered edge", example="2 px")


def mask_edge(picture: Picture, settings: Housing, context: Context) -> Picture:
    """The picture without its edge; one that is all edge keeps nothing."""
    edge = round(settings.edge)
    values = np.full_like(picture.values, np.nan, dtype=float)
    inside = (slice(edge, -edge or None),) * 2
    values[inside] = picture.values[inside]
    return replace(picture, values=values)


READER = Step(
    "pool.tenths",
    "ingest",
    1,
    read,
    summary="Reads tables of tenths of a degree.",
    suffixes=(".tenths",),
    reads=("view",),
)
HOUSING = Step(
    "pool.housing", "calibrate", 1, mask_edge, Housing, "Masks the edge that a housing covers.", reads=("view",)
)
