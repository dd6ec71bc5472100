"""Drawings of the property: names once, pictures inside the folder, places that something is called by."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from heatbrief.manifest.bind import Binder
from heatbrief.manifest.names import suggestion
from heatbrief.manifest.nodes import Node, Table, shown
from heatbrief.manifest.paths import SurveyFolder
from heatbrief.manifest.schema import FloorEntry, ThermogramEntry

MOST_FLOORS = 50


def check_floors(
    binder: Binder, floors: Sequence[FloorEntry], thermograms: Sequence[ThermogramEntry], folder: SurveyFolder
) -> None:
    """Add what is wrong with the drawings and the places on them."""
    known = _names(thermograms)
    seen: dict[str, str] = {}
    if len(floors) > MOST_FLOORS:
        message = f"there are {len(floors)} drawings; at most {MOST_FLOORS} are shown"
        binder.problems.add(binder.origin(floors[MOST_FLOORS]), "floor-place", message, "Leave the others out.")
    for entry in floors[:MOST_FLOORS]:
        node = binder.origin(entry)
        assert isinstance(node, Table)
        if entry.picture:
            folder.holds(entry.picture, node.at("picture"), "picture", binder.problems)
        if sum(one.name == entry.name for one in floors) > 1:
            binder.problems.add(
                node.at("name"),
                "floor-place",
                f"two drawings are called {shown(entry.name)}",
                "Give each its own name, such as the storey.",
            )
        places = node.get("places")
        for name in entry.places:
            place: Node = places.at(name) if isinstance(places, Table) else node
            if name in seen:
                message = f"{shown(name)} stands on {shown(seen[name])} and on {shown(entry.name)}"
                binder.problems.add(place, "floor-place", message, "Keep it on one of the drawings.")
            elif name not in known and thermograms:
                message = f"no room, region or picture is called {shown(name)}"
                remedy = "" if binder.problems.many else suggestion(name, known, "places")
                binder.problems.add(place, "floor-place", message, remedy)
            seen.setdefault(name, entry.name)


def _names(thermograms: Iterable[ThermogramEntry]) -> set[str]:
    """Rooms, regions and ids, by which findings can be found."""
    found = set()
    for one in thermograms:
        found |= {one.id, one.room, *(name for region in one.regions for name in (region.name, region.room))}
    return found - {""}
