"""Families of scenes of the detection benchmark: what each shows, with and without a planted defect."""

from __future__ import annotations

import math

import numpy as np
from detection_drafts import DRAWN, NOISIEST, Draft, boxed, known, mirrored, plain, rooms, sized
from heatbrief.model import Region
from heatbrief.testing import parts as P
from heatbrief.testing.parts.plumbing import wet_surface


def insulation(draft: Draft) -> None:
    """Missing insulation in a wall or ceiling; sun patches, reflections and small differences where clean."""
    airs = rooms(draft)
    across, down, distance = sized(draft, 0.085, draft.between(1.5, 4.0))
    resistance = plain(draft, airs, distance)
    drive = airs["near_c"] - airs["far_c"]
    limit = max(0.5, 0.3 * airs["film"] * abs(drive))
    for _ in range(2 if draft.width >= 160 and draft.chance(0.25) and across < 0.25 * draft.width else 1):
        contrast = limit * draft.spread(1.3, 4.0)
        if draft.clean:
            contrast = limit * draft.between(0.2, 0.5)
            if not draft.chance(0.35):
                break
            draft.traps.append("small difference")
        left, top = draft.spot(across, down)
        if any(isinstance(one, P.MissingInsulation) for one in draft.parts):
            continue
        shape = (
            {"box": (left, top, across, down)}
            if draft.chance(0.6)
            else {"ellipse": (left + across / 2, top + down / 2, 0.56 * across, 0.56 * down)}
        )
        left_over = 1.0 / (1.0 / resistance + contrast / abs(drive) / airs["film"])
        draft.parts.append(
            P.MissingInsulation(name="gap", resistance=left_over, soft_m=0.015, defect=not draft.clean, **shape, **airs)
        )
        if not draft.clean:
            draft.aimed(contrast)
    if draft.chance(0.4 if draft.clean else 0.15):
        mirrored(draft, airs["near_c"])
    if draft.clean and draft.chance(0.15):
        left, top = draft.spot(0.3 * draft.width, 0.3 * draft.height)
        draft.parts.append(
            P.SunPatch(
                name="sun",
                box=(left, top, 0.3 * draft.width, 0.3 * draft.height),
                irradiance_w_m2=draft.between(60, 300),
                h_w_m2k=10.0,
            )
        )
        draft.conditions |= {"sun": "direct", "hours_without_sun": known(0.0, "h")}
        draft.traps.append("sun")


def bridge(draft: Draft) -> None:
    """A steel or concrete line; wooden framing alone where clean."""
    airs = rooms(draft)
    distance = draft.between(1.5, 3.0)
    plain(draft, airs, distance)
    drive = abs(airs["near_c"] - airs["far_c"])
    if draft.clean:
        if draft.chance(0.3):
            mirrored(draft, airs["near_c"])
        return
    contrast = max(0.8, 0.1 * drive) * draft.spread(1.4, 2.6)
    mean = contrast / 0.75
    left_over = airs["film"] * drive / (mean + airs["film"] * drive / 4.0)
    w, h = draft.width, draft.height
    y, reach = draft.between(0.25, 0.75) * h, draft.between(0.4, 0.7) * w
    x = draft.between(0.1, 0.9) * (w - reach)
    draft.parts.append(
        P.ThermalBridge(
            name="bridge",
            resistance=max(left_over, airs["film"] + 0.05),
            line=((x, y), (x + reach, y + draft.between(-3, 3))),
            width_m=0.06,
            soft_m=0.05,
            **airs,
        )
    )
    draft.aimed(contrast)


