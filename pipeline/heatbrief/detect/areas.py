"""Find compact areas that differ from what a surface should show, and measure them with bounds."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

import numpy as np

from heatbrief.detect.field import Field, Kind, fit_field
from heatbrief.detect.measure import Area, Sign, measured_area
from heatbrief.detect.outline import edge_pixels, grown
from heatbrief.model.region import bounding_box
from heatbrief.model.thermogram import Thermogram
from heatbrief.physics.robust import quantiles_of

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

Window = tuple[slice, slice]
SMALLEST = 9
"""Least number of pixels: 3 x 3, below which a reading is mostly its surroundings (common practice, no source)."""
FALSE_STARTS = 1e-3
"""Areas that white noise may start in one search, so that small pictures are searched down to smaller contrasts."""
LEAST_SEED, SEED = 5.0, 6.0
"""Least and greatest mean of 3 x 3 pixels over its own scatter that starts an area. The greatest leaves less than one
false start in 1000 pictures of 640 x 480 of white noise."""
GROW = 2.5
CORE = 8.0
"""A place this many times the level of the area around it is judged by its own (our own choice; the skirt of one
blurred spot stays below)."""
_MARGIN = 16
"""Pixels about what starts areas within which the areas are looked for first."""
_HALF = 0.5
_LEVEL = 0.7


def find_areas(
    thermogram: Thermogram,
    inside: np.ndarray | None = None,
    sign: Literal["warm", "cold", "either"] = "either",
    *,
    kind: Kind = "smooth",
    smallest: int = SMALLEST,
    smallest_m2: float = 0.0,
    seed: float | None = None,
    grow: float = GROW,
    gap: int | None = None,
    keep_edge: bool = True,
    most: int = 50,
    field: Field | None = None,
) -> tuple[Area, ...]:
    """Areas inside a mask that are warmer or colder than the expected field, from top to bottom, then left to right.

    An area starts where the mean of 3 x 3 pixels exceeds `seed` times its own scatter (noise and texture of the
    picture as found; without `seed`, `start_level` of the searched pixels) and grows down to `grow` times it; it is
    then cut at half of its own level, so that its outline does not depend on how strong it is. Areas of one sign
    within `gap` pixels (1 % of the picture's width, at least 2) are one, but one that touches the edge of the region
    is never merged with one that does not. A core that stands out CORE times as much as the area around it is an area
    of its own, and the rest another.

    smallest, smallest_m2   least size; the second, of what each pixel shows on the surface, is ignored where that is
                            not known
    keep_edge               False drops areas that touch the edge of the region
    most                    the strongest so many are kept
    field                   a field fitted before, instead of fitting one of `kind`
    Returns an empty tuple when the region has fewer than 4 x `smallest` valid pixels: there is nothing to compare with.
    """
    region = np.ones(thermogram.shape, bool) if inside is None else inside
    field = field or fit_field(thermogram.values, region, kind, noise=thermogram.noise())
    x0, y0, x1, y1 = field.box
    good = field.inside[y0:y1, x0:x1]
    pixels = int(np.count_nonzero(good))
    if pixels < 4 * smallest:
        return ()
    smoothed = field.smoothed(thermogram.values)
    sizes = _Sizes(thermogram, smallest, smallest_m2, field.box)
    gap = max(2, round(0.01 * thermogram.shape[1])) if gap is None else gap
    edge = _EdgeOfRegion(thermogram, region)
    seed = start_level(pixels) if seed is None else seed
    limits = (field.scatter(9) * seed, field.scatter(9) * grow)
    found: list[tuple[_Patch, Sign]] = []
    for one in _signs(sign, smoothed, limits[0]):
        level = smoothed if one == "warm" else -smoothed
        kept = _standing_out(level, good, *limits, sizes.fewest)
        for whole in _joined(kept, level, gap, (x0, y0), edge):
            parts = _cored(whole, level, limits, gap, (x0, y0), edge)
            found += [(patch, one) for patch in parts if sizes.enough(patch)]
    found = [pair for pair in found if keep_edge or pair[0].edge_distance >= 1.0]
    found = sorted(found, key=lambda pair: (-pair[0].strength, pair[0].origin[::-1], pair[1]))[:most]
    found.sort(key=lambda pair: (pair[0].origin[::-1], pair[1]))
    areas = [
        measured_area(thermogram, field, smoothed, one, p.bits, p.origin, p.edge_distance, gap) for p, one in found
    ]
    return tuple(replace(area, ordinal=place) for place, area in enumerate(areas, 1))


def start_level(pixels: int) -> float:
    """How many times its own scatter a mean of 3 x 3 has to stand out to start an area among that many pixels: white
    noise starts FALSE_STARTS areas, warm and cold; between LEAST_SEED and SEED."""
    return min(max(LEAST_SEED, -NormalDist().inv_cdf(min(FALSE_STARTS / (2.0 * max(pixels, 1)), 0.5))), SEED)


def _signs(wanted: str, smoothed: np.ndarray, high: float) -> tuple[Sign, ...]:
    """The signs that are wanted and of which some place stands out as much as starts an area."""
    found: tuple[Sign, ...] = ("warm",) if wanted != "cold" and smoothed.max() > high else ()
    return (*found, "cold") if wanted != "warm" and smoothed.min() < -high else found


class _Sizes:
    """Whether a patch is large enough, in pixels and on the surface."""

    def __init__(
        self, thermogram: Thermogram, smallest: int, smallest_m2: float, box: tuple[int, int, int, int]
    ) -> None:
        self.fewest, self.smallest_m2, self.areas = smallest, smallest_m2, None
        if thermogram.pixel is None or thermogram.pixel.area <= 0 or smallest_m2 <= 0:
            return
        self.areas = thermogram.pixel.areas(*thermogram.shape)
        part = self.areas[box[1] : box[3], box[0] : box[2]]
        largest = float(np.nanmax(part)) if np.isfinite(part).any() else math.inf
        self.fewest = max(smallest, math.floor(min(smallest_m2 / largest * (1 - 1e-9), thermogram.values.size)))

    def enough(self, patch: _Patch) -> bool:
        if patch.bits.sum() < self.fewest:
            return False
        if self.areas is None:
            return True
        (x0, y0), (height, width) = patch.origin, patch.bits.shape
        covered = float(self.areas[y0 : y0 + height, x0 : x0 + width][patch.bits].sum())
        # What lies beyond the horizon of the surface has no size there, so that it cannot be too small.
        return not covered < self.smallest_m2 * (1 - 1e-9)


@dataclass(frozen=True)
class _Patch:
    """Pixels that stand out; strength is their summed contrast over the square root of their number."""

    bits: np.ndarray
    origin: tuple[int, int]
    edge_distance: float
    strength: float


def _standing_out(level: np.ndarray, good: np.ndarray, high: float, low: float, smallest: int) -> np.ndarray:
    """Pixels above `low` in one piece with some above `high`, each piece cut at half of its own level."""
    kept = np.zeros(level.shape, bool)
    candidate = (level > low) & good
    for window, piece in _started(candidate, candidate & (level > high)):
        if np.count_nonzero(piece) >= smallest:
            kept[window] |= piece & (level[window] >= _HALF * quantiles_of(level[window][piece], (_LEVEL,))[0])
    return kept


def _started(candidate: np.ndarray, starts: np.ndarray) -> Iterator[tuple[Window, np.ndarray]]:
    """Pieces of the candidates, bool in their window, that hold a start.

    All other pieces are noise, so the pieces are looked for about the starts, and farther out only when one is cut.
    """
    from scipy.ndimage import find_objects, label

    margin, (height, width) = _MARGIN, candidate.shape
    x0, y0, x1, y1 = bounding_box(starts)
    while x1:
        top, left, bottom, right = max(y0 - margin, 0), max(x0 - margin, 0), y1 + margin, x1 + margin
        labels, _ = label(candidate[top:bottom, left:right], np.ones((3, 3)))
        wanted = np.unique(labels[starts[top:bottom, left:right]])
        cut = (
            (labels[:1], top > 0),
            (labels[-1:], bottom < height),
            (labels[:, :1], left > 0),
            (labels[:, -1:], right < width),
        )
        if any(inner and np.isin(side, wanted).any() for side, inner in cut):
            margin *= 4
            continue
        boxes = find_objects(labels)
        for number in wanted:
            rows, columns = boxes[number - 1]
            window = (slice(rows.start + top, rows.stop + top), slice(columns.start + left, columns.stop + left))
            yield window, labels[rows, columns] == number
        return


def _joined(
    kept: np.ndarray, level: np.ndarray, gap: int, corner: tuple[int, int], edge: _EdgeOfRegion
) -> Iterator[_Patch]:
    """Pieces within `gap` of each other as one; pieces at the region's edge are joined only among themselves."""
    from scipy.ndimage import find_objects, label

    x0, y0, x1, y1 = bounding_box(kept)
    if not x1:
        return
    x0, y0 = max(x0 - gap, 0), max(y0 - gap, 0)
    kept, level, corner = kept[y0 : y1 + gap, x0 : x1 + gap], level[y0:, x0:], (corner[0] + x0, corner[1] + y0)
    labels, _ = label(kept, np.ones((3, 3)))
    groups, _ = label(grown(kept, (gap + 1) // 2), np.ones((3, 3)))
    members: dict[tuple[int, bool], list[tuple[int, tuple[slice, ...], float]]] = {}
    for number, window in enumerate(find_objects(labels), 1):
        bits = labels[window] == number
        row, column = np.unravel_index(int(bits.argmax()), bits.shape)
        away = edge.distance(bits, (corner[0] + window[1].start, corner[1] + window[0].start))
        group = (int(groups[window][row, column]), away < 1.0)
        members.setdefault(group, []).append((number, window, away))
    for parts in members.values():
        rows = slice(min(w[0].start for _, w, _ in parts), max(w[0].stop for _, w, _ in parts))
        columns = slice(min(w[1].start for _, w, _ in parts), max(w[1].stop for _, w, _ in parts))
        bits = np.logical_or.reduce([labels[rows, columns] == number for number, _, _ in parts])
        strength = float(level[rows, columns][bits].sum()) / math.sqrt(np.count_nonzero(bits))
        yield _Patch(bits, (corner[0] + columns.start, corner[1] + rows.start), min(p[2] for p in parts), strength)


def _cored(
    patch: _Patch,
    level: np.ndarray,
    limits: tuple[float, float],
    gap: int,
    corner: tuple[int, int],
    edge: _EdgeOfRegion,
) -> tuple[_Patch, ...]:
    """The patch as it is, or what stands far above the rest of it, and away from the edge, apart from that rest."""
    top, left = patch.origin[1] - corner[1], patch.origin[0] - corner[0]
    window = (slice(top, top + patch.bits.shape[0]), slice(left, left + patch.bits.shape[1]))
    own = level[window]
    usual = float(np.median(own[patch.bits]))
    if not float(own[patch.bits].max()) >= CORE * usual > 0:
        return (patch,)
    high = max(limits[0], (CORE - 1.0) * usual)
    kept = _standing_out(own - np.float32(usual), patch.bits, high, limits[1], SMALLEST)
    # What reaches the edge of the region is no core but the flank of something beyond it.
    cores = tuple(core for core in _joined(kept, own, gap, patch.origin, edge) if core.edge_distance >= 1.0)
    rest = patch.bits.copy()
    for core in cores:
        x, y = core.origin[0] - patch.origin[0], core.origin[1] - patch.origin[1]
        apart = np.zeros(rest.shape, bool)
        apart[y : y + core.bits.shape[0], x : x + core.bits.shape[1]] = core.bits
        rest &= ~grown(apart, gap)
    if not cores or not rest.any():
        return (patch,)
    away = edge.distance(rest, patch.origin)
    strength = float(own[rest].sum()) / math.sqrt(rest.sum())
    return (*cores, _Patch(rest, patch.origin, away, strength))


class _EdgeOfRegion:
    """Distance from a patch to the edge of the searched region, exact and without a distance map of the picture."""

    def __init__(self, thermogram: Thermogram, region: np.ndarray) -> None:
        self.height, self.width = region.shape
        self.thermogram, self.searched = thermogram, region

    @cached_property
    def tree(self) -> cKDTree | None:
        """Pixels at the edge that lie within the picture; None when there are none."""
        region = self.searched | ~self.thermogram.valid
        if region.all():
            return None
        from scipy.spatial import cKDTree

        rows, columns = np.nonzero(edge_pixels(region))
        inner = (rows > 0) & (columns > 0) & (rows < self.height - 1) & (columns < self.width - 1)
        return cKDTree(np.stack([columns[inner], rows[inner]], axis=1)) if inner.any() else None

    def distance(self, bits: np.ndarray, origin: tuple[int, int]) -> float:
        """Pixels between the patch and the region's edge; 0 when it lies on the last pixel inside."""
        x0, y0 = origin
        least = float(min(x0, y0, self.width - x0 - bits.shape[1], self.height - y0 - bits.shape[0]))
        if self.tree is not None:
            rows, columns = np.nonzero(edge_pixels(bits))
            least = min(least, float(np.min(self.tree.query(np.stack([columns + x0, rows + y0], axis=1))[0])))
        return max(least, 0.0)
