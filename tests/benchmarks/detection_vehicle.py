"""Scenes of vehicles for the detection benchmark: exhaust runners and radiators of engines."""

from __future__ import annotations

import math

from detection_drafts import NOISIEST, Draft, boxed, known, mirrored
from heatbrief.testing import parts as P


def exhaust(draft: Draft) -> None:
    """Four exhaust runners, one of them cold; ordinary spread where clean."""
    w, h = draft.width, draft.height
    usual, pixel = draft.between(170, 260), 2 * 0.7 * math.tan(math.radians(28)) / w
    weak = -1 if draft.clean else int(draft.rng.integers(0, 4))
    drop = draft.spread(55.0, 130.0)
    draft.parts.append(P.Patch(name="head", box=(-1, -1, w + 2, 0.22 * h), celsius=84))
    for number in range(4):
        x, own = (
            w * (0.2 + 0.19 * number),
            usual + float(draft.rng.normal(0, 5.0)) - (10.0 if number in (0, 3) else 0.0),
        )
        line = ((x, 0.24 * h), (x, 0.52 * h), (w * (0.4 + 0.06 * number), 0.92 * h))
        gas = own - drop if number == weak else own
        draft.parts.append(
            P.ExhaustRunner(
                name=f"runner {number + 1}",
                line=line,
                gas_c=gas,
                end_c=min(gas, 145.0),
                sound_c=own,
                defect=number == weak,
            )
        )
        half = max(1.5, 0.4 * 0.019 / pixel)
        draft.regions.append(
            boxed(
                f"cylinder {number + 1} runner",
                (x - half, 0.28 * h, 2 * half, 0.2 * h),
                "exhaust runner",
                group="exhaust runners",
            )
        )
    draft.traps.append("gradient")
    draft.shows, draft.material = "exhaust runners of the car in the garage", "cast iron"
    _vehicle(draft, 0.7, {"emissivity": 0.85, "mottle_k": 2.0, "mottle_px": 16.0, "base_c": 60.0})
    draft.facts["since_start"] = known(90.0, "s")
    draft.noise = draft.spread(0.05, NOISIEST)
    if draft.clean and draft.chance(0.3):
        mirrored(draft, 30.0)


def core(draft: Draft) -> None:
    """An engine's radiator with blocked tubes."""
    w, h = draft.width, draft.height
    box = (0.1 * w, 0.15 * h, 0.8 * w, 0.7 * h)
    inlet = draft.between(82, 95)
    outlet = inlet - draft.between(6, 14)
    contrast = draft.spread(7.0, 30.0)
    first = draft.between(0.2, 0.6)
    blocked = (
        ()
        if draft.clean
        else (first, first + max(draft.between(0.1, 0.22), 6.5 / box[3]), draft.between(0.1, 0.3), 0.95)
    )
    draft.parts.append(
        P.EngineRadiator(
            name="core",
            box=box,
            inlet_c=inlet,
            outlet_c=outlet,
            blocked_c=(inlet + outlet) / 2 - contrast,
            blocked=blocked,
            tubes=max(8, round(box[3] / 4.5)),
            defect=not draft.clean,
        )
    )
    draft.regions = [boxed("radiator core", box, "engine radiator")]
    draft.traps.append("gradient")
    draft.shows, draft.material = "engine radiator of the car in the garage", "painted metal"
    _vehicle(draft, 0.8, {"emissivity": 0.9, "mottle_k": 0.5, "base_c": 45.0})
    if draft.clean:
        draft.noise = draft.spread(0.05, NOISIEST)
        if draft.chance(0.4):
            mirrored(draft, 30.0)
    else:
        draft.aimed(0.75 * contrast)


def _vehicle(draft: Draft, distance: float, more: dict) -> None:
    draft.conditions |= {
        "inside_air": known(28.0, "degC"),
        "outside_air": known(28.0, "degC"),
        "humidity": known(0.3, "1"),
    }
    draft.fields |= {"air_c": 28.0, "reflected_c": 30.0, "distance_m": distance, **more}
