"""Electrical scenes for the detection benchmark: breakers, plugs, inverters."""

from __future__ import annotations

import math

from detection_drafts import Draft, boxed, known, mirrored
from heatbrief.model import Region
from heatbrief.testing import parts as P


def panel(draft: Draft) -> None:
    """Poles of breakers in pairs at like load, one of them with a bad contact; loaded and warm where clean."""
    air = draft.between(18, 32)
    w, h = draft.width, draft.height
    pairs = 2 if h < 100 else 3
    wide, tall = 0.24 * w * draft.between(0.7, 1.0), 0.6 * h / (2 * pairs) * draft.between(0.75, 1.0)
    faulty = -1 if draft.clean else int(draft.rng.integers(0, 2 * pairs))
    fault = draft.spread(1.6, 15.0)
    for number in range(2 * pairs):
        if number % 2 == 0:
            rated = float(draft.rng.choice([15, 20, 30, 40]))
            load = rated * (draft.between(0.45, 0.95) if not draft.chance(0.15) or faulty // 2 == number // 2 else 0.0)
            circuit = f"circuit {number // 2 + 1}"
        box = (0.38 * w, 0.14 * h + number * 0.75 * h / (2 * pairs), wide, tall)
        own = fault if number == faulty else 0.0
        name = f"{circuit}, {'upper' if number % 2 == 0 else 'lower'} pole"
        draft.parts.append(
            P.Breaker(
                name=name,
                box=box,
                load_a=load,
                rated_a=rated,
                ambient_c=air,
                idle_k=1.0 + float(draft.rng.normal(0, 0.15)),
                fault_rise_k=own,
                warm_x=0.4,
                defect=own > 0,
            )
        )
        draft.regions.append(
            boxed(
                name, box, "breaker", 1.0, group=circuit, facts={"load": known(load, "A"), "rated": known(rated, "A")}
            )
        )
    draft.shows, draft.material = "breaker panel with its door open", "breaker case"
    _loaded(draft, air, 0.5, fault, 0.4)


def plugs(draft: Draft) -> None:
    """Three like plugs on cables, one with a bad contact."""
    air = draft.between(15, 38)
    w, h = draft.width, draft.height
    pixel = 2 * 0.4 * math.tan(math.radians(28)) / w
    load, faulty = draft.between(7, 13), -1 if draft.clean else int(draft.rng.integers(0, 3))
    extra = draft.spread(2.0, 22.0)
    for number, name in enumerate(("east", "middle", "west")):
        y = h * (0.25 + 0.25 * number)
        line = ((-10.0, y), (w + 10.0, y))
        draft.kin[f"{name} plug"] = (f"{name} cable",)
        normal = 5.0 + float(draft.rng.normal(0, 0.15))
        draft.parts.append(P.Conductor(name=f"{name} cable", line=line, ambient_c=air, rise_k=4.0))
        draft.parts.append(
            P.Joint(
                name=f"{name} plug",
                line=line,
                centre_px=(0.4 * w, y),
                ambient_c=air,
                normal_k=normal,
                extra_k=extra if number == faulty else 0.0,
                defect=number == faulty,
                diameter_m=0.022,
                cable_m=0.012,
            )
        )
        facts = {"load": known(load, "A"), "rated": known(15.0, "A")}
        half = 0.04 / pixel
        body = (0.4 * w - half, y - 0.011 / pixel, 2 * half, 0.022 / pixel)
        draft.regions.append(boxed(f"{name} plug", body, "joint", 0.5, group="plugs", facts=facts))
        cable = ((round(0.4 * w + half + 2), round(y)), (w - 2, round(y)))
        draft.regions.append(
            Region(
                f"{name} cable",
                "",
                "line",
                tuple((float(a), float(b)) for a, b in cable),
                "conductor",
                group="cables",
                facts=facts,
            )
        )
    draft.shows, draft.material = "plug connectors on the garage wall, inside", "cable insulation"
    _loaded(draft, air, 0.4, extra, 0.3)


def inverters(draft: Draft) -> None:
    """Two like inverters, one of them warmer for its load."""
    air = draft.between(15, 38)
    w, h = draft.width, draft.height
    sound = draft.between(80, 130)
    excess = 0.0 if draft.clean else draft.spread(6.5, 14.0) * 7.0
    for number, name in enumerate(("left", "right")):
        box = (w * (0.18 + 0.42 * number), 0.3 * h, 0.22 * w, 0.42 * h)
        loss = sound * (1 + float(draft.rng.normal(0, 0.02))) + (excess if number else 0.0)
        draft.parts.append(
            P.HeatSink(
                name=f"{name} inverter",
                box=box,
                loss_w=loss,
                sound_w=sound,
                ambient_c=air,
                defect=bool(number and excess),
            )
        )
        draft.regions.append(
            boxed(
                f"{name} inverter",
                box,
                "inverter",
                1.0,
                group="inverters",
                facts={"load": known(12.0, "A"), "rated": known(16.0, "A")},
            )
        )
    draft.traps.append("normal load")
    draft.shows, draft.material = "inverters in the garage", "painted steel"
    _electrical(draft, air, 1.6)
    if excess:
        draft.aimed(excess / 7.0, 1.0)


def _loaded(draft: Draft, air: float, distance: float, fault: float, reflects: float) -> None:
    """Parts warm by their load: aimed at the fault [K], or without one sometimes with a reflection."""
    draft.traps.append("normal load")
    _electrical(draft, air, distance)
    if not draft.clean:
        draft.aimed(fault, 1.0)
    elif draft.chance(reflects):
        mirrored(draft, air)


def _electrical(draft: Draft, air: float, distance: float) -> None:
    draft.conditions |= {
        "inside_air": known(air, "degC"),
        "outside_air": known(air, "degC"),
        "humidity": known(0.35, "1"),
    }
    draft.fields |= {"base_c": air + 1.0, "air_c": air, "reflected_c": air + 0.5, "distance_m": distance}
    if draft.chance(0.7):
        draft.facts["load held"] = known(60.0, "min")
