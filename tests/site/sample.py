"""An invented property with every kind of page, and the same with hostile text in every field."""

from __future__ import annotations

import dataclasses
import hashlib
import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from heatbrief.model import Assumption, Caution, Estimate, Figure, Finding, Gate, Outline, PlanItem, Quantity, Rival
from heatbrief.model.results import (
    FORMAT,
    BudgetLine,
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

HOSTILE = "<script>alert(1)</script>\"'&{{7*7}}{% raw %}\n---\nx: [\x00\x1b\x7f\u202e\u2066\u2028\ud800 <b>\u200f " + "W" * 120
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


def scene(height: int, width: int, base: float, spots: list[tuple[float, float, float, float]], seed: int) -> np.ndarray:
    """Invented temperatures [degC]: a slow slope, warm or cold places (x, y, radius, difference), a little noise."""
    y, x = np.mgrid[0:height, 0:width]
    values = base + 1.5 * x / width - 0.8 * y / height + np.random.default_rng(seed).normal(0, 0.06, (height, width))
    for cx, cy, radius, difference in spots:
        values += difference * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (2 * radius**2))
    return values


def stored(objects: Path, values: np.ndarray, unit: str = "degC", masked: tuple[slice, slice] | None = None) -> StoredArray:
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


def _findings() -> tuple[Finding, ...]:
    steady = Gate("steady difference", True, "4 h asked, 6 h given", "DOE-scan")
    wind = Gate("wind", False, "at most 5 m/s asked, 7.2 m/s given", "DOE-scan", "Repeat on a calm evening.")
    load = Gate("load", None, "at least 40 % of the rated current asked, load of the hallway circuit not given", "CP", "Note the current on every circuit.")
    return (
        Finding("breaker-kitchen", "electrical", "electrical.circuits", "panel", "kitchen breaker", "Kitchen breaker runs hot",
                "The kitchen breaker is 24 K warmer than the breakers beside it at the same load. A loose joint is the likely cause.",
                "defect", "now", 0.93, Outline(((92, 70), (116, 70), (116, 104), (92, 104)), 816),
                {"contrast": Q.normal(24.31, "K", 1.07, "median of the region minus median of its twins"),
                 "region temperature": Q(61.4, "degC", 57.2, 66.9, 0.95, "mean of the region, emissivity 0.90"),
                 "load": Q.exact(14, "A", "as stated")},
                (load, steady),
                (Rival("reflection of a lamp", "ruled out", "The warm place keeps its outline in both pictures; a mirror image would move."),
                 Rival("normal load", "not ruled out", "14 A of 20 A is known for this circuit; the twins' loads are not.", "the current on the twin circuits"),
                 Rival("low emissivity", "not testable", "The material of the breaker face was not given.", "a picture with tape on the face")),
                ({"table": "NETA MTS table 100.18", "class": "major", "limit": "over 15 K", "probability": "97 %"},
                 {"table": "NETA MTS table 100.18", "class": "intermediate", "limit": "4 to 15 K", "probability": "3 %"}),
                ("electrical.tighten", "electrical.recheck"), ("electrical.panel", "electrical.general"), ("NETA-100.18", "unlisted-key"), "utility room", "",
                ("Note the current of every circuit at the moment of the picture.",)),
        Finding("ceiling-edge", "envelope", "envelope.insulation", "bedroom-ceiling", "batt edge by the window", "Insulation missing over the north bedroom",
                "About 1.6 m² of the ceiling is warmer than the rest while the attic is hot; insulation is missing or has slipped.",
                "defect", "soon", 0.88, Outline(((112, 40), (188, 40), (188, 66), (112, 66)), 1976),
                {"area": Q(1.62, "m2", 1.38, 1.97, 0.95, "pixels times pixel size"), "contrast": Q.normal(3.4, "K", 0.31, "region minus ceiling"),
                 "transmittance": Q(1.9, "W/(m2 K)", 1.1, 3.2, 0.95, "temperature factor")},
                (steady, wind), (Rival("sun on the roof above", "ruled out", "The sun set 5 h before."), Rival("wet ceiling", "not testable", "Warm, not cold.", "a moisture meter")),
                (), ("envelope.insulate", "envelope.seal"), ("envelope.attic",), ("DOE-scan",), "north bedroom", "north ceiling"),
        Finding("ceiling-leak", "envelope", "envelope.air", "bedroom-ceiling", "", "Air leak along the ceiling light",
                "A thin warm line runs from the lamp to the wall, as moving attic air would draw it.",
                "suspect", "plan", 0.61, Outline(((220, 150), (300, 156), (300, 162), (220, 158)), 300),
                {"contrast": Q.normal(1.2, "K", 0.4, "line minus surroundings")}, (wind,), (Rival("warm lamp", "not ruled out", "The lamp had been on."),),
                (), ("envelope.seal",), ("envelope.attic",), (), "north bedroom", "north ceiling"),
        Finding("valve-box", "plumbing", "plumbing.wet-soil", "lawn", "valve box", "Cool wet strip by the valve box",
                "The strip is darker than the lawn around it. Without a scale only brightness can be compared.",
                "suspect", "watch", 0.55, Outline(((60, 60), (120, 60), (120, 80), (60, 80)), 1200),
                {"brightness difference": Q.normal(-412, "count", 35, "strip minus lawn"), "share of the picture": Q.normal(0.031, "1", 0.002)},
                (), (Rival("shade", "not ruled out", "A tree stands 20 °C cooler shade to the west."),), (), ("plumbing.dig",), ("plumbing.digging",), (), "garden"),
        Finding("hall-breaker", "electrical", "electrical.circuits", "panel", "hallway breaker", "Hallway breaker cannot be judged",
                "Its load is not known.", "inconclusive", "plan", 0.3, None, {}, (load,), (), (), (), ("electrical.panel",), (), "utility room"),
        Finding("wall-east", "envelope", "envelope.insulation", "bedroom-ceiling", "east wall", "East wall evenly insulated",
                "No part of the wall differs from the rest by more than the bounds.", "normal", "none", 0.04, None, {"contrast": Q.normal(0.02, "K", 0.2)}),
    )


