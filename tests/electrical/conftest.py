"""Tests of the electrical plugin on small pictures of breakers, plugs and cables with known truth."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.model import Conditions, ErrorSource, PixelScale, Quantity, Region, Thermogram
from heatbrief.testing import run_step

AIR_C = 30.0
NOISE_K = 0.05


class Panel:
    """Parts as boxes of 30 x 10 px in a column, each at a temperature of its own."""

    def __init__(
        self,
        shows="breaker",
        seed=1,
        offset=0.0,
        unsure=0.0,
        emissivity=0.93,
        material="breaker case",
        look="breaker panel",
        **conditions,
    ):
        self.values = (
            np.full((240, 120), AIR_C + 273.15) + np.random.default_rng(seed).normal(0, NOISE_K, (240, 120)) + offset
        )
        self.shows, self.unsure, self.emissivity, self.material, self.look = shows, unsure, emissivity, material, look
        self.regions: list[Region] = []
        self.conditions = Conditions(
            inside_air=Quantity.exact(AIR_C, "degC"), outside_air=Quantity.exact(AIR_C, "degC"), **conditions
        )

    def part(self, name, rise, load=None, rated=None, group="", shows=None, **facts):
        top = 6 + 18 * len(self.regions)
        self.values[top : top + 12, 40:72] += rise
        known = {"load": load, "rated": rated, **facts}
        self.regions.append(
            Region(
                name,
                "panel",
                "box",
                ((42, top + 1), (70, top + 11)),
                shows or self.shows,
                group=group,
                facts={
                    key: Quantity.exact(value, "A") if key in ("load", "rated") else value
                    for key, value in known.items()
                    if value is not None
                },
            )
        )
        return self

    def line(self, name, points, celsius, load=None, group=""):
        """A conductor along `points` with a temperature for every pixel of the row between its two ends."""
        (x0, y0), (x1, _) = points
        self.values[y0 - 2 : y0 + 3, x0 : x1 + 1] = (
            np.asarray(celsius) + 273.15 + np.random.default_rng(5).normal(0, NOISE_K, (5, x1 - x0 + 1))
        )
        facts = {} if load is None else {"load": Quantity.exact(load, "A"), "rated": Quantity.exact(20.0, "A")}
        self.regions.append(Region(name, "panel", "line", points, "conductor", group=group, facts=facts))
        return self

    @property
    def thermogram(self):
        errors = [
            ErrorSource("noise", "", NOISE_K, "K", (300.0,), (1.0,)),
            ErrorSource("camera accuracy", "camera", 1.0, "K", (300.0,), (1.0,)),
        ]
        if self.unsure:
            errors.append(
                ErrorSource(
                    "emissivity", "emissivity", 1.0, "1", (AIR_C + 273.15, AIR_C + 273.15 + 20), (0.0, self.unsure)
                )
            )
        values = self.values.astype(np.float32)
        values.flags.writeable = False
        return Thermogram(
            "panel",
            values,
            "temperature",
            None,
            (tuple(errors),),
            (self.emissivity,),
            (self.emissivity >= 0.6,),
            PixelScale(0.001, 0.001, 0.02, "stated"),
        )

    def context(self, **facts):
        view = View(
            thermogram="panel", shows=self.look, material=self.material, emissivity=Quantity.exact(self.emissivity, "1")
        )
        return Context(
            conditions=self.conditions,
            view=view,
            regions=tuple(self.regions),
            facts={"second view": "same place", **facts},
        )

    def run(self, step, facts=None, **settings):
        return run_step(step, self.thermogram, self.context(**(facts or {})), **settings)


@pytest.fixture
def panel():
    return Panel
