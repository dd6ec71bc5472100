"""How well the U-value of a surface is recovered: `python tests/benchmarks/envelope.py [--json] [--scenes N]`.

Independent synthetic rooms and facades, each calibrated with what a surveyor would state and put through the real check
`envelope.transmittance`. What is true is drawn around what is stated: both airs, emissivity, the camera's offset evenly
within its accuracy, noise in every pixel, the radiant temperature of the room, and the convective coefficient evenly
over the span of the published correlations for the true temperatures. The true surface temperature solves the heat
balance h (T_env - T_s) = (T_s - T_beyond) / R, with the true coefficients on the camera's side. Counted is how often
the 95 % bounds hold the true U, and how wide they are as a share of it, with a reference board in the picture and
without.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass, replace

import numpy as np
from heatbrief.api import Context
from heatbrief.model import Conditions, Quantity, Region
from heatbrief.physics.surface_coefficients import (
    convection_spread,
    outside_convection_spread,
    radiative_coefficient_exact,
)
from heatbrief.testing import Imager, Scene, as_thermogram, context_for, render, run_step
from heatbrief.testing.parts import Layers
from heatbrief_envelope.transmittance import STEP

SCENES, SEED = 300, 29
LEAST_COVERAGE, MOST_HALF_WIDTH = 0.95, 0.25
KELVIN, DRIVE_K = 273.15, 15.0
WIDTH, HEIGHT = 64, 48
BOARD = (4.0, 4.0, 14.0, 14.0)
FACINGS = {"wall": "sideways", "ceiling": "down", "floor": "up"}


@dataclass(frozen=True)
class Outcome:
    """One scene: the true U and the check's bounds [W m-2 K-1]."""

    true: float
    found: Quantity

    @property
    def holds(self) -> bool:
        return self.found.low <= self.true <= self.found.high

    @property
    def half_width(self) -> float:
        return self.found.half_width / self.true


def balance(
    near: float,
    radiant: float,
    beyond: float,
    resistance: float,
    emissivity: float,
    share: float,
    facing: str,
    wind: float | None,
):
    """(surface, environment temperature, true U): the fixed point of the heat balance on the camera's side.

    share   where within the span of the correlations the true convective coefficient lies, 0 to 1
    """
    surface = near + 0.1 * (beyond - near)
    for _ in range(60):
        a, b = surface + KELVIN, near + KELVIN
        span = convection_spread(a, b, facing) if wind is None else outside_convection_spread(a, b, wind)
        hc = float(span.low) + share * float(span.high - span.low)
        hr = float(radiative_coefficient_exact(a, radiant + KELVIN, emissivity))
        environment = (hr * radiant + hc * near) / (hr + hc)
        surface = environment + (beyond - environment) / (1.0 + resistance * (hr + hc))
    u = abs((hr + hc) * (environment - surface) / (near - beyond))
    return surface, environment, u


def outcome(number: int, board: bool, outside: bool = False) -> Outcome | None:
    """The check's answer for one scene, or None when it gives none."""
    random = np.random.default_rng([SEED, number, board, outside])
    shows = "facade" if outside else str(random.choice(list(FACINGS), p=(0.7, 0.2, 0.1)))
    near = float(random.uniform(18.0, 24.0)) if not outside else float(random.uniform(-5.0, 8.0))
    sign = 1.0 if outside else float(random.choice([-1.0, 1.0]))
    beyond = near + sign * DRIVE_K
    true_near, true_beyond = near + 0.25 * random.standard_normal(), beyond + 0.25 * random.standard_normal()
    stated_emissivity = float(random.uniform(0.90, 0.95))
    emissivity = min(stated_emissivity + 0.01 * random.standard_normal(), 0.995)
    radiant = true_near + 0.3 * random.standard_normal() - (1.0 if outside else 0.0)
    wind = float(random.uniform(0.1, 0.8)) if outside else None
    resistance = 1.0 / float(np.exp(random.uniform(np.log(0.3), np.log(2.0)))) - 0.1
    surface, environment, true = balance(
        true_near,
        radiant,
        true_beyond,
        resistance,
        emissivity,
        float(random.uniform()),
        "sideways" if outside else FACINGS[shows],
        wind,
    )
    plate = (Layers(name="board", near_c=environment, far_c=environment, box=BOARD),) if board else ()
    scene = Scene(
        f"scene-{number}",
        WIDTH,
        HEIGHT,
        (45.0, 34.0),
        2.5,
        base_c=surface,
        emissivity=emissivity,
        reflected_c=radiant,
        air_c=true_near,
        mottle_k=0.03,
        seed=number,
        oversample=1,
        imager=Imager(noise_k=0.05, accuracy_k=2.0, camera=number, kelvin_at_0=150.0),
        parts=plate,
    )
    context = _stated(scene, shows, near, beyond, stated_emissivity, board, wind)
    findings = run_step(STEP, as_thermogram(render(scene), context), context).findings
    return Outcome(true, findings[0].measured["transmittance"]) if findings else None


