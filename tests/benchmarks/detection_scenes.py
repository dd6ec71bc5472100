"""Scenes of the detection benchmark: one seed gives one picture of one domain, with or without a planted defect.

Every draw is from the ranges written here, none from a result. The context says what a careful survey would know:
conditions, loads and materials as they are; a second view of the surface was taken in about two of three pictures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import detection_electrical as electrical
import detection_envelope as envelope
import detection_plumbing as plumbing
import detection_vehicle as vehicle
import numpy as np
from detection_drafts import Draft, known
from heatbrief.api import Context
from heatbrief.model import Conditions
from heatbrief.testing import Imager, Scene, context_for

CAMERAS = (((80, 60), 0.36), ((160, 120), 0.44), ((320, 240), 0.17), ((640, 480), 0.03))
CLEAN_SHARE, SECOND_VIEW = 0.45, 0.65
FAMILIES: dict[str, tuple[str, float, Callable[[Draft], None]]] = {
    "insulation": ("envelope", 5.0, envelope.insulation),
    "bridge": ("envelope", 1.5, envelope.bridge),
    "window": ("envelope", 0.7, envelope.window),
    "panel": ("electrical", 3.5, electrical.panel),
    "plugs": ("electrical", 2.0, electrical.plugs),
    "inverters": ("electrical", 0.8, electrical.inverters),
    "damp": ("plumbing", 3.5, plumbing.damp),
    "pipe": ("plumbing", 2.5, plumbing.pipe),
    "radiator": ("plumbing", 1.0, plumbing.radiator),
    "shade": ("plumbing", 0.7, plumbing.shade),
    "exhaust": ("vehicle", 1.5, vehicle.exhaust),
    "core": ("vehicle", 2.0, vehicle.core),
}
"""Kind of scene: its domain, how often it is drawn, and how it is made."""


@dataclass(frozen=True)
class Trial:
    """One picture of the benchmark: `clean` without a planted defect; `traps` are the things in it that imitate one.

    kin   names of regions that a defect, by its name, warms besides its own
    """

    scene: Scene
    context: Context
    domain: str
    family: str
    clean: bool
    traps: tuple[str, ...]
    kin: dict[str, tuple[str, ...]]


def trial(seed: int) -> Trial:
    """The picture of a seed."""
    rng = np.random.default_rng([seed, 77])
    families = tuple(FAMILIES.items())
    name, (domain, _, make) = families[rng.choice(len(families), p=_shares())]
    draft = Draft(rng, clean=bool(rng.random() < CLEAN_SHARE))
    draft.width, draft.height = draft.pick(CAMERAS)  # type: ignore[misc]
    draft.noise = draft.spread(0.03, 0.5)
    make(draft)
    scene = _scene(draft, f"{name}-{seed}", seed)
    return Trial(scene, _context(draft, scene), domain, name, draft.clean, tuple(draft.traps), draft.kin)


def _shares() -> np.ndarray:
    weights = np.array([weight for _, weight, _ in FAMILIES.values()], float)
    return weights / weights.sum()


def _scene(draft: Draft, name: str, seed: int) -> Scene:
    shading = draft.between(-0.4, 0.4) if draft.chance(0.5) else 0.0
    if shading:
        draft.traps.append("lens shading")
    imager = Imager(
        noise_k=draft.noise,
        blur_px=draft.between(0.3, 0.8),
        shading_k=shading,
        column_k=draft.noise * draft.between(0.0, 0.15),
        bad_share=float(draft.rng.choice([0.0, 0.0, 0.0003])),
        kelvin_per_count=float(draft.rng.choice([0.01, 0.02, 0.04, 0.1])),
        accuracy_k=2.0,
        camera=seed % 23,
    )
    usual = {"mottle_k": min(0.06, draft.noise), "mottle_px": draft.between(4, 15), "emissivity": 0.94}
    return Scene(
        name=name,
        width=draft.width,
        height=draft.height,
        seed=seed,
        imager=imager,
        parts=tuple(draft.parts),
        **{**usual, **draft.fields},
    )


def _context(draft: Draft, scene: Scene) -> Context:
    given = {
        "sun": "none",
        "wind": known(1.0, "m/s"),
        "hours_steady": known(24.0, "h"),
        "hours_without_sun": known(24.0, "h"),
        "hours_without_rain": known(100.0, "h"),
        **draft.conditions,
    }
    facts = dict(draft.facts)
    if "reflection" not in draft.traps and draft.chance(SECOND_VIEW):
        facts["second view"] = "same place"
    elif "reflection" in draft.traps and draft.clean and draft.chance(SECOND_VIEW):
        facts["second view"] = "moved"
    regions = tuple(replace(one, thermogram=scene.name) for one in draft.regions)
    view = {"shows": draft.shows, **({"material": draft.material} if draft.material and draft.chance(0.7) else {})}
    return context_for(scene, regions=regions, facts=facts, conditions=Conditions(**given), view=view)
