"""Rival explanations that lie in what the surface mirrors and in what else stands in the picture.

Each function takes a Case and returns a Rival, or None where it does not apply. Limits without a source are our own
choice and common practice; they are named constants so that they can be found.
"""

from __future__ import annotations

import math

import numpy as np

from heatbrief.detect.case import Case
from heatbrief.detect.judge import REFLECTION
from heatbrief.detect.regions import matches, own_regions
from heatbrief.detect.words import figure
from heatbrief.model.finding import Rival, RivalStatus

LEAST_TRUSTED_EMISSIVITY = 0.6
"""Below it a surface mirrors too much to be read (domains dossier 1.5: at least 0.6; common practice, no source)."""
WARM_SOURCE_K, COLD_SOURCE_K, SKY_K = 60.0, 25.0, 70.0
"""Largest likely difference of a mirrored thing from the surroundings: radiator or lamp, window pane, clear sky
(common practice)."""
REFLECTING = ("glass", "glazing", "window", "mirror", "tile", "polished", "gloss", "varnish", "screen")

WARM_BODIES = ("person", "people", "lamp", "light", "heater", "radiator", "stove", "fire", "oven", "animal")
ANOTHER_ANGLE = "a second picture from another angle"

EXPLANATIONS = {
    "reflection": REFLECTION,
    "glass": "glass or another mirror-like surface",
    "object edge": "the edge of an object or of the region",
}


def rival(name: str, status: RivalStatus, evidence: str, missing: str = "") -> Rival:
    """A Rival with the fixed wording of its name."""
    return Rival(EXPLANATIONS[name], status, evidence, missing)


def reflection(case: Case) -> Rival | None:
    """Whether the pattern moved with the point of view or followed a warm body; else how much warmer or colder a
    mirrored thing would have to be, from the emissivity."""
    second = str(case.fact("second view") or "").strip().casefold()
    if second == "moved":
        return rival("reflection", "not ruled out", "the pattern moved with the point of view, as a reflection does")
    if second == "same place":
        return rival("reflection", "ruled out", "the pattern stayed in place when seen from another point")
    followed = str(case.fact("warm body") or "").strip().casefold()
    if followed == "followed":
        return rival("reflection", "not ruled out", "the pattern followed when a warm body before the surface moved")
    if case.emissivity is None:
        return rival(
            "reflection",
            "not testable",
            "the emissivity of the surface is not known",
            f"the material of the surface, or {ANOTHER_ANGLE}",
        )
    if case.emissivity < LEAST_TRUSTED_EMISSIVITY:
        return rival(
            "reflection",
            "not ruled out",
            f"the surface mirrors {100 * (1 - case.emissivity):.0f} % of what faces it "
            f"(emissivity {case.emissivity:.2f}, trusted from {LEAST_TRUSTED_EMISSIVITY})",
        )
    contrast = case.contrast
    if contrast is None or contrast.unit != "K":
        return rival(
            "reflection",
            "not testable",
            f"emissivity {case.emissivity:.2f}, but no contrast in kelvin to compare with",
            ANOTHER_ANGLE,
        )
    needed = abs(contrast.value) * case.emissivity / max(1 - case.emissivity, 1e-3)
    outdoors = matches(("roof", "outside", "facade", "exterior", "outdoors"), case.view.shows)
    likely = WARM_SOURCE_K if case.warm else SKY_K if outdoors else COLD_SOURCE_K
    word = "warmer" if case.warm else "colder"
    evidence = (
        f"at emissivity {case.emissivity:.2f} a reflection would need something about {figure(round(needed), 'K')} K "
        f"{word} than the surroundings in the mirror direction"
    )
    if needed > likely:
        return rival("reflection", "ruled out", f"{evidence}; {likely:.0f} K is the most that is likely")
    evidence += _warm_body(case, needed)
    if followed == "stayed":
        evidence += "; it stayed when a warm body before the surface moved, which rules out that body alone"
    else:
        evidence += _own_image(case)
    return rival("reflection", "not testable", evidence, ANOTHER_ANGLE)


def _warm_body(case: Case, needed: float) -> str:
    """A declared person, lamp or heater in the same picture that is warm enough to be the mirrored thing."""
    if not case.warm or case.area is None:
        return ""
    values, level = case.subject.values, float(np.nanmedian(case.subject.values))
    for region in own_regions(case.context, case.subject):
        if region.shape != "whole" and region is not case.region and matches(WARM_BODIES, region.shows):
            seen = values[region.mask(*case.subject.shape) & case.subject.valid & ~case.mask]
            if seen.size and float(np.percentile(seen, 90)) - level >= needed:
                return f'; "{region.name}" in the same picture is that warm'
    return ""


def _own_image(case: Case) -> str:
    """A warm, compact patch in the middle may be the operator's own reflection."""
    if case.area is None or not case.warm:
        return ""
    height, width = case.subject.shape
    off = math.hypot(case.area.centre[0] - width / 2, case.area.centre[1] - height / 2) / math.hypot(width, height)
    return (
        "; it lies in the middle of the picture, where a person holding the camera would see themselves"
        if off < 0.1
        else ""
    )


def glass(case: Case) -> Rival | None:
    """Glass is opaque to the camera and mirrors; declared regions, materials and words tell."""
    for region in own_regions(case.context, case.subject):
        if matches(REFLECTING, f"{region.shows} {region.material}") and region.shape != "whole":
            overlap = float((region.mask(*case.subject.shape) & case.mask).sum()) / max(int(case.mask.sum()), 1)
            if overlap > 0.1:
                return rival("glass", "not ruled out", f'{overlap:.0%} of the area lies in the region "{region.name}"')
    if case.material:
        status: RivalStatus = "not ruled out" if matches(REFLECTING, case.material) else "ruled out"
        return rival("glass", status, f"the surface is stated to be {case.material}")
    if matches(REFLECTING, case.view.shows):
        return rival("glass", "not ruled out", f'the picture is said to show "{case.view.shows}"')
    return rival("glass", "not testable", "the material of the surface is not given", "the material of the surface")


def object_edge(case: Case) -> Rival | None:
    """An area that reaches the edge of the searched region may belong to what lies beyond it."""
    if case.area is None:
        return None
    if case.area.touches_edge:
        return rival("object edge", "not ruled out", "the area reaches the edge of the region that was searched")
    return rival(
        "object edge",
        "ruled out",
        f"the area ends {case.area.edge_distance:.0f} pixels before the edge of the region that was searched",
    )
