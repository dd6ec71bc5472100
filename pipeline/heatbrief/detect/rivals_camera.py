"""Rival explanations that lie in the camera and its lens: shading, focus, warming up.

Same rules as in `rivals_picture`: a Case in, a Rival out, None where it does not apply.
"""

from __future__ import annotations

import math

import numpy as np

from heatbrief.detect.case import Case
from heatbrief.detect.field import fit_field, residual_sigma
from heatbrief.detect.judge import magnitude
from heatbrief.detect.measure import Area
from heatbrief.detect.outline import grown
from heatbrief.detect.words import number
from heatbrief.model.finding import Rival, RivalStatus
from heatbrief.model.once import once
from heatbrief.model.quantity import NORMAL_95
from heatbrief.physics.robust import median_of

SHADING_SHARE = 0.5
STEADY_TREND = 0.5
SHADING_SOURCE = "lens shading"
"""Name of the line of a picture's errors that says what the calibration left of the shading."""
_RINGS = 16
SOFT_EDGE = 8.0
SETTLED_MINUTES = 10.0
SHARP_FOR_DRIFT = 6.0

EXPLANATIONS = {
    "lens shading": "shading of the lens toward the corners",
    "out of focus": "a picture out of focus",
    "camera not settled": "a camera that had not settled",
}


def rival(name: str, status: RivalStatus, evidence: str, missing: str = "") -> Rival:
    """A Rival with the fixed wording of its name."""
    return Rival(EXPLANATIONS[name], status, evidence, missing)


def lens_shading(case: Case) -> Rival | None:
    """Whether what is left of the shading could make the contrast: by the line the calibration wrote about it, and by
    a trend of the whole picture with the distance from its centre."""
    area = case.area
    if area is None:
        return None
    left = _left_over(case)
    trend = _radial(case, area)
    if trend is None and left is None:
        return rival(
            "lens shading",
            "not testable",
            "too little of the picture is left to see a trend toward the corners",
            "a picture with the spot in the middle",
        )
    unit = area.contrast.unit
    could = False
    said: list[str] = []
    if left is not None:
        could = left >= SHADING_SHARE * magnitude(area.contrast)[0]
        said.append(f"of the shading measured and taken out, up to {number(left, unit)} may be left")
    if trend is not None:
        share, drop = trend
        could = could or share >= SHADING_SHARE
        said.append(
            f"the trend from centre to corner is {number(drop, unit)}; at this place ({_place(case, area)}) it explains "
            f"{min(max(share, 0.0), 1.0):.0%} of the contrast"
        )
    return rival("lens shading", "not ruled out" if could else "ruled out", "; ".join(said))


def _left_over(case: Case) -> float | None:
    """What the shading may still add to a difference over the picture [K], 95 %; None without such a line."""
    level = float(np.nanmean(case.subject.values[case.mask]))
    lines = [one for one in case.subject.errors_of(case.mask) if one.name == SHADING_SOURCE]
    effects = [float(one.effect(level)) for one in lines]
    return NORMAL_95 * math.sqrt(2.0 * sum(one**2 for one in effects)) if lines else None


def _place(case: Case, area: Area) -> str:
    x, y = area.centre
    here = slice(round(y), round(y) + 1), slice(round(x), round(x) + 1)
    away = math.sqrt(float(_radius_squared(case.subject.shape, here)[0, 0]))
    return f"{away:.0%} of the way from the centre to the corner"


_WHOLE = (slice(None), slice(None))


def _radius_squared(shape: tuple[int, int], part: tuple[slice, slice] = _WHOLE) -> np.ndarray:
    """Squared distance from the centre, 1 in the corners, of a part of a picture."""
    height, width = shape
    y = (np.arange(height)[part[0], None] - (height - 1) / 2) / (height / 2)
    x = (np.arange(width)[None, part[1]] - (width - 1) / 2) / (width / 2)
    aspect = height / width
    return ((x**2 + (aspect * y) ** 2) / (1 + aspect**2)).astype(np.float32)


