"""How shade could look like growing water in a sequence, and how it is told apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from heatbrief.api import Context
from heatbrief.detect import Area, Case, find_areas, search_mask
from heatbrief.detect.sequence import Growth
from heatbrief.model import Gate, Region, Rival, Thermogram

from heatbrief_plumbing.ground import edge_words, near
from heatbrief_plumbing.sun import Sun

NEW_SHADE = "a shadow that came or lengthened meanwhile"
CONTACT = 0.4
"""Length along old shade or the picture's edge, over the area's least width, from which a growing shadow counts as
possible. Own choice."""
GROWN = "a patch that stayed or moved, such as shade"


def growth_gate(growth: Growth | None) -> Gate:
    """Growth through at least three pictures is what water does; two pictures show only that something changed."""
    if growth is None:
        return Gate(
            "three pictures or more",
            None,
            "asked: at least three pictures from the one with the valve shut; given: two",
            "",
            "Take one picture with the valve shut and two or more after it opens, some minutes apart.",
        )
    if growth.grows:
        return Gate(
            "growth", True, f"the area grew from picture to picture with a probability of {growth.probability:.0%}"
        )
    return Gate(
        "growth",
        None,
        f"growth has a probability of {growth.probability:.0%}, 95 % are asked",
        "",
        "Take more pictures after the valve opens, some minutes apart, from the same place.",
    )


def moved_shade(area: Area, warm: tuple[Area, ...]) -> Callable[[Case], Rival]:
    """A shadow that moves leaves a warm strip about as large where it was; a wet spot leaves none."""
    size = sum(one.pixels for one in warm if near(one, area))

    def moved(case: Case) -> Rival:
        if size >= 0.3 * area.pixels:
            return Rival(GROWN, "not ruled out", f"beside it {size} pixels became warmer, as where a shadow moved away")
        return Rival(
            GROWN,
            "ruled out",
            f"it is not in the picture before the valve opened, and only {size} pixels beside it became warmer; "
            f"a moving shadow of {area.pixels} pixels would leave about as many",
        )

    return moved


def cold_before(before: Thermogram, region: Region, context: Context) -> np.ndarray:
    """Pixels that were cold already with the valve shut."""
    found = find_areas(
        before, search_mask(before, replace(region, thermogram=before.id), context), "cold", kind="constant"
    )
    mask = np.zeros(before.shape, bool)
    for one in found:
        mask |= one.mask(*before.shape)
    return mask


def _contacts(mask: np.ndarray, already: np.ndarray, width: float) -> tuple[float, float]:
    """How long an area lies along the picture's edge, and along what was cold before, over its least width."""
    from scipy.ndimage import binary_dilation

    reach = 3
    rim = binary_dilation(mask, np.ones((3, 3), bool), iterations=reach) & ~mask
    border = np.zeros(mask.shape, bool)
    border[0], border[-1], border[:, 0], border[:, -1] = True, True, True, True
    touching = binary_dilation(mask, np.ones((3, 3), bool)) & border
    return float(touching.sum()) / max(width, 1.0), float((rim & already).sum()) / reach / max(width, 1.0)


def new_shade(area: Area, already: np.ndarray, sun: Sun | None) -> Callable[[Case], Rival | None]:
    """A shadow that enters the picture or lengthens grows as water does; it comes from the picture's edge or from a
    patch that was cold before."""

    def came(case: Case) -> Rival | None:
        if case.yes("shadow there") is False:
            return Rival(NEW_SHADE, "ruled out", "the owner saw no shadow there")
        if (sun is not None and not sun.up) or (sun is None and case.conditions.sun == "none"):
            return Rival(NEW_SHADE, "ruled out", "no sun stood on the ground")
        seen, edge, old = case.yes("shadow there"), *_contacts(case.mask, already, area.width)
        if seen or edge > CONTACT or old > CONTACT:
            what = (
                "the owner saw a shadow there"
                if seen
                else "it reaches the edge of the picture"
                if edge > CONTACT
                else "it lies against ground that was cold before"
            )
            return Rival(NEW_SHADE, "not ruled out", what + ", from where a shadow may have grown" + edge_words(case))
        return Rival(NEW_SHADE, "ruled out", "it lies free within the picture and away from what was cold before")

    return came