def window(draft: Draft) -> None:
    """A declared window whose glass mirrors something; never a defect here."""
    draft.clean = True
    near, far = 22.0, draft.between(-5, 5)
    w, h = draft.width, draft.height
    box = (0.25 * w, 0.15 * h, 0.45 * w, 0.6 * h)
    edge = max(4.0, 0.03 * w)
    draft.parts += [
        P.Layers(name="wall", near_c=near, far_c=far, film=0.13, resistance=3.0),
        P.Window(
            name="window",
            box=box,
            near_c=near,
            far_c=far,
            film=0.13,
            glass=0.36,
            frame=0.6,
            frame_px=edge,
            shade_share=0.0,
        ),
    ]
    draft.parts.append(
        P.Reflection(
            name="mirrored",
            ellipse=(0.47 * w, 0.45 * h, 0.08 * w, 0.12 * h),
            reflected_c=draft.between(30, 45),
            soft_m=0.01,
        )
    )
    draft.traps += ["reflection", "glass"]
    glass = (box[0] + edge, box[1] + edge, box[2] - 2 * edge, box[3] - 2 * edge)
    draft.regions = [
        boxed("window frame", box, "window frame"),
        boxed("glass", glass, "glass", material="window glass"),
        Region("wall", "", shows="wall"),
    ]
    draft.shows, draft.material = "window and wall, from inside", "painted plaster"
    draft.conditions |= {
        "inside_air": known(near, "degC"),
        "outside_air": known(far, "degC"),
        "humidity": known(0.3, "1"),
    }
    draft.fields |= {"base_c": near, "air_c": near, "reflected_c": near, "humidity": 0.3, "distance_m": 2.0}


# --- electrical ---------------------------------------------------------------------------


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
    draft.traps.append("normal load")
    draft.shows, draft.material = "breaker panel with its door open", "breaker case"
    _electrical(draft, air, 0.5)
    if not draft.clean:
        draft.aimed(fault, 1.0)
    elif draft.chance(0.4):
        mirrored(draft, air)


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
    draft.traps.append("normal load")
    draft.shows, draft.material = "plug connectors on the garage wall, inside", "cable insulation"
    _electrical(draft, air, 0.4)
    if not draft.clean:
        draft.aimed(extra, 1.0)
    elif draft.chance(0.3):
        mirrored(draft, air)


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


def _electrical(draft: Draft, air: float, distance: float) -> None:
    draft.conditions |= {
        "inside_air": known(air, "degC"),
        "outside_air": known(air, "degC"),
        "humidity": known(0.35, "1"),
    }
    draft.fields |= {"base_c": air + 1.0, "air_c": air, "reflected_c": air + 0.5, "distance_m": distance}
    if draft.chance(0.7):
        draft.facts["load held"] = known(60.0, "min")


# --- plumbing -----------------------------------------------------------------------------


def damp(draft: Draft) -> None:
    """A damp patch in a ceiling between rooms; nothing, or a reflection, where clean."""
    air, humidity = draft.between(19, 26), draft.between(0.25, 0.5)
    across, down, distance = sized(draft, 0.02, draft.between(1.5, 2.5))
    draft.shows, draft.material = "ceiling below the bathroom", "painted plaster"
    draft.regions = [Region(DRAWN, "", shows="ceiling", facts={"air_beyond": known(air, "degC")})]
    draft.conditions |= {"inside_air": known(air, "degC"), "humidity": known(humidity, "1")}
    draft.fields |= {"base_c": air, "air_c": air, "reflected_c": air, "humidity": humidity, "distance_m": distance}
    if draft.clean:
        if draft.chance(0.5):
            mirrored(draft, air)
        return
    radius = math.sqrt(across * down / math.pi) * 2 * distance * math.tan(math.radians(28)) / draft.width
    wetness = draft.between(0.3, 0.9)
    left, top = draft.spot(across, down)
    dry = air + 273.15
    contrast = dry - wet_surface(round(dry, 3), dry, humidity, 3.5, 5.5, wetness)
    draft.parts.append(
        P.WetPatch(
            name="damp",
            centre_px=(left + across / 2, top + down / 2),
            radius_m=radius,
            soft_m=min(0.05, 0.3 * radius),
            ragged=0.12,
            wetness=wetness,
            air_c=air,
            humidity=humidity,
        )
    )
    draft.aimed(0.9 * contrast)


