"""An invented property with every kind of page, and the same with hostile text in every field."""

from __future__ import annotations

import dataclasses
import hashlib
import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import sample_content as content
from heatbrief.model import Quantity
from heatbrief.model.results import (
    FORMAT,
    BudgetLine,
    FloorRecord,
    NotAnalysed,
    PropertyInfo,
    RegionRecord,
    ResultsDocument,
    RunInfo,
    SourceRecord,
    StepRecord,
    StoredArray,
    SurveyInfo,
    ThermogramRecord,
)
from PIL import Image

HOSTILE = (
    "<script>alert(1)</script>\"'&{{7*7}}{% raw %}\n---\nx: [\x00\x1b\x7f\u202e\u2066\u2028\ud800 <b>\u200f "
    + "W" * 120
)
Q = Quantity


def _png(counts: np.ndarray) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(counts.astype(np.uint16)).save(stream, "PNG")
    return stream.getvalue()


def _keep(objects: Path, data: bytes, suffix: str) -> str:
    objects.mkdir(parents=True, exist_ok=True)
    name = hashlib.sha256(data).hexdigest() + suffix
    (objects / name).write_bytes(data)
    return name


def scene(
    height: int, width: int, base: float, spots: list[tuple[float, float, float, float]], seed: int
) -> np.ndarray:
    """Invented temperatures [degC]: a slow slope, warm or cold places (x, y, radius, difference), a little noise."""
    y, x = np.mgrid[0:height, 0:width]
    values = base + 1.5 * x / width - 0.8 * y / height + np.random.default_rng(seed).normal(0, 0.06, (height, width))
    for cx, cy, radius, difference in spots:
        values += difference * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (2 * radius**2))
    return values


def stored(
    objects: Path, values: np.ndarray, unit: str = "degC", masked: tuple[slice, slice] | None = None
) -> StoredArray:
    """Keep an array as the engine does."""
    step = 0.01 if unit == "degC" else 1.0
    low = float(np.floor(values.min() / step) * step)
    counts = np.rint((values - low) / step) + 1
    if masked:
        counts[masked] = 0
    return StoredArray(_keep(objects, _png(counts), ".png"), low, step, unit, values.shape[1], values.shape[0])