def _estimates() -> tuple[Estimate, ...]:
    given = (Assumption("electricity price", "0.16 USD/kWh", "given in the survey"), Assumption("cooling degree days", "2100 K·d", "weather file"))
    return (
        Estimate("e1", "ceiling-edge", "yearly-cost", "What the gap costs in a year",
                 {"energy": Q(182, "kWh/a", 96, 311), "money": Q(29.1, "USD/a", 15.4, 49.8), "heat flow": Q(5.9, "W/m2", 3.1, 9.9)}, given, ("DOE-scan",), ("Cooling season only.",)),
        Estimate("e2", "", "total", "All losses found, each area once", {"money": Q(41.0, "USD/a", 20.2, 71.7), "energy": Q(256, "kWh/a", 126, 448)}, given),
    )


def _plan() -> tuple[PlanItem, ...]:
    return (
        PlanItem(1, "electrical.tighten", "Have the joint checked and made good", "repair", "licensed electrician", "Opens the panel with the supply off and checks the joint, the breaker and the wire.",
                 ("breaker-kitchen",), "now", {"cost": Q(220, "USD", 120, 380)}, ("electrical.panel",), "Safety comes before saving."),
        PlanItem(2, "envelope.seal", "Seal the ceiling against the attic", "repair", "owner", "Closes gaps around the lamp and along the wall from below.", ("ceiling-leak", "ceiling-edge"), "soon",
                 {"cost": Q(45, "USD", 30, 70)}, ("envelope.attic",), "Sealing comes before insulating."),
        PlanItem(3, "envelope.insulate", "Fill the gap in the insulation", "repair", "contractor", "Lays insulation of the same thickness over the open area.", ("ceiling-edge",), "soon",
                 {"cost": Q(150, "USD", 90, 240), "saving": Q(29.1, "USD/a", 15.4, 49.8), "payback": Q(5.2, "a", 2.4, 11.0)}, ("envelope.attic",)),
        PlanItem(4, "plumbing.dig", "Look at the valve box again on a dry evening", "check", "owner", "Compares the strip with a calibrated picture before anyone digs.", ("valve-box",), "watch", {}, ("plumbing.digging",)),
    )