def _stated(
    scene: Scene, shows: str, near: float, beyond: float, emissivity: float, board: bool, wind: float | None
) -> Context:
    """What the surveyor writes down."""
    airs = [Quantity.normal(one, "degC", 0.25) for one in ((near, beyond) if wind is None else (beyond, near))]
    now = Conditions(
        inside_air=airs[0],
        outside_air=airs[1],
        humidity=Quantity.exact(0.4, "1"),
        sky="overcast",
        sun="none",
        wind=Quantity.between(max(0.0, (wind or 0.5) - 0.2), (wind or 0.5) + 0.2, "m/s"),
        hours_steady=Quantity.exact(48.0, "h"),
        hours_without_sun=Quantity.exact(48.0, "h"),
        hours_without_rain=Quantity.exact(100.0, "h"),
    )
    stated = Quantity.normal(emissivity, "1", 0.01)
    surface = Region(
        "the surface", scene.name, shows=shows, facts={"expected_u": Quantity.exact(0.3, "W/m2/K")}, emissivity=stated
    )
    left, top, width, height = BOARD
    plate = Region(
        "the board",
        scene.name,
        "box",
        ((left + 2, top + 2), (left + width - 2, top + height - 2)),
        shows="air reference",
    )
    return context_for(
        replace(scene, reflected_c=near, air_c=near),
        regions=(surface, plate) if board else (surface,),
        conditions=now,
        view={
            "shows": "facade" if wind is not None else f"{shows} from inside",
            "emissivity": stated,
            "reflected": Quantity.normal(near, "degC", 0.5),
        },
    )


def measure(scenes: int) -> dict[str, float]:
    """Coverage and median half-width with a board, without one, and from outside with one."""
    groups = {
        "": (scenes, True, False),
        "absolute_": (scenes // 3, False, False),
        "outside_": (scenes // 3, True, True),
    }
    found: dict[str, float] = {"scenes": scenes}
    for name, (count, board, outside) in groups.items():
        outcomes = [one for one in (outcome(number, board, outside) for number in range(count)) if one is not None]
        found[f"{name}u_answered"] = len(outcomes) / max(count, 1)
        found[f"{name}u_coverage"] = float(np.mean([one.holds for one in outcomes])) if outcomes else 0.0
        found[f"{name}u_half_width_median"] = (
            float(np.median([one.half_width for one in outcomes])) if outcomes else 0.0
        )
    return found


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--scenes", type=int, default=SCENES)
    chosen = parser.parse_args()
    found = measure(max(1, chosen.scenes))
    for name, words in (("", "with a board"), ("absolute_", "without one"), ("outside_", "from outside, with a board")):
        sys.stdout.write(
            f"{words}: true U within its bounds in {found[f'{name}u_coverage']:.1%} of the scenes, median half-width "
            f"{found[f'{name}u_half_width_median']:.0%} of it at {DRIVE_K:.0f} K\n"
        )
    sys.stdout.write(f"wanted with a board: at least {LEAST_COVERAGE:.0%}, at most {MOST_HALF_WIDTH:.0%}\n")
    if chosen.json:
        sys.stdout.write(json.dumps({name: round(value, 4) for name, value in found.items()}) + "\n")


if __name__ == "__main__":
    main()
