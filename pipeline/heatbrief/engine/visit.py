"""Before the visit: what this camera could see under these conditions, and which conditions the checks would miss.

Sentences for an owner, from what the manifest states. No picture is needed and none is read.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from heatbrief.api.context import Context
from heatbrief.calibrate.errors import NOISE_ASSUMED_K
from heatbrief.calibrate.pixel_scale import pixel_scale
from heatbrief.detect.areas import SEED
from heatbrief.detect.case import Case
from heatbrief.detect.gates import rule_for, survey_gates
from heatbrief.engine.context import thermogram_context
from heatbrief.engine.plan import Plan
from heatbrief.manifest.schema import ThermogramDefaults, ThermogramEntry
from heatbrief.model.finding import Gate
from heatbrief.model.thermogram import Thermogram

TRUSTED = "pusnik-gersak-2021"
"""Practice whose size in pixels is asked for a temperature, not only for being seen."""
WALL = (0.132, 0.180, 0.069, 0.060)
"""Layers of a frame wall besides its insulation, m2 K/W. Worked example of `scottish-6b`, see physics.transmittance."""
INSULATION, TIMBER, TIMBER_SHARE, EMPTY = 3.5, 3.5 / 3.0, 0.15, 0.18
"""Its insulation and timber, and a still air gap in place of the insulation, m2 K/W. Sources: scottish-6b, iso-6946."""
STARTING_PIXELS = 9
BUILDING = "envelope"


@dataclass(frozen=True)
class Asked:
    """A purpose of the gates, in words for the owner, with the conditions it asks for and the practice."""

    purpose: str
    words: str
    gates: tuple[str, ...]
    rule_set: str = "default"


ASKED: dict[str, tuple[Asked, ...]] = {
    "envelope": (
        Asked(
            "insulation",
            "missing insulation and thermal bridges",
            ("difference", "steady", "wind", "sun"),
            "astm-c1060",
        ),
        Asked("air leakage", "air leaks", ("difference", "wind", "sun")),
    ),
    "plumbing": (
        Asked("irrigation", "wet ground", ("rain", "sun")),
        Asked("moisture", "damp surfaces", ("humidity",)),
    ),
    "electrical": (Asked("electrical", "electrical parts", ("load", "wind", "sun")),),
    "vehicle": (Asked("vehicle", "vehicles", ("wind", "sun")),),
}
"""What can be known of the gates before there is a picture, by domain; other domains are asked for wind and sun."""


def before_the_visit(plan: Plan) -> tuple[str, ...]:
    """What the stated camera, distances and conditions allow, one sentence or two each, in reading order."""
    return (*_sizes(plan), *_differences(plan), *_conditions(plan))


def _planned(plan: Plan) -> Iterator[tuple[str, Context, tuple[int, int] | None]]:
    """(words, context, size in pixels) of each kind of view: listed pictures with equal geometry once, else the defaults."""
    entries = [(one.entry.shows or one.entry.file, one.entry) for one in plan.thermograms]
    if not entries:
        given = plan.manifest.defaults or ThermogramDefaults()
        shared = {name: getattr(given, name) for name in ("distance", "size", "shows", "material", "emissivity")}
        entries = [(given.shows or "a picture", ThermogramEntry(file="", id="planned", **shared))]
    seen: dict[object, tuple[str, Context, tuple[int, int] | None]] = {}
    for words, entry in entries:
        key = (entry.distance, entry.size, entry.tilt, entry.pixel_size, entry.rectangle)
        seen.setdefault(key, (words, thermogram_context(plan.manifest, entry), entry.size))
    yield from seen.values()


def _sizes(plan: Plan) -> list[str]:
    """Smallest thing that counts, in millimetres and pixels."""
    least, trusted = (rule_for("spot", "any", name).value for name in ("default", TRUSTED))
    said, missing = [], False
    for words, context, size in _planned(plan):
        scale = None if size is None else pixel_scale(context, *size)
        if scale is None:
            missing = True
            continue
        side = 1000.0 * max(scale.width, scale.height)
        far = "" if context.view.distance is None else f" from {context.view.distance.value:g} m"
        said.append(
            f"{words[:60]}{far}: a pixel covers about {_mm(side)}. The smallest defect that counts is {_mm(least * side)} "
            f"wide ({least:g} pixels); a temperature can be trusted from {_mm(trusted * side)} ({trusted:g} pixels)."
        )
    if missing:
        said.append(
            "How small a defect could be seen is not known: give `camera: {field_of_view: ...}`, and `distance` and "
            "`size` for the pictures or under `defaults:`."
        )
    return said


def _differences(plan: Plan) -> list[str]:
    """Smallest difference that shows, and what missing insulation would make of the stated air temperatures."""
    stated = plan.context.camera.noise
    noise = NOISE_ASSUMED_K if stated is None else stated
    least = smallest_difference(noise)
    source = "not given, so taken as" if stated is None else "stated as"
    said = [
        f"The camera's noise is {source} {1000 * noise:.0f} mK: on an even surface a spot of 3 x 3 pixels shows from a "
        f"difference of about {least:.2f} K. The camera's accuracy matters little for this, because it is the same for "
        "both sides of a difference."
    ]
    if BUILDING in plan.manifest.inspect:
        said.append(_insulation(plan, least))
    return said


def smallest_difference(noise: float) -> float:
    """Least difference [K] between a spot of 3 x 3 pixels and an even surface at which the search starts an area."""
    return SEED * noise / STARTING_PIXELS**0.5


def missing_insulation_contrast(inside_k: float, outside_k: float) -> float:
    """How much an empty bay of a frame wall differs from its sound part on the inside [K]; negative: colder.

    Steady, conventional films. Sources: scottish-6b (wall), iso-6946 (films, air gap).
    """
    from heatbrief.physics.surface_coefficients import ISO_RSE, ISO_RSI
    from heatbrief.physics.transmittance import combined_method, expected_inside_surface

    film = ISO_RSI["horizontal"]
    sound = combined_method([*WALL, [[1.0 - TIMBER_SHARE, INSULATION], [TIMBER_SHARE, TIMBER]]]).r_total
    empty = film + sum(WALL) + EMPTY + ISO_RSE
    surfaces = [float(expected_inside_surface(inside_k, outside_k, film, total)) for total in (empty, sound)]
    return surfaces[0] - surfaces[1]


def _insulation(plan: Plan, least: float) -> str:
    now = plan.manifest.conditions
    each = abs(missing_insulation_contrast(1.0, 0.0))
    needed = f"It takes about {least / each:.1f} K between inside and outside for it to show at all."
    if now.inside_air is None or now.outside_air is None:
        return (
            f"A bay of a frame wall without insulation would differ by about {10 * each:.1f} K for every 10 K between "
            f"inside and outside. {needed} Give `inside_air` and `outside_air` to learn what to expect."
        )
    contrast = missing_insulation_contrast(now.inside_air.value, now.outside_air.value)
    word = "colder" if contrast < 0 else "warmer"
    shows = "this camera would show it" if abs(contrast) >= least else "too little for this camera"
    return (
        f"With {now.inside_air.value:g} degC inside and {now.outside_air.value:g} degC outside, a bay of a frame wall "
        f"without insulation would look about {abs(contrast):.1f} K {word} from inside than the wall around it: {shows}. "
        f"{needed}"
    )


def _conditions(plan: Plan) -> list[str]:
    """Conditions that fail or are not known, by what is looked for."""
    said = []
    for domain in plan.manifest.inspect:
        default = (Asked("any", plan.registry.domains[domain].title.lower(), ("wind", "sun")),)
        for asked in ASKED.get(domain, default):
            gates = _gates(plan, asked)
            failed = [gate for gate in gates if gate.passed is False]
            unknown = [gate for gate in gates if gate.passed is None]
            if failed:
                reasons = "; ".join(f"{gate.name} ({gate.reason})" for gate in failed)
                said.append(f"Not worth looking for {asked.words}: {reasons}. {_remedies(failed)}")
            elif unknown:
                said.append(
                    f"For {asked.words} it is not known yet whether the visit would be worth it. {_remedies(unknown)}"
                )
            else:
                said.append(f"The conditions as stated allow looking for {asked.words}.")
    return said


def _gates(plan: Plan, asked: Asked) -> tuple[Gate, ...]:
    stated = (getattr(chosen.settings, "rule_set", "") for chosen in plan.stages.detect)
    rule_set = next((name for name in stated if name), "") if asked.rule_set != "default" else ""
    nothing = Thermogram("", np.zeros((1, 1), np.float32), "temperature")
    case = Case("", "", nothing, plan.context, purpose=asked.purpose, rule_set=rule_set or asked.rule_set)
    return survey_gates(case, asked.gates)


def _remedies(gates: Iterable[Gate]) -> str:
    return " ".join(dict.fromkeys(gate.remedy for gate in gates))


def _mm(length: float) -> str:
    return (
        f"{length / 1000:.1f} m" if length >= 1000 else f"{length / 10:.0f} cm" if length >= 100 else f"{length:.2g} mm"
    )
