"""From a patch of pixels to its outline, and the plain numbers of its shape."""

from __future__ import annotations

import math

import numpy as np

MOST_CORNERS = 64
_STEPS = {0: (1, 0), 1: (0, 1), 2: (-1, 0), 3: (0, -1)}
_AHEAD = {0: ((-1, 0), (0, 0)), 1: ((0, 0), (0, -1)), 2: ((0, -1), (-1, -1)), 3: ((-1, -1), (-1, 0))}
"""For each heading, (down, across) from a corner to the pixels ahead on the left and on the right."""


def grown(mask: np.ndarray, times: int) -> np.ndarray:
    """The mask widened by `times` pixels: along rows and columns in odd turns, also across corners in even ones."""
    mask = mask.copy()
    for turn in range(times):
        wider = mask.copy()
        wider[1:] |= mask[:-1]
        wider[:-1] |= mask[1:]
        base = wider.copy() if turn % 2 else mask
        wider[:, 1:] |= base[:, :-1]
        wider[:, :-1] |= base[:, 1:]
        mask = wider
    return mask


def framed(mask: np.ndarray, width: int) -> np.ndarray:
    """The mask with so many pixels outside it all round: numpy.pad, several times quicker for small masks."""
    wide = np.zeros((mask.shape[0] + 2 * width, mask.shape[1] + 2 * width), bool)
    wide[width : width + mask.shape[0], width : width + mask.shape[1]] = mask
    return wide


def shrunk(mask: np.ndarray, times: int = 1) -> np.ndarray:
    """The mask less `times` pixels all round; what lies beyond the array counts as outside."""
    return ~grown(~framed(mask, times), times)[times:-times, times:-times] if times else mask.copy()


def outline_of(bits: np.ndarray, origin: tuple[int, int], bridge: int = 0) -> tuple[tuple[float, float], ...]:
    """Outer boundary of the largest part as (x, y) corners in pixels, clockwise on the screen, from its top left
    corner.

    Pixel centres are whole numbers, so corners lie on halves. Parts up to 2 x `bridge` pixels apart are joined first.
    Corners that
    change the boundary by less than about a pixel are left out, and more of them until at most 64 remain.
    """
    pad = bridge + 1
    mask = framed(bits, pad)
    if bridge:
        mask = shrunk(grown(mask, bridge), bridge) | mask
    corners = _trace(_largest(mask))
    if len(corners) == 0:
        return ()
    tolerance = 0.75
    kept = _simplified(corners, tolerance)
    while len(kept) > MOST_CORNERS:
        tolerance *= 1.5
        kept = _simplified(corners, tolerance)
    x0, y0 = origin
    return tuple((float(x) + x0 - pad - 0.5, float(y) + y0 - pad - 0.5) for x, y in kept)


def _largest(mask: np.ndarray) -> np.ndarray:
    from scipy.ndimage import label

    labels, count = label(mask)
    if count <= 1:
        return mask
    result: np.ndarray = labels == 1 + int(np.argmax(np.bincount(labels.ravel())[1:]))
    return result


def _trace(mask: np.ndarray) -> np.ndarray:
    """Corners of the boundary cracks walked with the patch on the right, starting at the top left pixel; turns only."""
    rows, columns = np.nonzero(mask)
    if rows.size == 0:
        return np.zeros((0, 2))
    start = (int(columns[0]), int(rows[0]))
    (x, y), heading = start, 0
    corners: list[tuple[int, int]] = []
    bits = mask.tolist()  # single pixels of a list are read several times as quickly
    while True:
        ahead_left, ahead_right = _ahead(bits, x, y, heading)
        turn = 1 if not ahead_right else -1 if ahead_left else 0
        if turn or not corners:
            corners.append((x, y))
        heading = (heading + turn) % 4
        x, y = x + _STEPS[heading][0], y + _STEPS[heading][1]
        if (x, y) == start and len(corners) > 2:
            return np.array(corners, float)


def _ahead(mask: list[list[bool]], x: int, y: int, heading: int) -> tuple[bool, bool]:
    """Whether the pixels ahead on the left and on the right of a corner belong to the patch."""
    (left_down, left_across), (right_down, right_across) = _AHEAD[heading]
    return mask[y + left_down][x + left_across], mask[y + right_down][x + right_across]


def _simplified(points: np.ndarray, tolerance: float) -> np.ndarray:
    """Douglas-Peucker on the closed line, split at the corner farthest from the first; at least three corners stay."""
    if len(points) <= 4:
        return points
    far = int(np.argmax(np.hypot(*(points - points[0]).T)))
    closed = np.vstack([points, points[:1]])
    keep = np.zeros(len(closed), bool)
    keep[[0, far, -1]] = True
    stack = [(0, far), (far, len(closed) - 1)]
    while stack:
        first, last = stack.pop()
        if last - first < 2:
            continue
        distance = _from_line(closed[first + 1 : last], closed[first], closed[last])
        worst = int(np.argmax(distance))
        if distance[worst] > tolerance:
            middle = first + 1 + worst
            keep[middle] = True
            stack += [(first, middle), (middle, last)]
    kept = closed[:-1][keep[:-1]]
    return kept if len(kept) >= 3 else points


def _from_line(points: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    along = end - start
    length = math.hypot(*along)
    if length == 0:
        from_point: np.ndarray = np.hypot(*(points - start).T)
        return from_point
    offset = points - start
    result: np.ndarray = np.abs(along[0] * offset[:, 1] - along[1] * offset[:, 0]) / length
    return result


def shape_numbers(bits: np.ndarray) -> tuple[float, float, float]:
    """(elongation, fill, least width [px]) of a patch.

    Elongation is the ratio of the principal standard deviations (1 round or square); fill is the share of the box
    along the
    principal axes that it covers; the width is the number of pixels over the extent of the longer axis.
    """
    rows, columns = np.nonzero(bits)
    centred = np.stack([columns - columns.mean(), rows - rows.mean()])
    spread = centred @ centred.T / rows.size + np.eye(2) / 12
    values, axes = np.linalg.eigh(spread)
    if values[1] - values[0] < 0.1 * values[1]:
        axes = np.eye(2)
    along = axes.T @ centred
    unit = np.abs(axes).sum(axis=0)
    extent = np.ptp(along, axis=1) + unit
    long = float(extent.max())
    return float(np.sqrt(values[1] / values[0])), min(1.0, float(rows.size / extent.prod())), float(rows.size / long)


def edge_pixels(mask: np.ndarray) -> np.ndarray:
    """Pixels of the mask with a neighbour outside it; what lies beyond the array counts as outside."""
    result: np.ndarray = mask & ~shrunk(mask)
    return result