def _cautions() -> tuple[Caution, ...]:
    return (
        Caution("electrical.panel", "Electrical panels", "Anyone near a panel, open or closed.",
                ("Do not open covers and do not reach toward live parts for a picture.", "Let a licensed electrician open the panel and stand by.", "Never alone; no wet hands, no wet floor."),
                (Figure("Unqualified people keep 3 m (10 ft) from unguarded parts of 50 V and more.", "S84", "seen"), Figure("Arc-flash boundary 1.2 cal/cm²", "NFPA-70E", "memory")),
                ("NFPA 70E and local code", "the licensed electrician on site")),
        Caution("envelope.attic", "Attics", "Before anyone goes up.", ("Walk only on joists: ceilings do not carry people.", "Short visits, a partner, water."),
                (Figure("Heat index above 103 °F: high risk", "S80", "seen"),), ("OSHA and NIOSH heat pages",)),
        Caution("plumbing.digging", "Digging", "Before any dig.", ("Call before any dig and wait.", "Hand tools in the marked strip."), (), ("the local one-call law",)),
        Caution("survey.pictures", "Taking pictures", "Always.", ("Never aim at the sun.", "Only your own property."), (Figure("No source", "CP", "CP"),), ("local privacy law",)),
    )


def _thermograms(objects: Path) -> tuple[ThermogramRecord, ...]:
    panel = scene(240, 180, 31.0, [(104, 87, 9, 29.0), (60, 87, 9, 5.0)], 1)
    ceiling = scene(240, 320, 24.5, [(150, 53, 26, 3.6), (260, 156, 12, 1.2)], 2)
    lawn = scene(120, 160, 9000.0, [(90, 70, 14, -400.0)], 3)
    statistics = {"min": Q.normal(23.1, "degC", 1.0), "max": Q.normal(29.4, "degC", 1.0), "mean": Q.normal(25.31, "degC", 0.98, "mean of all valid pixels")}
    return (
        ThermogramRecord("panel", "ir/panel.tiff", "0" * 64, 180, 240, "analysed", "Main panel", "utility room", "2026-07-14T16:05-07:00",
                         {"max": Q.normal(61.9, "degC", 2.1), "mean": Q.normal(32.2, "degC", 1.9)},
                         (RegionRecord("kitchen breaker", "box", ((92, 70), (116, 104)), "breaker", "", "plastic", {"mean": Q.normal(54.0, "degC", 2.0), "max": Q.normal(61.4, "degC", 2.1)}),
                          RegionRecord("hallway breaker", "box", ((48, 70), (72, 104)), "breaker", "", "plastic", {"mean": Q.normal(35.5, "degC", 1.9)}, ("load not given",)),
                          RegionRecord("bus bar seen through the grille", "line", ((80, 20), (80, 60))), RegionRecord("screw", "point", ((30, 200),))),
                         stored(objects, panel, masked=(slice(215, 235), slice(120, 170))), photo(objects), {"inside_air": Q.exact(26, "degC"), "load": "kitchen circuit 14 A"},
                         {"emissivity": Q.between(0.88, 0.92, "1"), "reflected": Q.normal(27, "degC", 1), "distance": Q.normal(1.2, "m", 0.1)},
                         (BudgetLine("camera accuracy", 1.15, "K", 1.15, True), BudgetLine("emissivity", 0.02, "1", 0.61, True), BudgetLine("noise", 0.05, "K", 0.0012, False)), 1000,
                         ("The recording time was taken from the file.",)),
        ThermogramRecord("bedroom-ceiling", "ir/north-bedroom-ceiling.tiff", "1" * 64, 320, 240, "analysed", "North bedroom, ceiling", "north bedroom", "2026-07-14T16:20-07:00",
                         statistics, (RegionRecord("batt edge by the window", "polygon", ((108, 36), (192, 36), (196, 70), (104, 70)), "ceiling", "", "painted plaster", statistics),
                                      RegionRecord("whole", "whole", ())), stored(objects, ceiling)),
        ThermogramRecord("lawn", "ir/lawn.png", "2" * 64, 160, 120, "unscaled", "Lawn by the valve box at 40 °C", "garden", "", {"mean": Q.normal(9000, "count", 20)},
                         (RegionRecord("valve box", "box", ((60, 60), (120, 80)), "lawn", notes=("looked 5 K cooler",)),), stored(objects, lawn, "count"), "",
                         {"outside_air": Q.exact(38, "degC"), "sky": "clear"}, {"reflected": Q.exact(20, "degC")}, (), 0, ("No scale was given, so 20 °C could not be used.",)),
        ThermogramRecord("attic", "ir/attic.tiff", "3" * 64, 0, 0, "unreadable", "Attic"),
    )


