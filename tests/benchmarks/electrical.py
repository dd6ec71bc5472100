"""How well the electrical checks read panels, conductors and phases: `python tests/benchmarks/electrical.py [--json]
[--scenes N]`.

Independent synthetic scenes with known currents, rendered with the exact band radiance and calibrated with what a
surveyor
would state; what is true is drawn around that from the stated budget: camera offset evenly within its accuracy,
emissivity,
reflected and air temperature normally, places of regions evenly within half a pixel, noise anew in every pixel. The
currents are as recorded, the exponent of rise against
current is drawn between 1.6 and 2.0.

ranking_correct   share of panels in which every two ranked circuits whose true warmth for their load differs by 30 % or
                  more
                  stand in the right order
pattern_correct   share of scenes in which a joint is told from a load: along one of two conductors, or in one phase of
                  three
class_probability_max_gap   largest difference, over the classes of a table, between the mean stated probability and how
                            often
                  the true difference lay in the class, and over thirds of the stated probabilities; pairs of
                  poles with true differences about the edges of the table, where classes are doubtful
"""

from __future__ import annotations

import argparse
import json
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np
from heatbrief.model import Conditions, Finding, Quantity, Region
from heatbrief.physics.electrical import class_codes, class_table
from heatbrief.testing import Imager, Scene, as_thermogram, context_for, render
from heatbrief.testing import parts as P
from heatbrief.testing.samples import EMISSIVITY_BOUND
from heatbrief_electrical import circuits, classes, joint, phases, twins

SCENES = 240
SEED = 20
WIDTH, HEIGHT = 120, 90
TABLE = "neta-similar"
APART = 1.3
FEWEST = 30
"""Doubtful probabilities that a third needs, for its share to mean something."""
LEAST_RANKING, LEAST_PATTERN, MOST_GAP = 0.95, 0.95, 0.10
ACCURACY_K, REFLECTED_K, AIR_K = 2.0, 1.0, 1.0
"""Camera accuracy (half-width), standard uncertainties of the reflected and of the air temperature beside the parts."""


def _a(amps: float) -> Quantity:
    return Quantity.exact(amps, "A")


def _box(name: str, box: tuple, shows: str, **more) -> Region:
    left, top, width, height = box
    corners = ((round(left) + 1.0, round(top) + 1.0), (round(left + width) - 1.0, round(top + height) - 1.0))
    return Region(name, "", "box", corners, shows, **more)


def shot(
    random: np.random.Generator,
    name: str,
    parts: list,
    regions: list[Region],
    air: float,
    stated: float,
    look: str,
    distance: float,
):
    """(rendered truth, thermogram, context) of a view; `air` is true, `stated` what the survey says."""
    eps = 0.94
    true_eps = float(np.clip(random.normal(eps, EMISSIVITY_BOUND / 1.96), 0.8, 0.99))
    imager = Imager(
        noise_k=float(random.choice([0.04, 0.08])),
        blur_px=0.5,
        accuracy_k=ACCURACY_K,
        offset_k=float(random.uniform(-ACCURACY_K, ACCURACY_K)),
    )
    reflected = stated + 0.5
    scene = Scene(
        name=name,
        width=WIDTH,
        height=HEIGHT,
        distance_m=distance,
        base_c=air + 1.0,
        emissivity=true_eps,
        air_c=air,
        humidity=0.35,
        reflected_c=float(random.normal(reflected, REFLECTED_K)),
        mottle_k=0.05,
        seed=int(random.integers(1 << 30)),
        imager=imager,
        parts=tuple(replace(one, emissivity=true_eps, ambient_c=air) for one in parts),
    )
    rendered = render(scene)
    beside = Quantity.normal(stated, "degC", AIR_K)
    known = replace(scene, emissivity=eps, reflected_c=reflected, air_c=stated, imager=replace(imager, offset_k=None))
    context = context_for(
        known,
        regions=tuple(replace(one, thermogram=name) for one in regions),
        facts={"second view": "same place", "air_around": beside},
        conditions=Conditions(inside_air=Quantity.exact(stated, "degC"), sun="none"),
        view={"shows": look, "material": ""},
    )
    return rendered, as_thermogram(rendered, context), context


def airs(random: np.random.Generator) -> tuple[float, float]:
    """True and stated air beside the parts [degC]."""
    stated = float(random.uniform(18, 34))
    return float(random.normal(stated, AIR_K)), stated


def run(step, subject, context, **settings):
    return step.run(subject, step.settings(**settings), context.only(step.reads))


def drawn_off(random: np.random.Generator, box: tuple) -> tuple[tuple, tuple[float, float]]:
    """The box where it truly is, up to half a pixel from where the survey drew it, and by how much (down, across)."""
    down, across = (float(one) for one in random.uniform(-0.5, 0.5, 2))
    return (box[0] + across, box[1] + down, *box[2:]), (down, across)


def mean_of(rendered, region: Region, off: tuple[float, float]) -> float:
    """True mean temperature [K] of the place a region stands for, which is `off` from where it was drawn."""
    from scipy.ndimage import shift

    moved = shift(rendered.kelvin, (-off[0], -off[1]), order=1, mode="nearest")
    return float(moved[region.mask(HEIGHT, WIDTH)].mean())


