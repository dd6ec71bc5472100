"""Scenes of plumbing for the detection benchmark: damp ceilings, pipes in floors, radiators, shade on ground."""

from __future__ import annotations

import math

import numpy as np
from detection_drafts import DRAWN, NOISIEST, Draft, boxed, known, mirrored, sized
from heatbrief.model import Region
from heatbrief.testing import parts as P
from heatbrief.testing.parts.plumbing import wet_surface


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
