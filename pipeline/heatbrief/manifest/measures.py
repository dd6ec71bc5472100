"""Checks of what the manifest says about lens, detector, known rectangles and the visible picture."""

from __future__ import annotations

from itertools import pairwise

from heatbrief.manifest.bind import Binder
from heatbrief.manifest.nodes import Node, Table
from heatbrief.manifest.schema import CameraEntry, ThermogramEntry
from heatbrief.physics.geometry import fit_homography

FAR = 1e6


def check_camera(binder: Binder, camera: CameraEntry) -> None:
    """Add what is wrong with the camera's lens and spectral response."""
    _, node = binder.origins.get(id(camera), (None, None))
    if not isinstance(node, Table):
        return
    if (camera.pixel_pitch is None) != (camera.focal_length is None):
        given, missing = (
            ("pixel_pitch", "focal_length") if camera.focal_length is None else ("focal_length", "pixel_pitch")
        )
        if missing not in node.entries:  # else it could not be read and has been reported
            _add(
                binder,
                node,
                given,
                "lens-incomplete",
                f"{given} without {missing} gives no angle",
                f"Add `{missing}:`, or give `field_of_view:` instead.",
            )
    if camera.response:
        waves, heights = zip(*camera.response, strict=True)
        rising = all(a < b for a, b in pairwise(waves))
        if len(waves) < 2 or waves[0] < 0.5 or waves[-1] > 30.0 or not rising or max(heights) <= 0.0:
            _add(
                binder,
                node,
                "response",
                "spectral-response",
                "the spectral response needs two or more wavelengths from 0.5 to 30 um, rising, and a response above 0",
                "Write [[wavelength in um, relative response], ...].",
            )


def check_geometry(binder: Binder, node: Table, entry: ThermogramEntry) -> None:
    """Add what is wrong with a known rectangle and with the places shared by the two pictures."""
    if entry.rectangle is not None:
        _check_rectangle(binder, node, entry.rectangle.corners)
    pairs = entry.visible_points
    given = [key for key in ("visible_points", "visible_matrix") if getattr(entry, key)]
    if len(given) == 2:
        _add(
            binder,
            node,
            given[1],
            "visible-twice",
            "the visible picture is fitted both by points and by a matrix",
            "Keep one of the two.",
        )
    elif given and not entry.visible and "visible" not in node.entries:
        _add(
            binder,
            node,
            given[0],
            "visible-missing",
            f"{given[0]} needs the visible picture",
            "Add `visible:` with its path.",
        )
    if pairs and (len({one for one, _ in pairs}) < 2 or len({one for _, one in pairs}) < 2):
        _add(
            binder,
            node,
            "visible_points",
            "visible-points",
            "at least two different places in both pictures are needed",
            "Give four or more, far apart: [[x, y] in the visible picture, [x, y] in the thermal one].",
        )
    if any(abs(number) > FAR for pair in pairs for point in pair for number in point):
        _add(
            binder,
            node,
            "visible_points",
            "visible-points",
            f"a place lies more than {FAR:.0f} pixels away",
            "Correct the numbers: they are pixels, x to the right and y down.",
        )


def _check_rectangle(binder: Binder, node: Table, corners: tuple[tuple[float, float], ...] | None) -> None:
    if not corners or len(corners) != 4:
        return  # a corner was wrong and has been reported
    try:
        if any(abs(number) > FAR for corner in corners for number in corner):
            raise ValueError("a corner lies far outside any picture")
        fit_homography(corners, ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)))
    except ValueError:
        _add(
            binder,
            node,
            "rectangle",
            "known-rectangle",
            "the corners cannot be those of a rectangle seen from the front",
            "Write four corners in order around it, no three of them in one line.",
        )


def _add(binder: Binder, node: Table, key: str, code: str, message: str, remedy: str) -> None:
    place: Node = node.at(key)
    binder.problems.add(place, code, message, remedy)
