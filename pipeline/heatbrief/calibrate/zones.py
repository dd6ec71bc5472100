"""Material zones of a picture: the view's own material, and every region that names one painted over it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from heatbrief.api import Context, StepError
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.model.quantity import Quantity
from heatbrief.model.thermogram import Picture
from heatbrief.physics.emissivity import UnknownMaterial, find_material

EMISSIVITY_UNSTATED = 0.01
DEFAULT_EMISSIVITY, DEFAULT_LOW, DEFAULT_HIGH = 0.95, 0.85, 0.98
"""Painted, plastered, wooden, brick and plastic surfaces lie in this range; our choice when nothing is said."""
APPLIED_STANDARD = 0.03
MOST_ZONES = 255


@dataclass(frozen=True)
class Zone:
    """A kind of surface; `shape` is that of the emissivity's error. `as_given` zones hold the file's own
    temperatures."""

    emissivity: float
    standard: float
    shared: str
    as_given: bool = False
    assumed: str = ""
    shape: str = "normal"


def zones_of(
    picture: Picture, context: Context, settings: RadianceSettings
) -> tuple[tuple[Zone, ...], np.ndarray | None]:
    """The zones and, when there are several, which one each pixel lies in (uint8). StepError "unknown-material"."""
    height, width = picture.values.shape
    zones = [_base(picture, context, settings)]
    painted: np.ndarray | None = None
    for region in context.regions:
        zone = _stated(region.emissivity, region.material, region.name)
        if zone is None:
            continue
        if zone not in zones:
            zones.append(zone)
        if len(zones) > MOST_ZONES:
            raise StepError(
                "too-many-materials",
                f"the regions of this picture have more than {MOST_ZONES} emissivities",
                "Name materials instead of single emissivities.",
            )
        painted = np.zeros((height, width), np.uint8) if painted is None else painted
        rows, columns, inside = region.window(height, width)
        np.copyto(painted[rows, columns], zones.index(zone), where=inside)
    return tuple(zones), painted


def _base(picture: Picture, context: Context, settings: RadianceSettings) -> Zone:
    view = context.view
    stated = _stated(view.emissivity, view.material, view.thermogram)
    if stated is not None:
        return stated
    if settings.emissivity is not None:
        return _of(settings.emissivity, "emissivity:setting")
    if picture.kelvin and not view.applied:
        return Zone(1.0, 0.0, "", True, "temperatures as the file gives them; its own correction is not judged")
    if "emissivity" in view.applied:
        value = float(view.applied["emissivity"])
        return Zone(
            value,
            APPLIED_STANDARD,
            "emissivity:applied",
            False,
            f"emissivity not given: the {value:g} set in the camera is kept",
        )
    return Zone(
        DEFAULT_EMISSIVITY,
        (DEFAULT_HIGH - DEFAULT_LOW) / 12**0.5,
        "emissivity:assumed",
        False,
        f"emissivity not given: {DEFAULT_EMISSIVITY:g} assumed, {DEFAULT_LOW:g} to {DEFAULT_HIGH:g} possible",
        "rectangle",
    )


def _stated(emissivity: Quantity | None, material: str, owner: str) -> Zone | None:
    if emissivity is not None:
        return _of(emissivity, f"emissivity:{material or owner}")
    if not material:
        return None
    try:
        found = find_material(material)
    except UnknownMaterial as error:
        near = " or ".join(repr(one) for one in error.suggestions)
        raise StepError(
            "unknown-material",
            f"no emissivity is known for {material[:80]!r}",
            f"Write {near}, or give `emissivity:`." if near else "Give `emissivity:` for it.",
        ) from None
    standard = max(found.standard_uncertainty, EMISSIVITY_UNSTATED / 2)
    return Zone(found.typical, standard, f"emissivity:{found.name}", shape="rectangle")


def _of(quantity: Quantity, shared: str) -> Zone:
    if not 0.0 < quantity.value <= 1.0:
        raise StepError(
            "emissivity", f"an emissivity of {quantity.value:g} is not possible", "Give a number above 0 and up to 1."
        )
    return Zone(quantity.value, quantity.standard or EMISSIVITY_UNSTATED, shared)