def pipe(draft: Draft) -> None:
    """Hot water spreading beside a pipe in a floor; the ridge alone where clean."""
    w, h = draft.width, draft.height
    distance = draft.between(1.3, 2.2)
    pixel = 2 * distance * math.tan(math.radians(28)) / w
    ridge = draft.between(1.5, 4.0)
    line = ((0.0, draft.between(0.2, 0.4) * h), (0.5 * w, 0.45 * h), (w - 1.0, draft.between(0.5, 0.75) * h))
    draft.parts.append(P.PipeRidge(name="ridge", line=line, depth_m=0.05, rise_k=ridge))
    draft.traps.append("ridge")
    draft.shows, draft.material = "floor over the hot pipe", "floor tile"
    draft.regions = [Region("floor", "", shows="floor"), Region("route", "", "line", line, "pipe")]
    draft.conditions |= {"inside_air": known(23.0, "degC"), "humidity": known(0.4, "1")}
    draft.fields |= {"base_c": 23.5, "air_c": 23.0, "reflected_c": 23.0, "distance_m": distance, "emissivity": 0.93}
    if draft.chance(0.6):
        draft.facts["fitting there"] = "no"
    if draft.clean:
        if draft.chance(0.5):
            mirrored(draft, 23.0)
        return
    contrast = max(1.0, 0.3 * ridge) * draft.spread(1.4, 4.0)
    radius = max(draft.between(0.06, 0.2), 2.2 * pixel / 1.45)
    u = draft.between(0.25, 0.75)
    y = np.interp(u * w, [x for x, _ in line], [y for _, y in line]) + draft.between(-1, 1) * radius / pixel
    draft.parts.append(
        P.WarmSpread(name="spread", centre_px=(u * w, float(y)), radius_m=radius, rise_k=contrast / 0.63)
    )
    draft.aimed(contrast)


def radiator(draft: Draft) -> None:
    """A room's radiator with sludge or air in it."""
    w, h = draft.width, draft.height
    box = (0.15 * w, 0.2 * h, 0.7 * w, 0.55 * h)
    flow = draft.between(45, 68)
    fault = (
        {}
        if draft.clean
        else {"sludge": draft.between(0.25, 0.5)}
        if draft.chance(0.6)
        else {"air": draft.between(0.12, 0.25)}
    )
    draft.parts.append(
        P.Radiator(
            name="radiator",
            box=box,
            flow_c=flow,
            return_c=flow - draft.between(6, 14),
            room_c=20.0,
            columns=14,
            defect=bool(fault),
            **fault,
        )
    )
    draft.regions = [boxed("radiator", box, "radiator", 2.0)]
    draft.shows, draft.material = "radiator in the hall", "painted steel"
    draft.conditions |= {"inside_air": known(20.0, "degC"), "humidity": known(0.4, "1")}
    draft.fields |= {"base_c": 20.0, "air_c": 20.0, "reflected_c": 20.0, "distance_m": 2.0}
    if draft.chance(0.6):
        draft.facts["heating for"] = known(45.0, "min")
    draft.noise = draft.spread(0.03, NOISIEST)
    draft.traps.append("gradient")


def shade(draft: Draft) -> None:
    """A shadow on a planting bed, one picture; never a defect here."""
    draft.clean = True
    w, h = draft.width, draft.height
    left, top = draft.spot(0.3 * w, 0.4 * h)
    draft.parts.append(
        P.Shade(name="shadow", box=(left, top, 0.3 * w, 0.4 * h), drop_k=draft.between(3, 12), soft_m=0.01)
    )
    draft.traps.append("shade")
    draft.shows, draft.material = "irrigated ground over the buried line", "soil"
    draft.regions = [Region("planting bed", "", shows="irrigated ground")]
    draft.conditions |= {
        "outside_air": known(30.0, "degC"),
        "outside_humidity": known(0.3, "1"),
        "sun": "direct",
        "hours_without_sun": known(0.0, "h"),
    }
    draft.fields |= {
        "base_c": 38.0,
        "air_c": 30.0,
        "reflected_c": 15.0,
        "distance_m": 3.0,
        "mottle_k": 0.5,
        "mottle_px": 5.0,
    }


# --- vehicle ------------------------------------------------------------------------------


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
