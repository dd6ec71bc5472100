"""Drawings of the property with the places of findings on them."""

from __future__ import annotations

import functools
import io
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from heatbrief.model.finding import URGENCIES, Finding
from heatbrief.model.results import FloorRecord
from heatbrief.site.context import Data, Site
from heatbrief.site.pictures import open_picture

DRAWN_COLOURS = 256
EDGE = 20.0
"""Per cent of the width: labels nearer to an edge grow away from it."""


def floor_files(site: Site) -> Iterator[tuple[str, str, Callable[[], bytes]]]:
    """Each drawing: its object, its path, and what writes it anew from its pixels.

    Writing raises UserError when the object is missing or damaged.
    """
    for floor, path in _paths(site):
        yield floor.picture, path, functools.partial(_written, site.pictures.objects, floor.picture, path)


def _written(objects: Path, picture: str, path: str) -> bytes:
    image = open_picture(objects, picture).convert("RGB")
    stream = io.BytesIO()
    if path.endswith(".png"):
        image.quantize(DRAWN_COLOURS).save(stream, format="PNG", optimize=True)
    else:
        image.save(stream, format="JPEG", quality=82, optimize=True)
    return stream.getvalue()


def floors_data(site: Site) -> list[Data]:
    """The drawings with their marks: a place, the most urgent of its findings in words, and links to all of them."""
    groups: dict[tuple[int, str], list[Finding]] = {}
    for finding in site.findings:
        place = place_of(site.results.floors, finding)
        if place is not None:
            groups.setdefault(place, []).append(finding)
    found = []
    for number, (floor, path) in enumerate(_paths(site)):
        marks = [
            _mark(site, name, floor.places[name], groups[number, name])
            for name in sorted(floor.places)
            if (number, name) in groups
        ]
        names = ", ".join(one["name"] for one in marks)
        found.append(
            {
                "id": f"floor-{number + 1}",
                "name": floor.name,
                "src": path,
                "width": floor.width,
                "height": floor.height,
                "alt": site.words.count("floors.alt", len(marks), floor=floor.name, names=names)
                if marks
                else site.words.say("floors.alt_empty", floor=floor.name),
                "marks": sorted(marks, key=lambda one: (one["order"], one["name"])),
            }
        )
    return found


def floor_link(site: Site, finding: Finding) -> Data | None:
    """The drawing a finding stands on, by its name; None when it has no place."""
    place = place_of(site.results.floors, finding)
    if place is None:
        return None
    return {"text": site.results.floors[place[0]].name, "url": f"rooms.html#floor-{place[0] + 1}"}


def unplaced(site: Site) -> str:
    """How many findings have no place on any drawing; "" when there is no drawing or each has one."""
    if not site.results.floors:
        return ""
    count = sum(place_of(site.results.floors, one) is None for one in site.findings)
    return site.words.count("floors.unplaced", count) if count else ""


def place_of(floors: tuple[FloorRecord, ...], finding: Finding) -> tuple[int, str] | None:
    """(number of the drawing, name of the place): by region, else by picture, else by room."""
    for name in (finding.region, finding.thermogram, finding.room):
        for number, floor in enumerate(floors):
            if name and name in floor.places:
                return number, name
    return None


def _paths(site: Site) -> Iterator[tuple[FloorRecord, str]]:
    for number, floor in enumerate(site.results.floors, 1):
        yield floor, f"pictures/floor-{number}{'.png' if floor.picture.endswith('.png') else '.jpg'}"


def _mark(site: Site, name: str, at: tuple[float, float], findings: list[Finding]) -> Data:
    x, y = (100 * min(max(one, 0.0), 1.0) for one in at)
    urgency = min((one.urgency for one in findings), key=URGENCIES.index)
    phrase: Mapping[str, str] = site.words.get("urgency")[urgency]
    side = "start" if x < EDGE else "end" if x > 100 - EDGE else "middle"
    return {
        "name": name,
        "style": f"--x:{x:.2f};--y:{y:.2f}",
        "side": side,
        "order": URGENCIES.index(urgency),
        "urgency": urgency,
        "word": phrase["word"],
        "count": site.words.count("floors.count", len(findings)),
        "findings": [{**site.finding_link(one.id), "badge": site.badge(one)} for one in findings],
    }