def _radial(case: Case, area: Area) -> tuple[float, float] | None:
    """(share of the contrast that the radial trend explains, trend from centre to corner); None for too few pixels.

    The trend is the profile of ring medians of (picture minus plane), the found area left out of it: what a lens does
    shows in
    the rest of each ring too, what one area does shows in the area alone. Without a steady trend the share is 0.
    """
    picture, valid = case.subject, case.subject.valid
    if np.count_nonzero(valid & ~case.mask) < 400:
        return None
    step = max(1, round(math.sqrt(picture.values.size / 20_000)))
    some = slice(None, None, step), slice(None, None, step)
    values, noise = picture.values[some], picture.noise()
    rest = valid[some] & ~grown(case.mask, 3)[some]
    field = once(picture.values, ("plane", step, noise), lambda: fit_field(values, valid[some], "plane", noise=noise))
    places, levels = _ring_medians(values - field.expected, rest, _radius_squared(picture.shape, some))
    if places.size < 6:
        return None
    drop = float(levels[-1] - levels[0])
    if abs(_steadiness(levels)) < STEADY_TREND or not area.contrast.value:
        return 0.0, drop
    x0, y0, x1, y1 = area.box
    squared = _radius_squared(picture.shape, (slice(y0, y1), slice(x0, x1)))[area.bits]
    here = float(np.interp(squared, places, levels).mean())
    return (here - float(np.median(levels))) / area.contrast.value, drop


def _ring_medians(rest: np.ndarray, chosen: np.ndarray, squared: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(radius squared, median) of rings of equal area that hold enough pixels."""
    ring = (squared * _RINGS).astype(int)
    found = []
    for number_of in range(_RINGS):
        members = chosen & (ring == number_of)
        if np.count_nonzero(members) >= 12:
            found.append((float(squared[members].mean()), median_of(rest[members])))
    return np.array([place for place, _ in found]), np.array([level for _, level in found])


def _steadiness(levels: np.ndarray) -> float:
    """Kendall's rank correlation of the levels with their order: 1 or -1 for a steady rise or fall."""
    first, second = np.triu_indices(levels.size, 1)
    return float(np.sign(levels[second] - levels[first]).mean())


def out_of_focus(case: Case) -> Rival | None:
    """Whether the edge of the area is as soft as a defocused picture would make it."""
    width = None if case.area is None else case.area.edge_width
    if width is None:
        return rival(
            "out of focus",
            "not testable",
            "the area has no edge that could be measured",
            "a second picture, focused on the surface",
        )
    evidence = f"the edge of the area takes {width:.1f} pixels from 10 to 90 %"
    if width <= SOFT_EDGE:
        return rival(
            "out of focus", "ruled out", f"{evidence}; a picture out of focus would take more than {SOFT_EDGE:.0f}"
        )
    sharpest = _sharpest(case)
    if sharpest is not None and sharpest < SOFT_EDGE / 2:
        return rival(
            "out of focus",
            "ruled out",
            f"{evidence}, but other edges of the picture take only about {sharpest:.1f}: "
            "the softness is in the surface",
        )
    return rival("out of focus", "not ruled out", f"{evidence} and the picture shows no sharper edge elsewhere")


def _sharpest(case: Case) -> float | None:
    """Width of the sharpest strong edge of the picture [px]: a step over its steepest slope; None when nothing stands
    out of the noise. What touches a masked pixel is no edge."""
    values = case.subject.values
    values = values[1:-1, 1:-1] / 2 + (values[:-2, 1:-1] + values[2:, 1:-1]) / 4
    steepest, best = 0.0, None
    for axis in (0, 1):
        change = np.diff(values, axis=axis)
        slope = np.nan_to_num(np.abs(change))
        place = np.unravel_index(int(slope.argmax()), slope.shape)
        line = np.take(values, place[1 - axis], axis=1 - axis)
        near = line[max(place[axis] - 8, 0) : place[axis] + 10]
        if slope[place] <= steepest:
            continue
        step = float(np.nanmax(near) - np.nanmin(near))
        if step > 10 * max(case.subject.noise(), residual_sigma(change, np.isfinite(change))):
            steepest, best = float(slope[place]), 1.02 * step / float(slope[place])
    return best


def camera_not_settled(case: Case) -> Rival | None:
    """A camera still warming up shows slow, smooth patterns; time switched on and sharpness of the edge tell."""
    minutes = case.number("camera running")
    if minutes is not None:
        status: RivalStatus = "ruled out" if minutes >= SETTLED_MINUTES else "not ruled out"
        return rival(
            "camera not settled",
            status,
            f"the camera had run for {minutes:.0f} minutes; {SETTLED_MINUTES:.0f} are usual before readings hold",
        )
    width = None if case.area is None else case.area.edge_width
    if width is not None and width <= SHARP_FOR_DRIFT:
        return rival(
            "camera not settled",
            "ruled out",
            f"the edge is {width:.1f} pixels wide; drift makes smooth patterns without edges",
        )
    return rival(
        "camera not settled",
        "not testable",
        "no sharp edge, and the time the camera had run is not given",
        "how long the camera had run (`camera running`)",
    )