# --- panels -----------------------------------------------------------------------------------


def ranking(seed: int) -> bool:
    """One panel: whether the ranking puts its loaded circuits in the true order."""
    random = np.random.default_rng([SEED, 1, seed])
    air, stated = airs(random)
    count, idle = int(random.integers(5, 9)), int(random.integers(0, 3))
    exponent, indoors = float(random.uniform(1.6, 2.0)), float(random.uniform(0.5, 2.0))
    parts, regions, truth = [], [], {}
    for number in range(count + idle):
        rated = float(random.choice([15, 20, 30, 40]))
        load = round(rated * float(random.uniform(0.45, 0.95)), 1) if number < count else 0.0
        warmth = 22.0 * float(np.exp(random.normal(0.0, 0.35)))
        name, row = f"circuit {number + 1}", number % 5
        box = (12.0 + 52.0 * (number // 5), 6.0 + 16.0 * row, 34.0, 11.0)
        true_box, _ = drawn_off(random, box)
        parts.append(
            P.Breaker(
                name=name,
                box=true_box,
                load_a=load,
                rated_a=rated,
                rated_rise_k=warmth,
                exponent=exponent,
                idle_k=indoors + float(random.normal(0, 0.1)),
                warm_x=0.4,
            )
        )
        regions.append(_box(name, box, "breaker", facts={"load": _a(load), "rated": _a(rated)}))
        if load:
            truth[name] = warmth
    _, subject, context = shot(random, f"panel-{seed}", parts, regions, air, stated, "breaker panel inside", 0.5)
    finding = next(one for one in run(circuits.STEP, subject, context).findings if one.id.endswith("panel"))
    return ordered(finding, truth)


def ordered(finding: Finding, truth: dict[str, float]) -> bool:
    """Whether every two ranked circuits that truly differ by 30 % or more stand in the right order, and all are
    ranked.
    """
    listed = [row["circuit"].partition(". ")[2] for row in finding.classes if row["circuit"][0].isdigit()]
    pairs = [(a, b) for place, a in enumerate(listed) for b in listed[place + 1 :]]
    return set(listed) >= {name for name, warmth in truth.items() if warmth > 25.0} and not any(
        truth[b] >= APART * truth[a] for a, b in pairs
    )


# --- patterns ---------------------------------------------------------------------------------


def conductor(seed: int) -> bool:
    """Two cables: one with a bad joint at its end, or one with more load. Told apart by the check along conductors."""
    random = np.random.default_rng([SEED, 2, seed])
    air, stated = airs(random)
    bad, which = bool(random.random() < 0.5), int(random.integers(0, 2))
    normal, extra = float(random.uniform(2, 6)), float(random.uniform(6, 25))
    more = float(random.uniform(5, 15))
    parts, regions = [], []
    pixel = 2 * 0.4 * np.tan(np.radians(28)) / WIDTH
    for number, name in enumerate(("upper", "lower")):
        y, odd = 30.0 + 30.0 * number, number == which
        line = ((-8.0, y), (WIDTH + 8.0, y))
        rise = normal + (more if odd and not bad else 0.0) + float(random.normal(0, 0.1))
        parts.append(P.Conductor(name=f"{name} cable", line=line, rise_k=rise, diameter_m=0.03))
        parts.append(
            P.Joint(
                name=f"{name} joint",
                line=line,
                centre_px=(16.0, y),
                normal_k=rise + 0.5,
                cable_m=0.03,
                diameter_m=0.034,
                half_m=0.03,
                extra_k=extra if odd and bad else 0.0,
                fall_off_m=float(random.uniform(0.03, 0.08)),
            )
        )
        start = 16.0 + 0.03 / pixel + 2.0
        regions.append(
            Region(
                f"{name} cable",
                "",
                "line",
                ((float(round(start)), y), (WIDTH - 3.0, y)),
                "conductor",
                group="cables",
                facts={"load": _a(20.0 if odd and not bad else 12.0), "rated": _a(25.0)},
            )
        )
    _, subject, context = shot(random, f"cable-{seed}", parts, regions, air, stated, "cables inside", 0.4)
    found = run(joint.STEP, subject, context).findings
    told = {(one.region, one.id.endswith("-even")) for one in found}
    return told == {(f"{('upper', 'lower')[which]} cable", not bad)}


def three(seed: int) -> bool:
    """Three poles of one circuit: a bad contact in one of them, or more current in it. Told apart by the check of
    phases.
    """
    random = np.random.default_rng([SEED, 3, seed])
    air, stated = airs(random)
    bad, which = bool(random.random() < 0.5), int(random.integers(0, 3))
    exponent, base = float(random.uniform(1.6, 2.0)), float(random.uniform(18, 26))
    share = float(random.uniform(0.55, 0.68))
    parts, regions = [], []
    for number in range(3):
        odd = number == which
        load = round(
            40.0 * share * (float(random.uniform(1.3, 1.45)) if odd and not bad else float(random.uniform(0.97, 1.03))),
            1,
        )
        box = (40.0, 12.0 + 22.0 * number, 40.0, 16.0)
        fault = float(random.uniform(6, 20)) if odd and bad else 0.0
        true_box, _ = drawn_off(random, box)
        parts.append(
            P.Breaker(
                name=f"pole {number + 1}",
                box=true_box,
                load_a=load,
                rated_a=40.0,
                rated_rise_k=base * float(random.normal(1, 0.02)),
                exponent=exponent,
                fault_rise_k=fault,
            )
        )
        regions.append(
            _box(
                f"pole {number + 1}",
                box,
                "breaker",
                group="poles",
                facts={"load": _a(load), "rated": _a(40.0), "phase": f"L{number + 1}"},
            )
        )
    _, subject, context = shot(random, f"phases-{seed}", parts, regions, air, stated, "breaker panel inside", 0.5)
    told = {(one.region, one.id.endswith("-unbalance")) for one in run(phases.STEP, subject, context).findings}
    return told == {(f"pole {which + 1}", not bad)}


def pattern(seed: int) -> bool:
    """Conductors and phases in turn."""
    return conductor(seed) if seed % 2 else three(seed)


# --- classes ----------------------------------------------------------------------------------


def classed(seed: int) -> tuple[list[float], int]:
    """(stated probability of each class, place of the true class) for a pair of poles that differ by about an edge of
    the table.
    """
    random = np.random.default_rng([SEED, 4, seed])
    air, stated = airs(random)
    load = float(random.uniform(20, 36))
    fault = max(
        0.0, float(random.choice([band.start for band in class_table(TABLE).bands])) + float(random.normal(0, 0.6))
    )
    parts, regions, places = [], [], {}
    for number, name in enumerate(("upper pole", "lower pole")):
        box = (40.0, 20.0 + 26.0 * number, 40.0, 16.0)
        true_box, places[name] = drawn_off(random, box)
        parts.append(P.Breaker(name=name, box=true_box, load_a=load, rated_a=40.0, fault_rise_k=fault * number))
        regions.append(_box(name, box, "breaker", group="poles", facts={"load": _a(load), "rated": _a(40.0)}))
    rendered, subject, context = shot(random, f"poles-{seed}", parts, regions, air, stated, "breaker panel inside", 0.5)
    finding = run(twins.STEP, subject, context, table=TABLE).findings[0]
    own = next(one for one in regions if one.name == finding.region)
    other = next(one for one in regions if one.name != finding.region)
    truth = mean_of(rendered, own, places[own.name]) - mean_of(rendered, other, places[other.name])
    stated_shares = classes.probabilities(finding.measured["contrast"], TABLE)
    return list(stated_shares.values()), list(stated_shares).index(int(class_codes(truth, TABLE)))


def gap(outcomes: list[tuple[list[float], int]]) -> float:
    """Largest departure of mean stated probabilities from how often they were true: for each class, and for each third
    of doubtful ones.
    """
    stated = np.array([shares for shares, _ in outcomes])
    true = np.eye(stated.shape[1])[[place for _, place in outcomes]]
    assert stated.shape[1] == len(class_table(TABLE).bands) + 1
    gaps = [float(np.abs(stated.mean(axis=0) - true.mean(axis=0)).max())]
    doubtful = (stated > 0.02) & (stated < 0.98)
    for low, high in ((0.0, 1 / 3), (1 / 3, 2 / 3), (2 / 3, 1.0)):
        chosen = doubtful & (stated >= low) & (stated < high)
        if chosen.sum() >= FEWEST:
            gaps.append(float(abs(stated[chosen].mean() - true[chosen].mean())))
    return max(gaps)


def measure(scenes: int, workers: int) -> dict[str, float]:
    """The figures."""
    seeds = range(scenes)
    if workers > 1:
        with ProcessPoolExecutor(workers) as pool:
            ranks, patterns, kinds = (list(pool.map(one, seeds, chunksize=8)) for one in (ranking, pattern, classed))
    else:
        ranks, patterns, kinds = ([one(seed) for seed in seeds] for one in (ranking, pattern, classed))
    return {
        "scenes": scenes,
        "ranking_correct": float(np.mean(ranks)),
        "pattern_correct": float(np.mean(patterns)),
        "class_probability_max_gap": gap(kinds),
    }


def main() -> int:
    """Print the figures; 1 when one is worse than asked."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--scenes", type=int, default=SCENES)
    parser.add_argument("--workers", type=int, default=2)
    chosen = parser.parse_args()
    found = measure(chosen.scenes, chosen.workers)
    if chosen.json:
        sys.stdout.write(json.dumps({name: round(value, 4) for name, value in found.items()}) + "\n")
    else:
        sys.stdout.write("".join(f"{name.replace('_', ' ')}: {value:.4g}\n" for name, value in found.items()))
    good = (
        found["ranking_correct"] >= LEAST_RANKING
        and found["pattern_correct"] >= LEAST_PATTERN
        and found["class_probability_max_gap"] <= MOST_GAP
    )
    return 0 if good else 1


if __name__ == "__main__":
    raise SystemExit(main())
