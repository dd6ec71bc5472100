"""How often the stated 95 % bounds hold the truth: `python tests/benchmarks/coverage.py [--json] [--scenes N]`.

Independent synthetic scenes with a warm or cold region. What a surveyor would state is drawn first; what is true is
drawn around it from the stated budget: camera offset evenly within its accuracy, emissivity, reflected and air
temperature, distance and humidity normally, noise anew in every pixel. The scene is rendered with the exact band
radiance, the true path and the true settings, and calibrated with the stated ones. Counted is whether the true mean
temperature of the region lies within the bounds of its mean.
"""

from __future__ import annotations

import argparse
import json
import sys

import numpy as np
from heatbrief.api import Camera, Context, View
from heatbrief.calibrate.draws import MONTE_CARLO
from heatbrief.calibrate.radiance import calibrate
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.calibrate.statistics import statistics
from heatbrief.model.conditions import Conditions
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Picture
from heatbrief.testing import Imager, Scene, render
from heatbrief.testing.parts import Patch

SCENES, LEAST, MOST = 600, 0.93, 0.975
SEED = 11
WIDTH, HEIGHT = 48, 36
BOX = (14.0, 10.0, 20.0, 16.0)


def stated(random: np.random.Generator) -> dict[str, tuple[float, float]]:
    """What a surveyor states, (value, standard uncertainty), within what surveys meet; the accuracy is a half-width."""
    return {
        "emissivity": (random.uniform(0.65, 0.96), random.choice([0.01, 0.02, 0.04])),
        "reflected": (random.uniform(-25.0, 35.0), random.choice([1.0, 3.0, 8.0])),
        "air": (random.uniform(-10.0, 35.0), 1.0),
        "humidity": (random.uniform(0.2, 0.8), 0.05),
        "distance": (random.uniform(1.0, 25.0), 0.05),
        "accuracy": (0.0, random.choice([0.5, 1.0, 2.0])),
        "noise": (0.0, random.choice([0.03, 0.08, 0.2])),
    }


def true_of(known: dict[str, tuple[float, float]], random: np.random.Generator) -> dict[str, float]:
    """What is true, drawn from the stated budget; what cannot be is drawn again."""
    found = {}
    for name, least, most in (
        ("emissivity", 0.05, 1.0),
        ("reflected", -200.0, 200.0),
        ("air", -59.0, 59.0),
        ("humidity", 0.0, 1.0),
    ):
        value = np.nan
        while not least < value < most:
            value = random.normal(*known[name])
        found[name] = value
    found["distance"] = known["distance"][0] * (1.0 + known["distance"][1] * random.standard_normal())
    found["offset"] = random.uniform(-1.0, 1.0) * known["accuracy"][1]
    return found


def holds(number: int) -> tuple[bool, str]:
    """Whether the bounds of one scene hold the truth, and the method they were found by."""
    random = np.random.default_rng([SEED, number])
    known = stated(random)
    true = true_of(known, random)
    base, rise = random.uniform(0.0, 45.0), random.choice([-1.0, 1.0]) * random.uniform(0.0, 12.0)
    scene = Scene(
        f"scene-{number}",
        WIDTH,
        HEIGHT,
        (40.0, 30.0),
        true["distance"],
        base_c=base,
        emissivity=true["emissivity"],
        reflected_c=true["reflected"],
        air_c=true["air"],
        humidity=true["humidity"],
        seed=number,
        oversample=1,
        imager=Imager(noise_k=known["noise"][1], blur_px=0.5, kelvin_at_0=150.0, offset_k=true["offset"]),
        parts=(Patch(name="patch", box=BOX, rise_k=rise),),
    )
    rendered = render(scene)
    region = Region("patch", scene.name, "box", ((BOX[0], BOX[1]), (BOX[0] + BOX[2], BOX[1] + BOX[3])))
    mask = region.mask(HEIGHT, WIDTH)
    found = calibrate(Picture(rendered.counts, False, rendered.scale), RadianceSettings(), _context(scene, known))
    mean = statistics(found, mask)["mean"]
    return bool(mean.low <= float(rendered.kelvin[mask].mean()) - 273.15 <= mean.high), mean.method


def _context(scene: Scene, known: dict[str, tuple[float, float]]) -> Context:
    def normal(name: str, unit: str, scale: float = 1.0) -> Quantity:
        return Quantity.normal(known[name][0], unit, known[name][1] * scale)

    return Context(
        conditions=Conditions(inside_air=normal("air", "degC"), humidity=normal("humidity", "1")),
        camera=Camera(noise=known["noise"][1], accuracy=known["accuracy"][1], band=scene.imager.band_um),
        view=View(
            thermogram=scene.name,
            emissivity=normal("emissivity", "1"),
            reflected=normal("reflected", "degC"),
            distance=normal("distance", "m", known["distance"][0]),
            shows="wall from inside",
        ),
    )


def measure(scenes: int) -> dict[str, float]:
    outcomes = [holds(number) for number in range(scenes)]
    drawn = sum(method.startswith(MONTE_CARLO) for _, method in outcomes)
    return {"scenes": scenes, "coverage": sum(held for held, _ in outcomes) / scenes, "monte_carlo": drawn / scenes}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--scenes", type=int, default=SCENES)
    chosen = parser.parse_args()
    found = measure(max(1, chosen.scenes))
    sys.stdout.write(
        f"{found['scenes']} scenes: the true region temperature lies within its 95 % bounds in "
        f"{100 * found['coverage']:.1f} % (wanted: {100 * LEAST:.0f} to {100 * MOST:.1f} %)\n"
        f"bounds drawn by Monte Carlo in {100 * found['monte_carlo']:.0f} %\n"
    )
    if chosen.json:
        sys.stdout.write(json.dumps({name: round(value, 4) for name, value in found.items()}) + "\n")


if __name__ == "__main__":
    main()
