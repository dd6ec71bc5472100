"""Pictures, contexts and settings on which the contract checks run a step."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from typing import Any

import numpy as np

from heatbrief.api import Camera, Context, FactSpec, Step, View
from heatbrief.model.conditions import Conditions
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Fact, Region
from heatbrief.model.settings import is_required, spec_of
from heatbrief.model.thermogram import Thermogram
from heatbrief.testing.samples import masked, thermogram

WIDTH, HEIGHT = 120, 90
LARGE_KIND, LARGE = "large", (320, 240)
PATCHES = (((14.0, 14.0, 22.0, 16.0), 5.0), ((70.0, 16.0, 20.0, 18.0), -4.0), ((30.0, 52.0, 24.0, 12.0), 9.0))
BOXES = ((10.0, 10.0, 42.0, 36.0), (62.0, 10.0, 100.0, 40.0), (22.0, 46.0, 60.0, 70.0), (68.0, 50.0, 108.0, 80.0))
MOST_WORDS = 6
_NUMBER = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s*(\S*)\s*$")


@functools.cache
def pictures() -> Mapping[str, Thermogram]:
    """Pictures by what is odd about them."""
    plain = thermogram(22.0, PATCHES, width=WIDTH, height=HEIGHT, name="contract", mottle_k=0.1)
    columns = np.broadcast_to(np.arange(WIDTH)[None, :] < WIDTH // 2, (HEIGHT, WIDTH))
    single = replace(
        plain, values=plain.values[:1, :1].copy(), zones=None if plain.zones is None else plain.zones[:1, :1].copy()
    )
    return {
        "ordinary": plain,
        LARGE_KIND: thermogram(22.0, _scaled(PATCHES), width=LARGE[0], height=LARGE[1], name="contract", mottle_k=0.1),
        "half masked": masked(plain, columns),
        "wholly masked": masked(plain, np.ones((HEIGHT, WIDTH), bool)),
        "of one pixel": single,
        "without a scale": thermogram(22.0, PATCHES, width=WIDTH, height=HEIGHT, name="contract", unscaled=True),
    }


def _scaled(
    patches: Iterable[tuple[tuple[float, float, float, float], float]],
) -> tuple[tuple[tuple[float, float, float, float], float], ...]:
    """The patches at the size of the large picture."""
    by = LARGE[0] / WIDTH
    return tuple(((left * by, top * by, wide * by, high * by), rise) for (left, top, wide, high), rise in patches)


def context_of(step: Step, subject: Thermogram | tuple[Thermogram, ...], told: bool) -> Context:
    """A context with regions the step chooses; `told` adds the conditions and facts its examples give."""
    members = subject if isinstance(subject, tuple) else (subject,)
    regions = tuple(region for one in members for region in _regions(step, one.id, told))
    views = {one.id: _view(step, one, number) for number, one in enumerate(members)}
    known = _conditions() if told else Conditions()
    facts = _facts(step.facts) if told else {}
    return Context(
        property="contract",
        conditions=known,
        camera=Camera((45.0, 34.0), 0.05, 2.0),
        view=views[members[0].id],
        views=views,
        regions=regions,
        facts=facts,
        conditions_of=dict.fromkeys(views, known),
        facts_of=dict.fromkeys(views, facts),
    )


def settings_of(step: Step) -> Any:
    """The step's settings from its defaults, required ones from their examples; None when that cannot be done."""
    given = {}
    for one in fields(step.settings):
        if one.init and is_required(one):
            given[one.name] = _example(spec_of(one).example, spec_of(one).unit)
    try:
        return step.settings(**given)
    except Exception:
        return None


def _regions(step: Step, thermogram_id: str, told: bool) -> tuple[Region, ...]:
    words = step.shows[:MOST_WORDS] or ("surface",)
    facts = _facts(step.facts) if told else {}
    found = [Region("everything", thermogram_id, "whole", (), words[0], facts=facts)]
    for number, (x0, y0, x1, y1) in enumerate(BOXES):
        word = words[number % len(words)] if told else words[0]
        found.append(
            Region(f"part {number + 1}", thermogram_id, "box", ((x0, y0), (x1, y1)), word, group="parts", facts=facts)
        )
    found.append(Region("line", thermogram_id, "line", ((5.0, 60.0), (110.0, 62.0)), words[-1], facts=facts))
    return (*found, Region("outside", thermogram_id, "box", ((900.0, 900.0), (950.0, 950.0)), words[0]))


def _view(step: Step, one: Thermogram, number: int) -> View:
    return View(
        thermogram=one.id,
        source=f"{one.id}.tiff",
        shows=(step.shows or ("surface",))[0],
        distance=Quantity.exact(2.0, "m"),
        emissivity=Quantity.between(0.93, 0.97, "1"),
        size=(one.shape[1], one.shape[0]),
        sequence="contract",
        taken=f"2026-07-14T16:{20 + number:02d}:00",
        material="painted plaster",
    )


def _conditions() -> Conditions:
    given = {
        one.name: _example(spec_of(one).example, spec_of(one).unit) for one in fields(Conditions) if spec_of(one).unit
    }
    return Conditions(
        **{name: value for name, value in given.items() if isinstance(value, Quantity)}, sky="overcast", sun="none"
    )


def _facts(specs: tuple[FactSpec, ...]) -> dict[str, Fact]:
    found = {
        spec.name: _example(spec.example, spec.unit) if spec.unit else spec.choices[0] if spec.choices else spec.example
        for spec in specs
    }
    return {name: value for name, value in found.items() if isinstance(value, (Quantity, str)) and value != ""}


def _example(text: str, unit: str | None) -> Any:
    """An example as a quantity where it is a number in the declared unit (or per cent), else its words."""
    match = _NUMBER.match(text)
    if unit is None or match is None:
        return text
    value = float(match[1])
    if unit == "1" and match[2] in ("", "%"):
        return Quantity.exact(value / 100 if match[2] else value, "1")
    return Quantity.exact(value, unit) if match[2] in (unit, "") else None
