"""A drawing of an invented property from above: rooms with walls and openings, and places outside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

Box = tuple[int, int, int, int]
PAPER, ROOM, WALL, OUTSIDE, EDGE = 255, 236, 40, 248, 190
"""Greys of the drawing."""
DASH = 9
MOST_SIDE = 4000


@dataclass(frozen=True)
class Floor:
    """One storey. Boxes are [left, top, width, height] in pixels.

    rooms     with walls; outside: with a broken edge; openings: doors and windows, cut out of the walls
    """

    name: str
    width: int
    height: int
    rooms: Mapping[str, Box]
    outside: Mapping[str, Box] = field(default_factory=dict)
    openings: tuple[Box, ...] = ()
    wall: int = 7

    @property
    def picture(self) -> str:
        """Where it is written, below the folder of the survey."""
        return f"plan/{self.name}.png"


def floor_from(plain: Mapping[str, Any]) -> Floor:
    """A storey from plain data. Raises ValueError with what is wrong."""
    unknown = sorted(set(plain) - set(Floor.__dataclass_fields__))
    if unknown:
        raise ValueError(f"unknown key {unknown[0]!r}")
    try:
        floor = Floor(
            str(plain["name"]),
            int(plain["width"]),
            int(plain["height"]),
            _boxes(plain["rooms"]),
            _boxes(plain.get("outside", {})),
            tuple(_box(one) for one in plain.get("openings", ())),
            int(plain.get("wall", 7)),
        )
    except (KeyError, TypeError, AttributeError) as error:
        raise ValueError(f"not a drawing: {error}") from error
    if not (0 < floor.width <= MOST_SIDE and 0 < floor.height <= MOST_SIDE and floor.wall > 0):
        raise ValueError(f"width and height are 1 to {MOST_SIDE} pixels")
    return floor


def draw_floor(floor: Floor, path: Path) -> None:
    """Write the drawing as a greyscale PNG without text or time."""
    from PIL import Image, ImageDraw

    image = Image.new("L", (floor.width, floor.height), PAPER)
    pen = ImageDraw.Draw(image)
    for x, y, wide, high in floor.outside.values():
        pen.rectangle((x, y, x + wide, y + high), fill=OUTSIDE)
        for at in range(x, x + wide, 2 * DASH):
            for row in (y, y + high):
                pen.line((at, row, min(at + DASH, x + wide), row), fill=EDGE, width=2)
        for at in range(y, y + high, 2 * DASH):
            for column in (x, x + wide):
                pen.line((column, at, column, min(at + DASH, y + high)), fill=EDGE, width=2)
    for x, y, wide, high in floor.rooms.values():
        pen.rectangle((x, y, x + wide, y + high), fill=ROOM)
    half = floor.wall // 2
    for x, y, wide, high in floor.rooms.values():
        pen.rectangle((x - half, y - half, x + wide + half, y + high + half), outline=WALL, width=floor.wall)
    for x, y, wide, high in floor.openings:
        pen.rectangle((x, y, x + wide, y + high), fill=ROOM)
    image.save(path, format="PNG", optimize=True)


def _boxes(plain: Mapping[str, Any]) -> dict[str, Box]:
    return {str(name): _box(one) for name, one in plain.items()}


def _box(plain: Any) -> Box:
    x, y, wide, high = (int(one) for one in plain)
    if min(x, y) < 0 or min(wide, high) <= 0:
        raise ValueError("a box is [left, top, width, height] in pixels")
    return x, y, wide, high
