"""Findings by room, for somebody who walks through the house with the brief in hand."""

from __future__ import annotations

from heatbrief.model.finding import URGENCIES, Finding
from heatbrief.site.context import Data, Site
from heatbrief.site.floors import floors_data, unplaced
from heatbrief.site.page import Page, safe_names


def rooms_page(site: Site) -> Page:
    """rooms.html: rooms by their most urgent finding, then by name; findings without a room last."""
    groups: dict[str, list[Finding]] = {}
    for finding in site.findings:
        groups.setdefault(finding.room, []).append(finding)
    ordered = sorted(
        groups, key=lambda room: (not room, min(URGENCIES.index(one.urgency) for one in groups[room]), room)
    )
    names = safe_names(f"room {room}" for room in ordered)
    rooms: list[Data] = [
        {
            "id": names[f"room {room}"],
            "name": room or site.words.say("rooms.nowhere"),
            "count": site.words.count("rooms.count", len(groups[room])),
            "findings": [
                {**site.finding_link(one.id), "badge": site.badge(one), "who": site.who(one)} for one in groups[room]
            ],
        }
        for room in ordered
    ]
    return Page(
        "rooms.html",
        "rooms.html",
        site.words.say("sections.rooms"),
        "rooms.html",
        {"rooms": rooms, "floors": floors_data(site), "unplaced": unplaced(site)},
    )
