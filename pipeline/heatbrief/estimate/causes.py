"""Findings that describe one cause or one area, so that nothing is counted twice."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations

import numpy as np

from heatbrief.model.finding import Finding
from heatbrief.model.region import Region

SHARED_AREA = 0.5
"""Share of the smaller area from which two areas of one picture are one."""

FINEST = 256
"""Pixels along the longer side of the raster on which two areas are compared."""


def causes(findings: Sequence[Finding], same_cause: Iterable[Sequence[str]] = ()) -> dict[str, str]:
    """Finding id -> the id that stands for its cause: the first of all findings that share it.

    Findings share a cause by the tag of their check (`Finding.shares`), by areas of one picture that overlap by half
    of the smaller one, or because the survey says so with names of regions.
    """
    leader = {one.id: one.id for one in findings}

    def find(key: str) -> str:
        while leader[key] != key:
            leader[key] = leader[leader[key]]
            key = leader[key]
        return key

    rank = {one.id: number for number, one in enumerate(findings)}
    for first, second in _pairs(findings, same_cause):
        one, other = sorted((find(first), find(second)), key=rank.__getitem__)
        leader[other] = one
    return {one.id: find(one.id) for one in findings}


def _pairs(findings: Sequence[Finding], same_cause: Iterable[Sequence[str]]) -> Iterable[tuple[str, str]]:
    by_tag: dict[str, str] = {}
    for one in findings:
        if one.shares:
            yield by_tag.setdefault(one.shares, one.id), one.id
    for names in same_cause:
        members = [one.id for one in findings if one.region in names]
        yield from ((members[0], one) for one in members[1:])
    by_picture: dict[str, list[Finding]] = {}
    for one in findings:
        if one.outline is not None and len(one.outline.polygon) > 2:
            by_picture.setdefault(one.thermogram, []).append(one)
    for shown in by_picture.values():
        yield from ((a.id, b.id) for a, b in combinations(shown, 2) if overlap(a, b) >= SHARED_AREA)


def overlap(first: Finding, second: Finding) -> float:
    """Shared area of two outlines as a share of the smaller one, 0 to 1."""
    assert first.outline is not None and second.outline is not None
    shapes = [np.asarray(one.polygon, float) for one in (first.outline, second.outline)]
    lows, highs = [one.min(axis=0) for one in shapes], [one.max(axis=0) for one in shapes]
    if (np.minimum(*highs) < np.maximum(*lows)).any():
        return 0.0
    start, end = np.minimum(*lows), np.maximum(*highs)
    scale = FINEST / max(float((end - start).max()), 1e-6)
    width, height = (int(np.ceil(one * scale)) + 2 for one in (end - start))
    masks = [
        Region("", "", "polygon", tuple((float(x), float(y)) for x, y in (one - start) * scale)).mask(height, width)
        for one in shapes
    ]
    smaller = min(int(one.sum()) for one in masks)
    return float((masks[0] & masks[1]).sum()) / smaller if smaller else 0.0
