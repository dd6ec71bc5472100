"""Drafts of the detection benchmark: a picture in the making, and what its rooms and surfaces share."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from heatbrief.model import Quantity, Region
from heatbrief.testing import Part
from heatbrief.testing import parts as P

AIMS = (
    ((1.5, 2.0), 0.08),
    ((2.0, 3.0), 0.14),
    ((3.02, 4.0), 0.44),
    ((4.0, 6.0), 0.10),
    ((6.0, 12.0), 0.10),
    ((12.0, 60.0), 0.14),
)
"""Aimed contrast-to-noise and how often."""
SIDES = (((3.3, 4.0), 0.3), ((4.0, 6.0), 0.3), ((6.0, 10.0), 0.15), ((10.0, 20.0), 0.25))
"""Side of a defect [px] and how often."""
NOISIEST, QUIETEST = 1.5, 0.02
DRAWN = "surface"


@dataclass
class Draft:
    """A picture in the making."""

    rng: np.random.Generator
    clean: bool
    width: int = 0
    height: int = 0
    noise: float = 0.05
    parts: list[Part] = field(default_factory=list)
    regions: list[Region] = field(default_factory=list)
    facts: dict = field(default_factory=dict)
    conditions: dict = field(default_factory=dict)
    fields: dict = field(default_factory=dict)
    traps: list[str] = field(default_factory=list)
    kin: dict[str, tuple[str, ...]] = field(default_factory=dict)
    shows: str = ""
    material: str = ""

    def pick(self, table: tuple) -> object:
        return table[self.rng.choice(len(table), p=np.array([share for _, share in table]) / sum(s for _, s in table))][
            0
        ]

    def between(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def spread(self, low: float, high: float) -> float:
        """Evenly in the logarithm."""
        return float(np.exp(self.rng.uniform(np.log(low), np.log(high))))

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def aimed(self, contrast: float, noisiest: float = NOISIEST) -> None:
        """Choose the noise for a contrast [K] by an aimed contrast-to-noise."""
        self.noise = float(np.clip(abs(contrast) / self.between(*self.pick(AIMS)), QUIETEST, noisiest))

    def spot(self, across: float, down: float, margin: float = 4.0) -> tuple[float, float]:
        """Top left corner of a box that keeps clear of the picture's edge."""
        return (
            self.between(margin, max(margin, self.width - across - margin)),
            self.between(margin, max(margin, self.height - down - margin)),
        )


def known(value: float, unit: str) -> Quantity:
    return Quantity.exact(value, unit)


def mirrored(draft: Draft, around_c: float) -> None:
    """A mirrored lamp, radiator, person or window somewhere."""
    side = draft.spread(4.0, 0.3 * draft.height)
    left, top = draft.spot(side, side)
    source = around_c + (draft.between(8, 45) if draft.chance(0.6) else -draft.between(8, 25))
    draft.parts.append(
        P.Reflection(
            name="mirrored",
            ellipse=(left + side / 2, top + side / 2, side / 2, side / 2),
            reflected_c=source,
            gloss=draft.between(0.5, 1.0),
            soft_m=0.01,
        )
    )
    draft.traps.append("reflection")


def sized(draft: Draft, least_m2: float, nearest: float, farthest: float = 11.0) -> tuple[float, float, float]:
    """(across, down) of a defect [px] and the distance [m] at which it has at least `least_m2`."""
    side = min(draft.between(*draft.pick(SIDES)) * max(1.0, draft.width / 320), 0.4 * draft.height)
    ratio = draft.between(0.8, 1.25) if side < 5 else draft.between(0.6, 1.6)
    across, down = side * math.sqrt(ratio), side / math.sqrt(ratio)
    pixel_at_1 = 2 * math.tan(math.radians(28)) / draft.width
    needed = math.sqrt(least_m2 / (across * down)) / pixel_at_1
    if needed > farthest:
        across, down = across * needed / farthest, down * needed / farthest
    return across, down, min(max(needed * draft.between(1.0, 1.3), nearest), max(needed * 1.3, nearest, farthest))


# --- envelope -----------------------------------------------------------------------------


def rooms(draft: Draft) -> dict:
    """Airs, film and words of a wall in winter or a ceiling under a hot attic."""
    winter = draft.chance(0.6)
    near, far = (21.0, draft.between(-8, 4)) if winter else (24.0, draft.between(40, 52))
    ceiling = not winter
    draft.shows, draft.material = (
        ("ceiling under the attic, from inside" if ceiling else "outside wall, from inside"),
        "painted plaster",
    )
    facts = {"air_beyond": known(far, "degC")} if ceiling else {}
    draft.regions = [Region(DRAWN, "", shows="ceiling" if ceiling else "wall", facts=facts)]
    draft.conditions |= {
        "inside_air": known(near, "degC"),
        "outside_air": known(37.0 if ceiling else far, "degC"),
        "humidity": known(0.35, "1"),
    }
    draft.fields |= {"base_c": near, "air_c": near, "reflected_c": near, "humidity": 0.35}
    return {"near_c": near, "far_c": far, "film": 0.17 if ceiling else 0.13}


def plain(draft: Draft, airs: dict, distance: float) -> float:
    """A surface with a gradient and often framing; its resistance."""
    resistance = draft.between(2.5, 6.0)
    draft.fields["distance_m"] = distance
    tall = 2 * distance * math.tan(math.radians(21))
    draft.parts.append(
        P.Layers(name="surface", resistance=resistance, stratified_k_per_m=draft.between(-0.8, 0.8) / tall, **airs)
    )
    if draft.chance(0.5):
        runs = "down" if draft.chance(0.6) else "across"
        draft.parts.append(
            P.Framing(
                name="members",
                resistance=0.55 * resistance,
                spacing_m=float(draft.rng.choice([0.4, 0.6])),
                first_px=draft.between(0, 15),
                runs=runs,
                **airs,
            )
        )
        draft.traps.append("framing")
    return resistance


def boxed(name: str, box: tuple, shows: str, inset: float = 0.0, **more) -> Region:
    left, top, width, height = box
    points = ((left + inset, top + inset), (left + width - inset, top + height - inset))
    return Region(name, "", "box", tuple((float(round(x)), float(round(y))) for x, y in points), shows, **more)