def photo(objects: Path) -> str:
    """An invented ordinary picture."""
    y, x = np.mgrid[0:480, 0:640]
    pixels = np.stack([170 + x // 16, 165 + y // 12, 150 + (x + y) // 28], axis=-1).astype(np.uint8)
    pixels[120:360, 180:300] = (92, 98, 104)
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "JPEG")
    return _keep(objects, stream.getvalue(), ".jpg")


def drawing(objects: Path) -> str:
    """An invented drawing from above."""
    image = Image.new("L", (400, 300), 255)
    image.paste(40, (50, 40, 350, 260))
    image.paste(235, (56, 46, 344, 254))
    stream = io.BytesIO()
    image.save(stream, "PNG")
    return _keep(objects, stream.getvalue(), ".png")


def _thermograms(objects: Path) -> tuple[ThermogramRecord, ...]:
    panel = scene(240, 180, 31.0, [(104, 87, 9, 29.0), (60, 87, 9, 5.0)], 1)
    ceiling = scene(240, 320, 24.5, [(150, 53, 26, 3.6), (260, 156, 12, 1.2)], 2)
    lawn = scene(120, 160, 9000.0, [(90, 70, 14, -400.0)], 3)
    statistics = {
        "min": Q.normal(23.1, "degC", 1.0),
        "max": Q.normal(29.4, "degC", 1.0),
        "mean": Q.normal(25.31, "degC", 0.98, "mean of all valid pixels"),
    }
    return (
        ThermogramRecord(
            "panel",
            "ir/panel.tiff",
            "0" * 64,
            180,
            240,
            "analysed",
            "Main panel",
            "utility room",
            "2026-07-14T16:05-07:00",
            {"max": Q.normal(61.9, "degC", 2.1), "mean": Q.normal(32.2, "degC", 1.9)},
            (
                RegionRecord(
                    "kitchen breaker",
                    "box",
                    ((92, 70), (116, 104)),
                    "breaker",
                    "",
                    "plastic",
                    {"mean": Q.normal(54.0, "degC", 2.0), "max": Q.normal(61.4, "degC", 2.1)},
                ),
                RegionRecord(
                    "hallway breaker",
                    "box",
                    ((48, 70), (72, 104)),
                    "breaker",
                    "",
                    "plastic",
                    {"mean": Q.normal(35.5, "degC", 1.9)},
                    ("load not given",),
                ),
                RegionRecord("bus bar seen through the grille", "line", ((80, 20), (80, 60))),
                RegionRecord("screw", "point", ((30, 200),)),
            ),
            stored(objects, panel, masked=(slice(215, 235), slice(120, 170))),
            photo(objects),
            visible_matrix=(180 / 640, 0.0, 0.0, 0.0, 240 / 480, 0.0, 0.0, 0.0, 1.0),
            conditions={"inside_air": Q.exact(26, "degC"), "load": "kitchen circuit 14 A"},
            settings={
                "emissivity": Q.between(0.88, 0.92, "1"),
                "reflected": Q.normal(27, "degC", 1),
                "distance": Q.normal(1.2, "m", 0.1),
            },
            budget=(
                BudgetLine("camera accuracy", 1.15, "K", 1.15, True),
                BudgetLine("emissivity", 0.02, "1", 0.61, True),
                BudgetLine("noise", 0.05, "K", 0.0012, False),
            ),
            masked=1000,
            notes=("The recording time was taken from the file.",),
        ),
        ThermogramRecord(
            "bedroom-ceiling",
            "ir/north-bedroom-ceiling.tiff",
            "1" * 64,
            320,
            240,
            "analysed",
            "North bedroom, ceiling",
            "north bedroom",
            "2026-07-14T16:20-07:00",
            statistics,
            (
                RegionRecord(
                    "batt edge by the window",
                    "polygon",
                    ((108, 36), (192, 36), (196, 70), (104, 70)),
                    "ceiling",
                    "",
                    "painted plaster",
                    statistics,
                ),
                RegionRecord("whole", "whole", ()),
            ),
            stored(objects, ceiling),
        ),
        ThermogramRecord(
            "lawn",
            "ir/lawn.png",
            "2" * 64,
            160,
            120,
            "unscaled",
            "Lawn by the valve box at 40 °C",
            "garden",
            "",
            {"mean": Q.normal(9000, "count", 20)},
            (RegionRecord("valve box", "box", ((60, 60), (120, 80)), "lawn", notes=("looked 5 K cooler",)),),
            stored(objects, lawn, "count"),
            conditions={"outside_air": Q.exact(38, "degC"), "sky": "clear"},
            settings={"reflected": Q.exact(20, "degC")},
            notes=("No scale was given, so 20 °C could not be used.",),
        ),
        ThermogramRecord("attic", "ir/attic.tiff", "3" * 64, 0, 0, "unreadable", "Attic"),
    )


def sample(objects: Path, units: str = "metric") -> ResultsDocument:
    """The invented property; its picture objects are written to `objects`."""
    steps = (
        StepRecord(
            "electrical.circuits",
            "detect",
            1,
            "heatbrief_electrical",
            "compares circuits of a panel",
            {"table": "neta-100.18"},
        ),
        StepRecord("heatbrief.tiff", "ingest", 2, "heatbrief", "reads TIFF"),
    )
    return ResultsDocument(
        FORMAT,
        PropertyInfo("Sandpiper Row 3", "sandpiper-row-3", "3 Sandpiper Row", "", "an invented surveyor", True),
        SurveyInfo("survey.yaml", "2026-07-14", ("envelope", "electrical", "plumbing"), units, "en", ""),
        {
            "inside_air": Q.normal(24, "degC", 0.5),
            "outside_air": Q.exact(38, "degC"),
            "humidity": Q.exact(0.35, "1"),
            "wind": Q.exact(7.2, "m/s"),
            "sky": "clear",
        },
        _thermograms(objects),
        content.findings(),
        content.estimates(),
        content.plan(),
        content.cautions(),
        (
            NotAnalysed(
                "ir/attic.tiff",
                "unreadable",
                "The file ends before its first picture.",
                "Copy it again from the camera.",
                "heatbrief.tiff",
            ),
            NotAnalysed(
                "plumbing.slab-leak",
                "no-subject",
                "No picture shows a floor.",
                "Take one of the floor, from standing height.",
            ),
        ),
        (
            SourceRecord("NETA-100.18", "ANSI/NETA MTS, table 100.18, temperature differences", "memory"),
            SourceRecord(
                "DOE-scan",
                "US Department of Energy, thermographic inspections",
                "seen",
                "https://www.energy.gov/energysaver",
            ),
            SourceRecord("S84", "OSHA 1910.333", "seen"),
            SourceRecord("S80", "OSHA heat index guide", "seen"),
            SourceRecord("NFPA-70E", "NFPA 70E, approach boundaries", "memory"),
        ),
        RunInfo("0.1.0", steps),
        floors=(
            FloorRecord(
                "ground floor", drawing(objects), 400, 300, {"utility room": (0.4, 0.5), "north bedroom": (0.9, 0.3)}
            ),
        ),
    )


FIXED = {
    "verdict",
    "urgency",
    "status",
    "unit",
    "units",
    "language",
    "object",
    "visible",
    "picture",
    "shape",
    "who",
    "slug",
    "mark",
    "inspected",
    "yearly_cost",
    "cost",
}
"""Fields and names of quantities whose words mean something to the site."""


def hostile(results: ResultsDocument) -> ResultsDocument:
    """The same document with hostile text behind every text and key, references included."""
    return _poison(results, "")


def _poison(value: Any, name: str) -> Any:
    if isinstance(value, Quantity):
        return dataclasses.replace(value, method=HOSTILE)
    if dataclasses.is_dataclass(value):
        return dataclasses.replace(
            value, **{one.name: _poison(getattr(value, one.name), one.name) for one in dataclasses.fields(value)}
        )
    if isinstance(value, Mapping):
        return {key if key in FIXED else f"{key} {HOSTILE}": _poison(item, name) for key, item in value.items()}
    if isinstance(value, tuple):
        return tuple(_poison(item, name) for item in value)
    if isinstance(value, str) and name not in FIXED:
        return f"{value} {HOSTILE}" if value else value
    return value
