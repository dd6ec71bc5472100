"""Names that tell things apart: equal titles get the region, picture, room, time or place that differs."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from heatbrief.model.finding import Finding
from heatbrief.model.results import ThermogramRecord

_TIME = re.compile(r"T(\d\d:\d\d)")


def told_apart(named: Sequence[tuple[str, str, Sequence[str]]]) -> dict[str, str]:
    """A distinct title for each (key, title, hints): the first hint that differs for all who share the title is added.

    Hints that are empty for one of them are passed over; when none helps, all together and then a number do.
    """
    groups: dict[str, list[int]] = {}
    for at, (_, title, _) in enumerate(named):
        groups.setdefault(title.casefold(), []).append(at)
    found = {}
    for members in groups.values():
        added = _differing([named[at][2] for at in members]) if len(members) > 1 else [""]
        for at, more in zip(members, added, strict=True):
            key, title, _ = named[at]
            found[key] = f"{title} ({more})" if more else title
    return {key: found[key] for key, _, _ in named}


def finding_hints(
    finding: Finding, record: ThermogramRecord | None, picture: str, spots: Mapping[str, str]
) -> list[str]:
    """Region, room, picture and place in the picture of a finding."""
    return [finding.region, finding.room, picture, *_halves(finding, record, spots)]


def record_hints(record: ThermogramRecord) -> list[str]:
    """Room, time of day, moment and id of a picture."""
    time = _TIME.search(record.taken)
    return [record.room, time[1] if time else "", record.taken, record.id]


def _halves(finding: Finding, record: ThermogramRecord | None, spots: Mapping[str, str]) -> tuple[str, str]:
    """In which half of its picture a finding lies, across and down, in words; empty when it is no part of it."""
    if finding.outline is None or record is None or not (record.width and record.height):
        return "", ""
    xs, ys = zip(*finding.outline.polygon, strict=True)
    across, down = sum(xs) / len(xs) / record.width, sum(ys) / len(ys) / record.height
    return spots["left" if across < 0.5 else "right"], spots["upper" if down < 0.5 else "lower"]


def _differing(hints: Sequence[Sequence[str]]) -> list[str]:
    count = len(hints)
    for column in zip(*hints, strict=True):
        if all(column) and len(set(column)) == count:
            return list(column)
    joined = [", ".join(dict.fromkeys(one for one in row if one)) for row in hints]
    shared = set.intersection(*(set(row) for row in hints))
    short = [", ".join(dict.fromkeys(one for one in row if one and one not in shared)) for row in hints]
    for texts in (short, joined):
        if all(texts) and len(set(texts)) == count:
            return texts
    return [f"{number}, {text}" if text else str(number) for number, text in enumerate(short, 1)]
