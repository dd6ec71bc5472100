"""Engines and radiators of known truth: `python tests/benchmarks/vehicle.py [--json] [--scenes N] [--draws N]`.

Noise is what sound parts differ by. Trade practice calls up to 28 K between runners of an idling engine ordinary,
so the
runners of every engine here are spread evenly over 28 K, and a faulty one lies three times that, 84 K, from the
middle of
the band. (Three standard deviations of such runners would be 24 K, less than sound ones differ by; nothing can name
that.)
Tubes of a sound core are taken as alike within 5 K, the least the check counts; blocked ones are 15 K colder.
What a surveyor states is fixed; what is true is drawn around it from the stated budget: camera offset, noise,
emissivity of
each runner, reflected temperature, distance. Every scene is rendered with the true values, calibrated with the
stated ones
and given to the real checks. A quarter of the engines have a runner behind a shield that is stated.

named_correct                 share of faulty engines and radiators in which exactly what is faulty is named
false_alarm_max_gap_points    largest gap between a stated rate of false alarms and that of fresh draws, in points
shielded_alarms               findings about a runner behind a shield, or about any in a sound engine with a shield
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter

import numpy as np
from heatbrief.api import Camera, Context, View
from heatbrief.calibrate.radiance import calibrate
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.model import Conditions, Finding, Quantity, Region
from heatbrief.model.thermogram import Picture, Thermogram
from heatbrief.testing import Imager, Scene, render, run_step
from heatbrief.testing.parts import EngineRadiator, ExhaustRunner, Patch
from heatbrief_vehicle.few import SCATTERS, false_alarm, flags

SCENES, DRAWS, WANTED, SEED = 320, 100_000, 0.95, 41
SPREAD_K, FLOOR_K, TIMES = 28.0, 28.0, 3.0
TUBES_K = 5.0
FAULTY = ("one cold", "one hot", "two cold", "one cold, shield", "blocked tubes")
SOUND = ("sound", "sound, shield", "sound core")
KINDS = ("one cold", "sound", "two cold", "sound, shield", "one hot", "one cold, shield", "blocked tubes", "sound core")


def imager(random: np.random.Generator) -> Imager:
    return Imager(noise_k=random.uniform(0.03, 0.1), offset_k=random.uniform(-2.0, 2.0), kelvin_at_0=150.0)


def context_of(scene: Scene, regions: tuple[Region, ...], stated: dict[str, float]) -> Context:
    """What the survey says."""
    return Context(
        conditions=Conditions(sun="none", wind=Quantity.exact(1.0, "m/s")),
        camera=Camera(noise=0.05, accuracy=2.0, band=scene.imager.band_um, field_of_view=scene.field_of_view_deg),
        view=View(
            thermogram=scene.name,
            emissivity=Quantity.normal(stated["emissivity"], "1", 0.02),
            reflected=Quantity.normal(stated["reflected"], "degC", 3.0),
            distance=Quantity.normal(scene.distance_m, "m", 0.05 * scene.distance_m),
            shows="engine on the open driveway",
        ),
        regions=regions,
        facts={"second view": "same place", "same material": "yes", "since_start": Quantity.exact(90.0, "s")},
    )  # fmt: skip


def seen(scene: Scene, context: Context) -> Thermogram:
    rendered = render(scene)
    return calibrate(Picture(rendered.counts, False, rendered.scale), RadianceSettings(), context)


def engine(kind: str, number: int, times: float = TIMES) -> tuple[set[str], list[Finding], set[str]]:
    """(faulty runners, findings, runners behind a shield)."""
    random = np.random.default_rng([SEED, number])
    count = int(random.integers(5 if kind == "two cold" or "shield" in kind else 4, 9))
    middle = random.uniform(190.0, 330.0)
    skin = middle + SPREAD_K * random.uniform(-0.5, 0.5, count)
    order = random.permutation(count)
    faulty = [] if kind.startswith("sound") else list(order[: 2 if kind == "two cold" else 1])
    skin[faulty] = middle + (1.0 if kind == "one hot" else -1.0) * times * SPREAD_K
    hidden = [int(order[-1])] if "shield" in kind else []
    stated = {"emissivity": random.uniform(0.8, 0.9), "reflected": random.uniform(25.0, 50.0)}
    parts: list = []
    for place in range(count):
        x = 25.0 + 30.0 * place
        eps = float(np.clip(random.normal(stated["emissivity"], 0.02), 0.6, 0.97))
        line = ((x, 10.0), (x, 110.0))
        parts.append(
            ExhaustRunner(name=f"cylinder {place + 1} runner", line=line, gas_c=skin[place] + 10,
                          end_c=skin[place] - 25,                          fall_off_m=0.3, emissivity=eps)
        )  # fmt: skip
        if place in hidden:
            box = (x - 12.0, 20.0, 24.0, 80.0)
            parts.append(Patch(name="shield", box=box, celsius=random.uniform(60.0, 110.0), emissivity=0.7))
    scene = Scene(
        f"engine-{number}", 20 + 30 * count, 120, distance_m=random.uniform(0.6, 0.8), base_c=70.0, emissivity=0.85,
        reflected_c=random.normal(stated["reflected"], 3.0), air_c=25.0, seed=number, parts=tuple(parts),
        imager=imager(random),
    )  # fmt: skip
    regions = tuple(
        Region(
            f"cylinder {place + 1} runner", scene.name, "box", ((21 + 30 * place, 30), (29 + 30 * place, 70)),
            "exhaust runner", group="exhaust runners", facts={"shielded": "yes" if place in hidden else "no"},
        )
        for place in range(count)
    )  # fmt: skip
    context = context_of(scene, regions, stated)
    found = list(run_step("vehicle.exhaust", seen(scene, context), context).findings)
    names = [f"cylinder {place + 1} runner" for place in range(count)]
    return {names[place] for place in faulty}, found, {names[place] for place in hidden}


def radiator(kind: str, number: int) -> bool:
    """Whether the cold band, and nothing else, was named."""
    random = np.random.default_rng([SEED, number])
    inlet, drop = random.uniform(84.0, 98.0), random.uniform(6.0, 14.0)
    first, start = random.uniform(0.15, 0.65), random.uniform(0.1, 0.3)
    blocked = (first, first + random.uniform(0.12, 0.22), start, start + random.uniform(0.5, 0.65))
    around = inlet - drop * (blocked[2] + blocked[3]) / 2
    stated = {"emissivity": random.uniform(0.86, 0.93), "reflected": random.uniform(20.0, 45.0)}
    part = EngineRadiator(
        name="core", defect=kind == "blocked tubes", box=(20.0, 20.0, 180.0, 100.0), inlet_c=inlet,
        outlet_c=inlet - drop,
        blocked_c=around - TIMES * TUBES_K, blocked=blocked if kind == "blocked tubes" else (),
        emissivity=float(np.clip(random.normal(stated["emissivity"], 0.02), 0.6, 0.98)),
    )  # fmt: skip
    scene = Scene(
        f"core-{number}", 220, 140, distance_m=random.uniform(0.7, 0.9), base_c=45.0, reflected_c=stated["reflected"],
        air_c=25.0, seed=number, parts=(part,), imager=imager(random),
    )  # fmt: skip
    region = Region("radiator core", scene.name, "box", ((20, 20), (199, 119)), "engine radiator")
    context = context_of(scene, (region,), stated)
    findings = run_step("vehicle.cooling", seen(scene, context), context).findings
    bands = [one for one in findings if "cold" in one.title and claimed(one)]
    if kind == "sound core":
        return not bands
    box = (20 + 180 * blocked[2], 20 + 100 * blocked[0], 20 + 180 * blocked[3], 20 + 100 * blocked[1])
    return len(bands) == 1 and covers(bands[0], box)


def claimed(finding: Finding) -> bool:
    return finding.verdict in ("defect", "suspect")


def covers(finding: Finding, box: tuple[float, float, float, float]) -> bool:
    """Whether the middle of an outline lies in a box."""
    if finding.outline is None:
        return False
    x, y = np.mean(np.asarray(finding.outline.polygon), axis=0)
    return bool(box[0] <= x <= box[2] and box[1] <= y <= box[3])


def named(findings: list[Finding]) -> set[str]:
    return {one.region for one in findings if claimed(one) and ("cooler" in one.title or "hotter" in one.title)}


def alarm_gap(draws: int) -> float:
    """Largest gap between stated and drawn rates of false alarms, in points."""
    gaps = []
    for n in range(3, 9):
        for scatter in SCATTERS:
            random = np.random.default_rng([SEED, n, round(100 * scatter)])
            alarms, done = 0, 0
            while done < draws:
                size = min(20_000, draws - done)
                values = scatter * FLOOR_K * random.standard_normal((size, n))
                alarms, done = alarms + int(flags(values, FLOOR_K).any(axis=1).sum()), done + size
            gaps.append(100.0 * abs(alarms / draws - false_alarm(n, scatter)))
    return max(gaps)


def measure(scenes: int, draws: int) -> tuple[dict[str, float], dict[str, tuple[int, int]]]:
    right, every = Counter(), Counter()
    shielded = 0
    for number in range(scenes):
        kind = KINDS[number % len(KINDS)]
        every[kind] += 1
        if kind in ("blocked tubes", "sound core"):
            right[kind] += radiator(kind, number)
            continue
        faulty, findings, hidden = engine(kind, number)
        said = named(findings)
        right[kind] += said == faulty
        shielded += len({one.region for one in findings if claimed(one)} & hidden)
        shielded += len(said) if kind == "sound, shield" else 0
    faulty_scenes = sum(every[kind] for kind in FAULTY)
    result = {
        "scenes": scenes,
        "named_correct": sum(right[kind] for kind in FAULTY) / max(faulty_scenes, 1),
        "sound_correct": sum(right[kind] for kind in SOUND) / max(sum(every[kind] for kind in SOUND), 1),
        "false_alarm_max_gap_points": alarm_gap(draws),
        "shielded_alarms": shielded,
    }
    return result, {kind: (right[kind], every[kind]) for kind in KINDS}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--scenes", type=int, default=SCENES)
    parser.add_argument("--draws", type=int, default=DRAWS)
    chosen = parser.parse_args()
    found, kinds = measure(max(1, chosen.scenes), max(1000, chosen.draws))
    for kind, (right, every) in sorted(kinds.items()):
        sys.stdout.write(f"{kind}: {right} of {every}\n")
    sys.stdout.write(
        f"{found['scenes']} scenes: {100 * found['named_correct']:.1f} % of the faulty ones named rightly (wanted: "
        f"{100 * WANTED:.0f} %), rates of false alarms within "
        f"{found['false_alarm_max_gap_points']:.2f} points of those "
        f"stated over {max(1000, chosen.draws)} draws each, {found['shielded_alarms']} alarms on shielded runners\n"
    )
    if chosen.json:
        sys.stdout.write(json.dumps({name: round(value, 4) for name, value in found.items()}) + "\n")


if __name__ == "__main__":
    main()
