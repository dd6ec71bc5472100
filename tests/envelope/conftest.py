"""Tests of the envelope plugin in rooms between two airs, as a camera records them, with the truth beside."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from heatbrief.api import Context
from heatbrief.model import Conditions, Quantity, Region, Thermogram
from heatbrief.testing import Imager, Scene, as_thermogram, context_for, render
from heatbrief.testing.parts import Layers
from heatbrief.testing.truth import TruthRecord

CAMERA = Imager(noise_k=0.05, blur_px=0.6, accuracy_k=2.0)


@dataclass(frozen=True)
class Room:
    """One picture of a surface, what a check is told about it, and what is true."""

    subject: Thermogram
    context: Context
    records: dict[str, TruthRecord]


def conditions(near: float, far: float, **more) -> Conditions:
    """Conditions that pass every gate unless told otherwise."""
    facts = {
        "humidity": (0.4, "1"),
        "wind": (1.0, "m/s"),
        "hours_steady": (24.0, "h"),
        "hours_without_sun": (24.0, "h"),
        "hours_without_rain": (100.0, "h"),
    }
    given = {name: Quantity.exact(value, unit) for name, (value, unit) in facts.items()}
    return replace(
        Conditions(
            inside_air=Quantity.exact(near, "degC"), outside_air=Quantity.exact(far, "degC"), sun="none", **given
        ),
        **more,
    )


@pytest.fixture
def room():
    """room(near, far, *parts): a wall, or whatever `shows` says, between airs of those temperatures."""

    def make(
        near,
        far,
        *parts,
        shows="wall",
        facts=None,
        film=0.13,
        resistance=4.0,
        name="wall",
        seed=1,
        width=160,
        height=120,
        regions=None,
        view=None,
        distance=2.0,
        emissivity=0.94,
        imager=CAMERA,
        **now,
    ):
        base = Layers(name="surface", near_c=near, far_c=far, film=film, resistance=resistance)
        scene = Scene(
            name=name,
            seed=seed,
            width=width,
            height=height,
            distance_m=distance,
            base_c=near,
            emissivity=emissivity,
            reflected_c=near,
            air_c=near,
            mottle_k=0.05,
            imager=imager,
            parts=(base, *parts),
        )
        rendered = render(scene)
        declared = regions if regions is not None else (Region("the surface", name, shows=shows, facts=facts or {}),)
        context = context_for(
            scene,
            regions=declared,
            facts={"second view": "same place"},
            conditions=conditions(near, far, **now),
            view={"shows": f"{shows} from inside", **(view or {})},
        )
        return Room(as_thermogram(rendered, context), context, {one.name: one for one in rendered.truth.records})

    return make


@pytest.fixture
def holds():
    """holds(quantity, value): the interval holds the true value."""

    def check(quantity, value):
        assert quantity.low <= value <= quantity.high, (
            f"{value} is not in {quantity.low} .. {quantity.high} {quantity.unit}"
        )

    return check
