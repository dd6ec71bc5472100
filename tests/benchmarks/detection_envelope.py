"""Scenes of the envelope for the detection benchmark: gaps in insulation, lines, windows."""

from __future__ import annotations

from detection_drafts import Draft, boxed, known, mirrored, plain, rooms, sized
from heatbrief.model import Region
from heatbrief.testing import parts as P


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
