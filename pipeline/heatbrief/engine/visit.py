"""Before the visit: what this camera could see under these conditions, and which conditions the checks would miss.

Sentences for an owner, from what the manifest states. No picture is needed and none is read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from heatbrief.api.context import Context
from heatbrief.calibrate.errors import NOISE_ASSUMED_K
from heatbrief.calibrate.pixel_scale import pixel_scale
from heatbrief.detect.case import Case
from heatbrief.detect.gates import rule_for, survey_gates
from heatbrief.engine.context import thermogram_context
from heatbrief.engine.jobs import Plan
from heatbrief.estimate.foresight import missing_insulation_contrast, smallest_difference
from heatbrief.manifest.schema import ThermogramDefaults, ThermogramEntry
from heatbrief.model.finding import Gate
from heatbrief.model.thermogram import Thermogram

Sizes = Mapping[str, tuple[int, int]]
"""(width, height) in pixels by id, of pictures that exist."""
TRUSTED = "pusnik-gersak-2021"
"""Practice whose size in pixels is asked for a temperature, not only for being seen."""
MOST_SAID = 3
FEW_NAMES, LONGEST_NAME = 3, 40
"""So many pictures are named in a sentence, each by so many characters."""
BUILDING = "envelope"


@dataclass(frozen=True)
class Asked:
    """A purpose of the gates, in words for the owner, with the conditions it asks for and the practice."""

    purpose: str
    words: str
    gates: tuple[str, ...]
    rule_set: str = "default"


INSULATION_RULES = "astm-c1060"
ASKED: Mapping[str, tuple[Asked, ...]] = {
    "envelope": (
        Asked(
            "insulation",
            "missing insulation and thermal bridges",
            ("difference", "steady", "wind", "sun"),
            INSULATION_RULES,
        ),
        Asked("air leakage", "air leaks", ("difference", "wind", "sun"), INSULATION_RULES),
    ),
    "plumbing": (
        Asked("irrigation", "wet ground", ("rain",)),
        Asked("moisture", "damp surfaces", ("humidity",)),
    ),
    "electrical": (Asked("electrical", "electrical parts", ("load",)),),
    "vehicle": (),
}
"""Conditions that can be known before there is a picture, as the checks of each domain ask for them; other domains are
asked for wind and sun."""


def before_the_visit(plan: Plan, sizes: Sizes | None = None) -> tuple[str, ...]:
    """What the stated camera, distances and conditions allow, some sentences each, in reading order.

    sizes  of pictures that exist already; others need `size` in the manifest
    """
    return (*_smallest(plan, sizes or {}), *_differences(plan), *_conditions(plan))


@dataclass(frozen=True)
class _Kind:
    """One kind of view: what its pictures show, their files, what is known about it, size in pixels."""

    context: Context
    size: tuple[int, int] | None
    words: list[str]
    files: list[str]

    @property
    def lacks(self) -> list[str]:
        """What the size of its pixels cannot be worked out without."""
        camera, view = self.context.camera, self.context.view
        lens = camera.field_of_view or (camera.pixel_pitch and camera.focal_length)
        asked = {"`camera: {field_of_view: ...}`": lens, "`distance`": view.distance, "`size`": self.size}
        return [name for name, given in asked.items() if not given] or list(asked)


def _planned(plan: Plan, sizes: Sizes) -> Iterable[_Kind]:
    """Each kind of view; the defaults where there are no pictures."""
    entries = [(one.entry.shows or one.entry.file, one.entry) for one in plan.thermograms]
    if not entries:
        given = plan.manifest.defaults or ThermogramDefaults()
        shared = {name: getattr(given, name) for name in ("distance", "size", "shows", "material", "emissivity")}
        entries = [(given.shows or "a picture", ThermogramEntry(file="", id="planned", **shared))]
    seen: dict[object, _Kind] = {}
    for words, entry in entries:
        size = sizes.get(entry.id, entry.size)
        key = (entry.distance, size, entry.tilt, entry.pixel_size, entry.rectangle)
        kind = seen.setdefault(key, _Kind(thermogram_context(plan.manifest, entry), size, [], []))
        kind.words.append(words)
        kind.files.append(entry.file)
    return seen.values()


def _smallest(plan: Plan, sizes: Sizes) -> list[str]:
    """Smallest thing that counts, in length and pixels, finest view first; of many only the finest and the coarsest."""
    least, trusted = (rule_for("spot", "any", name).value for name in ("default", TRUSTED))
    found: dict[str, tuple[float, str]] = {}
    missing: list[_Kind] = []
    for kind in _planned(plan, sizes):
        scale = None if kind.size is None else pixel_scale(kind.context, *kind.size)
        if scale is None:
            missing.append(kind)
            continue
        side = max(scale.width, scale.height)
        view = kind.context.view.distance
        of = f" ({_named(kind.words)})" if plan.thermograms else ""
        far = f"From {view.value:g} m{of}" if view is not None else f"In the picture of {_named(kind.words)}"
        text = (
            f"{far} a pixel covers about {_length(side)}. The smallest defect that counts is {_length(least * side)} "
            f"wide ({least:g} pixels); a temperature can be trusted from {_length(trusted * side)} ({trusted:g} px)."
        )
        found.setdefault(text, (side, text))
    said = [text for _, text in sorted(found.values())]
    said = said if len(said) <= MOST_SAID else [said[0], said[-1]]
    return said + ([_not_known(missing, bool(said and plan.thermograms))] if missing else [])


def _not_known(kinds: list[_Kind], only_some: bool) -> str:
    """Of which pictures the smallest defect is not known, and what to give."""
    lacks = list(dict.fromkeys(name for kind in kinds for name in kind.lacks))
    which = f" for {_named([file for kind in kinds for file in kind.files])}" if only_some else ""
    words = lacks[0] if len(lacks) == 1 else f"{', '.join(lacks[:-1])} and {lacks[-1]}"
    where = "" if lacks[0].startswith("`camera") and len(lacks) == 1 else " for the pictures or under `defaults:`"
    return f"How small a defect could be seen is not known{which}: give {words}{where}."


def _named(pictures: Sequence[str]) -> str:
    """Which pictures a sentence is about: a few by their words, and how many more."""
    names = [one if len(one) <= LONGEST_NAME else one[: LONGEST_NAME - 1].rstrip() + "…" for one in pictures]
    few, more = list(dict.fromkeys(names))[:FEW_NAMES], len(pictures)
    rest = more - sum(one in few for one in names)
    return "; ".join(few) + (f"; and {rest} more" if rest else "")


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
        f"without insulation would look about {abs(contrast):.1f} K {word} from inside than the wall around it: "
        f"{shows}. {needed}"
    )


def _conditions(plan: Plan) -> list[str]:
    """Conditions that fail or are not known, by what is looked for."""
    said = []
    for domain in plan.manifest.inspect:
        title = plan.registry.domains[domain].title
        default = (Asked("any", f'what the inspection "{title}" covers', ("wind", "sun")),)
        for asked in ASKED.get(domain, default):
            if "load" in asked.gates and plan.thermograms:
                continue  # loads stand with the regions of the pictures and are judged there
            said.append(_said(asked, _gates(plan, asked)))
    return said


def _said(asked: Asked, gates: tuple[Gate, ...]) -> str:
    failed = [gate for gate in gates if gate.passed is False]
    unknown = [gate for gate in gates if gate.passed is None]
    if failed:
        reasons = "; ".join(f"{gate.name} ({gate.reason})" for gate in failed)
        return f"Findings on {asked.words} would stay undecided: {reasons}. {_remedies(failed)}"
    if unknown:
        return f"For {asked.words} something is still to be arranged or told. {_remedies(unknown)}"
    return f"For {asked.words} the conditions as stated are good enough."


def _gates(plan: Plan, asked: Asked) -> tuple[Gate, ...]:
    """The gates by the practice that the manifest sets for a check of insulation, else by the usual one."""
    stated = (getattr(chosen.settings, "rule_set", "") for chosen in plan.stages.detect)
    own = next((name for name in stated if name), "") if asked.purpose == "insulation" else ""
    nothing = Thermogram("", np.zeros((1, 1), np.float32), "temperature")
    case = Case("", "", nothing, plan.context, purpose=asked.purpose, rule_set=own or asked.rule_set)
    return survey_gates(case, asked.gates)


def _remedies(gates: Iterable[Gate]) -> str:
    return " ".join(dict.fromkeys(gate.remedy for gate in gates))


def _length(metres: float) -> str:
    """A length as people say it: mm below 10 cm, cm below 1 m."""
    if metres < 0.1:
        return f"{1000 * metres:.2g} mm"
    return f"{100 * metres:.0f} cm" if metres < 1 else f"{metres:.1f} m"