def sample(objects: Path, units: str = "metric") -> ResultsDocument:
    """The invented property; its picture objects are written to `objects`."""
    steps = (StepRecord("electrical.circuits", "detect", 1, "heatbrief_electrical", "compares circuits of a panel", {"table": "neta-100.18"}),
             StepRecord("heatbrief.tiff", "ingest", 2, "heatbrief", "reads TIFF"))
    return ResultsDocument(
        FORMAT, PropertyInfo("Sandpiper Row 3", "sandpiper-row-3", "3 Sandpiper Row", "", "an invented surveyor", True),
        SurveyInfo("survey.yaml", "2026-07-14", ("envelope", "electrical", "plumbing"), units, "en", ""),
        {"inside_air": Q.normal(24, "degC", 0.5), "outside_air": Q.exact(38, "degC"), "humidity": Q.exact(0.35, "1"), "wind": Q.exact(7.2, "m/s"), "sky": "clear"},
        _thermograms(objects), _findings(), _estimates(), _plan(), _cautions(),
        (NotAnalysed("ir/attic.tiff", "unreadable", "The file ends before its first picture.", "Copy it again from the camera.", "heatbrief.tiff"),
         NotAnalysed("plumbing.slab-leak", "no-subject", "No picture shows a floor.", "Take one of the floor, from standing height.")),
        (SourceRecord("NETA-100.18", "ANSI/NETA MTS, table 100.18, temperature differences", "memory"),
         SourceRecord("DOE-scan", "US Department of Energy, thermographic inspections", "seen", "https://www.energy.gov/energysaver"),
         SourceRecord("S84", "OSHA 1910.333", "seen"), SourceRecord("S80", "OSHA heat index guide", "seen"), SourceRecord("NFPA-70E", "NFPA 70E, approach boundaries", "memory")),
        RunInfo("0.1.0", steps))


FIXED = {"verdict", "urgency", "status", "unit", "units", "language", "object", "visible", "shape", "who", "slug", "mark"}
"""Fields whose words mean something to the site."""


def hostile(results: ResultsDocument) -> ResultsDocument:
    """The same document with hostile text behind every text and every key, the same for references and what they refer to."""
    return _poison(results, "")


def _poison(value: Any, name: str) -> Any:
    if isinstance(value, Quantity):
        return dataclasses.replace(value, method=HOSTILE)
    if dataclasses.is_dataclass(value):
        return dataclasses.replace(value, **{one.name: _poison(getattr(value, one.name), one.name) for one in dataclasses.fields(value)})
    if isinstance(value, Mapping):
        return {f"{key} {HOSTILE}": _poison(item, name) for key, item in value.items()}
    if isinstance(value, tuple):
        return tuple(_poison(item, name) for item in value)
    if isinstance(value, str) and name not in FIXED:
        return f"{value} {HOSTILE}" if value else value
    return value
