"""Surveys before and after repairs whose effect is known: one seed gives a property with a place of each trade.

Every draw is from the ranges written here. Both surveys are made by the physics of the scenes, with weather, load, camera error, view and
noise of their own; what is left of the defect is drawn first and is what the decisions are held against.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from heatbrief.physics.wind_cooling import physics_factor
from heatbrief.testing import Imager, Part, Scene
from heatbrief.testing import parts as P

LEFT = {"repaired": (0.0, 0.12), "better": (0.45, 0.65), "unchanged": (1.0, 1.0), "worse": (1.6, 2.2)}
"""Outcome -> range of the share that is left; "not comparable" spoils the later survey instead."""
SHARES = (("repaired", 0.32), ("better", 0.18), ("unchanged", 0.22), ("worse", 0.13), ("not comparable", 0.15))
SPOILED = ("conditions", "drive", "scale", "missing")
WIDTH, HEIGHT = 160, 120


@dataclass(frozen=True)
class Side:
    """One picture of a pair: its scene and its entry in a manifest; `scene` is None when the later survey lacks it."""

    scene: Scene | None
    entry: dict[str, Any]


@dataclass(frozen=True)
class RepairPair:
    """A place before and after, what is true of it, and the checks whose findings it is held against."""

    name: str
    domain: str
    checks: tuple[str, ...]
    region: str
    truth: str
    spoiled: str
    before: Side
    after: Side


class _Draw:
    def __init__(self, seed: int, trade: str):
        self.rng = np.random.default_rng([seed, sum(map(ord, trade)), 12])
        names, shares = zip(*SHARES, strict=True)
        self.truth = str(self.rng.choice(names, p=shares))
        self.spoiled = str(self.rng.choice(SPOILED)) if self.truth == "not comparable" else ""
        low, high = LEFT.get(self.truth, (0.0, 1.0))
        self.left = float(self.rng.uniform(low, high))

    def between(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def scene(self, name: str, when: int, parts: list[Part], air: float, humidity: float = 0.4, **fields: Any) -> Scene:
        """A view with a camera error, noise and a little shift of its own."""
        imager = Imager(
            noise_k=self.between(0.03, 0.07),
            blur_px=0.5,
            shading_k=self.between(-0.1, 0.1),
            accuracy_k=2.0,
            camera=int(self.rng.integers(1000)),
        )
        return Scene(
            name=name,
            width=WIDTH,
            height=HEIGHT,
            seed=int(self.rng.integers(1 << 30)),
            imager=imager,
            parts=tuple(parts),
            **{
                "base_c": air,
                "air_c": air,
                "humidity": humidity,
                "reflected_c": air,
                "emissivity": 0.94,
                "mottle_k": 0.05,
                **fields,
            },
        )

    def pair(
        self, name: str, domain: str, checks: tuple[str, ...], region: str, before: Side, after: Side
    ) -> RepairPair:
        """The pair, with the later survey spoiled where that was drawn."""
        if self.spoiled == "missing":
            after = Side(None, after.entry)
        if self.spoiled == "scale":
            after = Side(after.scene, {key: value for key, value in after.entry.items() if key != "scale"})
        return RepairPair(name, domain, checks, region, self.truth, self.spoiled, before, after)


def _entry(
    name: str,
    shows: str,
    material: str,
    distance: float,
    conditions: dict[str, str],
    regions: list[dict[str, Any]],
    **more: Any,
) -> dict[str, Any]:
    return {
        "file": f"{name}.tiff",
        "shows": shows,
        "material": material,
        "distance": f"{distance} m",
        "scale": {"kelvin_per_count": 0.01},
        "conditions": conditions,
        "regions": regions,
        "facts": {"second view": "same place"},
        **more,
    }


def ceiling(seed: int) -> RepairPair:
    """Missing insulation in a ceiling, mended in part; the season may change from hot to cold."""
    draw, name = _Draw(seed, "ceiling"), f"ceiling-{seed}"
    sides, x, y = [], draw.between(40, 70), draw.between(30, 50)
    wide, high, added = draw.between(34, 50), draw.between(26, 36), draw.between(0.8, 1.6)
    for when, left in ((0, 1.0), (1, draw.left)):
        inside = draw.between(19.0, 25.0)
        apart = draw.between(13.0, 28.0) if draw.rng.random() < 0.5 else -draw.between(13.0, 25.0)
        if when and draw.spoiled == "drive":
            apart = draw.between(-3.5, 3.5)
        film, dx, dy = 0.15 * draw.between(0.95, 1.05), *(draw.rng.uniform(-2, 2, 2) if when else (0.0, 0.0))
        bare = 1.0 / (1.0 / 5.0 + added * left)
        box = (x + dx, y + dy, wide, high)
        airs = {"near_c": inside, "far_c": inside - apart, "film": film}
        made: list[Part] = [
            P.Layers(name="ceiling", resistance=5.0, **airs),
            P.MissingInsulation(name="gap", box=box, resistance=bare, soft_m=0.02, **airs),
            P.Framing(name="joists", resistance=2.8, spacing_m=0.6, width_m=0.04, first_px=20.0 + dx, **airs),
        ]
        given = {
            "inside_air": f"{inside:.1f} degC",
            "outside_air": f"{inside - apart:.1f} degC",
            "humidity": "40 %",
            "wind": "1 m/s",
            "sky": "overcast",
            "sun": "none",
            "hours_steady": "24 h",
            "hours_without_sun": "24 h",
            "reflected": f"{inside:.1f} degC",
        }
        if when and draw.spoiled == "conditions":
            given.pop("outside_air")
        scene = draw.scene(name, when, made, inside, distance_m=1.7)
        sides.append(
            Side(
                scene,
                _entry(
                    name,
                    "ceiling under the attic, from inside",
                    "painted plaster",
                    1.7,
                    given,
                    [{"name": "ceiling", "shows": "ceiling"}],
                    domain="envelope",
                ),
            )
        )
    return draw.pair(name, "envelope", ("envelope.insulation",), "ceiling", *sides)


def panel(seed: int) -> RepairPair:
    """A bad connection among four breakers; the load and the air change between the surveys."""
    draw, name = _Draw(seed, "panel"), f"panel-{seed}"
    sides, fault, exponent = [], draw.between(8.0, 16.0), draw.between(1.65, 1.95)
    first = draw.between(0.5, 0.8) * 40.0
    for when, left in ((0, 1.0), (1, draw.left)):
        air, load = draw.between(15.0, 35.0), first if not when else draw.between(0.5, 0.95) * 40.0
        if when and draw.spoiled == "drive":
            load = draw.between(0.1, 0.3) * 40.0
        extra = fault * left * (load / first) ** exponent
        made: list[Part] = [P.Patch(name="front", box=(20.0, 10.0, 120.0, 100.0), celsius=air + 1.5, tone=0.7)]
        regions = []
        for number in range(4):
            box = (60.0, 22.0 + 20 * number, 34.0, 11.0)
            made.append(
                P.Breaker(
                    name=f"pole {number}",
                    box=box,
                    load_a=load,
                    rated_a=40.0,
                    ambient_c=air,
                    exponent=exponent,
                    fault_rise_k=extra if number == 2 else 0.0,
                    defect=number == 2,
                )
            )
            facts = {"load": f"{load * draw.between(0.98, 1.02):.1f} A", "rated": "40 A"}
            if when and draw.spoiled == "conditions":
                facts = {}
            regions.append(
                {
                    "name": f"pole {number}",
                    "box": [61, 23 + 20 * number, 31, 8],
                    "shows": "breaker",
                    "group": "poles",
                    "facts": facts,
                }
            )
        given = {"inside_air": f"{air:.1f} degC", "humidity": "30 %", "reflected": f"{air:.1f} degC"}
        scene = draw.scene(name, when, made, air, humidity=0.3, distance_m=0.4)
        sides.append(
            Side(
                scene,
                _entry(
                    name,
                    "breaker panel with its door open and its cover closed",
                    "breaker case",
                    0.4,
                    given,
                    regions,
                    domain="electrical",
                ),
            )
        )
    return draw.pair(name, "electrical", ("electrical.twins", "electrical.phases"), "pole 2", *sides)


def damp(seed: int) -> RepairPair:
    """A damp patch in a ceiling below a bathroom that dries, shrinks or spreads; the air changes."""
    draw, name = _Draw(seed, "damp"), f"damp-{seed}"
    remaining = 0.0 if draw.truth == "repaired" else draw.left  # a damp place is repaired when it is dry
    sides, radius, wetness = [], draw.between(0.22, 0.3), draw.between(0.45, 0.8)
    x, y = draw.between(70, 90), draw.between(52, 68)
    for when, left in ((0, 1.0), (1, remaining)):
        air, humidity = draw.between(19.0, 26.0), draw.between(0.28, 0.5)
        if when and draw.spoiled == "drive":
            humidity = draw.between(0.9, 0.97)
        made: list[Part] = (
            [
                P.WetPatch(
                    name="damp",
                    centre_px=(x, y),
                    radius_m=max(radius * left**0.5, 0.0),
                    wetness=wetness,
                    air_c=air,
                    humidity=humidity,
                    soft_m=0.04,
                    ragged=0.1,
                )
            ]
            if left > 0.02
            else []
        )
        given = {
            "inside_air": f"{air:.1f} degC",
            "outside_air": f"{air - draw.between(-2, 2):.1f} degC",
            "humidity": f"{100 * humidity:.0f} %",
            "wind": "1 m/s",
            "sun": "none",
            "reflected": f"{air:.1f} degC",
            "hours_steady": "24 h",
            "hours_without_sun": "24 h",
        }
        if when and draw.spoiled == "conditions":
            given.pop("humidity")
        scene = draw.scene(name, when, made, air, humidity=humidity, distance_m=2.0)
        region = {"name": "ceiling below the bathroom", "shows": "ceiling", "facts": {"air_beyond": f"{air:.1f} degC"}}
        sides.append(
            Side(
                scene,
                _entry(name, "ceiling below the bathroom", "painted plaster", 2.0, given, [region], domain="plumbing"),
            )
        )
    return draw.pair(name, "plumbing", ("plumbing.damp_surface",), "ceiling below the bathroom", *sides)


def engine(seed: int) -> RepairPair:
    """A cylinder that does not fire as it should, after another time since the start and on another day."""
    draw, name = _Draw(seed, "engine"), f"engine-{seed}"
    sides, missing = [], draw.between(0.3, 0.42)
    for when, left in ((0, 1.0), (1, draw.left)):
        air, rise = draw.between(5.0, 35.0), draw.between(110.0, 180.0)
        if when and draw.spoiled == "drive":
            rise = draw.between(2.0, 6.0)
        made: list[Part] = [
            P.Patch(name="head", box=(10.0, 5.0, 140.0, 30.0), celsius=air + 0.4 * rise, emissivity=0.85)
        ]
        regions = []
        for number in range(4):
            box = (24.0 + 32 * number, 36.0, 16.0, 60.0)
            share = (1.0 - missing * left if number == 2 else 1.0) * (
                1.0 if number == 2 else draw.between(0.985, 1.015)
            )
            made.append(
                P.Patch(
                    name=f"runner {number}", box=box, celsius=air + rise * share, emissivity=0.85, defect=number == 2
                )
            )
            regions.append(
                {
                    "name": f"cylinder {number + 1} runner",
                    "box": [27 + 32 * number, 40, 10, 50],
                    "shows": "exhaust runner",
                    "group": "runners",
                }
            )
        given = {"outside_air": f"{air:.1f} degC", "humidity": "30 %", "reflected": f"{air:.1f} degC"}
        if when and draw.spoiled == "conditions":
            given.pop("outside_air")
        scene = draw.scene(name, when, made, air, humidity=0.3, distance_m=0.6)
        entry = _entry(
            name, "exhaust runners of the car", "cast iron", 0.6, given, regions, domain="vehicle", emissivity=0.85
        )
        entry["facts"] = {**entry["facts"], "since_start": f"{draw.between(70, 110):.0f} s", "same material": "yes"}
        sides.append(Side(scene, entry))
    return draw.pair(name, "vehicle", ("vehicle.exhaust",), "cylinder 3 runner", *sides)


def outdoor(seed: int) -> RepairPair:
    """A bad connection among four switches in a yard; load, air and wind change between the surveys.

    What wind does to each part is worked out with a size of its own, which the comparison does not know.
    """
    draw, name = _Draw(seed, "outdoor"), f"outdoor-{seed}"
    sides, fault, exponent = [], draw.between(12.0, 22.0), draw.between(1.65, 1.95)
    first, size = draw.between(0.6, 0.8) * 40.0, draw.between(0.008, 0.04)
    for when, left in ((0, 1.0), (1, draw.left)):
        air, load = draw.between(10.0, 30.0), first if not when else draw.between(0.6, 0.95) * 40.0
        wind = draw.between(0.8, 3.2)
        if when and draw.spoiled == "drive":
            load = draw.between(0.1, 0.3) * 40.0
        cooled = 1.0 / float(physics_factor(wind, size))
        extra = fault * left * (load / first) ** exponent * cooled
        made: list[Part] = [P.Patch(name="front", box=(20.0, 10.0, 120.0, 100.0), celsius=air + 0.5, tone=0.7)]
        regions = []
        for number in range(4):
            made.append(
                P.Breaker(
                    name=f"switch {number}",
                    box=(60.0, 22.0 + 20 * number, 34.0, 11.0),
                    load_a=load,
                    rated_a=40.0,
                    ambient_c=air,
                    exponent=exponent,
                    rated_rise_k=20.0 * cooled,
                    fault_rise_k=extra if number == 2 else 0.0,
                    defect=number == 2,
                )
            )
            regions.append(
                {
                    "name": f"switch {number}",
                    "box": [61, 23 + 20 * number, 31, 8],
                    "shows": "breaker",
                    "group": "switches",
                    "facts": {"load": f"{load * draw.between(0.98, 1.02):.1f} A", "rated": "40 A"},
                }
            )
        given = {
            "outside_air": f"{air:.1f} degC",
            "humidity": "40 %",
            "wind": f"{max(0.0, wind + draw.between(-0.3, 0.3)):.1f} m/s",
            "sun": "none",
            "sky": "overcast",
            "hours_without_sun": "24 h",
            "hours_without_rain": "48 h",
            "reflected": f"{air:.1f} degC",
        }
        if when and draw.spoiled == "conditions":
            given.pop("wind")
        scene = draw.scene(name, when, made, air, humidity=0.4, distance_m=0.4)
        entry = _entry(name, "breakers outdoors, in the yard", "breaker case", 0.4, given, regions, domain="electrical")
        sides.append(Side(scene, entry))
    return draw.pair(name, "electrical", ("electrical.twins", "electrical.phases"), "switch 2", *sides)


TRADES = (ceiling, panel, damp, engine, outdoor)
