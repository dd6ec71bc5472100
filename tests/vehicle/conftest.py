"""Tests of the vehicle plugin on small pictures of exhaust runners, radiators and wheels with known truth."""

from __future__ import annotations

import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.model import Conditions, ErrorSource, PixelScale, Quantity, Region, Thermogram
from heatbrief.testing import run_step

NOISE_K = 0.1


def picture(values, name="car", emissivity=0.85):
    errors = (
        ErrorSource("noise", "", NOISE_K, "K", (300.0,), (1.0,)),
        ErrorSource("camera accuracy", "camera", 1.0, "K", (300.0,), (1.0,)),
    )
    values = np.asarray(values, np.float32)
    values.flags.writeable = False
    return Thermogram(
        name,
        values,
        "temperature",
        None,
        (errors,),
        (emissivity,),
        (emissivity >= 0.6,),
        PixelScale(0.002, 0.002, 0.02, "stated"),
    )


def context(regions, name="car", shows="the car on the open driveway", facts=None, emissivity=0.85, **conditions):
    return Context(
        conditions=Conditions(
            sun="none", wind=Quantity.exact(1.0, "m/s"), reflected=Quantity.exact(45.0, "degC"), **conditions
        ),
        regions=tuple(regions),
        view=View(thermogram=name, shows=shows, emissivity=Quantity.exact(emissivity, "1")),
        facts={"second view": "same place", "since_start": Quantity.exact(90.0, "s"), **(facts or {})},
    )


@pytest.fixture
def row():
    """row([310, 305, 302, 190]) -> (thermogram, regions): runners 8 px wide side by side, temperatures in degC."""

    def make(celsius, seed=3, shielded=(), group="exhaust runners"):
        values = np.full((60, 20 + 30 * len(celsius)), 60 + 273.15) + np.random.default_rng(seed).normal(
            0, NOISE_K, (60, 20 + 30 * len(celsius))
        )
        regions = []
        for number, value in enumerate(celsius, 1):
            left = 30 * number - 15
            values[8:52, left - 2 : left + 10] += value - 60
            regions.append(
                Region(
                    f"cylinder {number} runner",
                    "car",
                    "box",
                    ((left, 10), (left + 8, 50)),
                    "exhaust runner",
                    group=group,
                    facts={"shielded": "yes" if number in shielded else "no"},
                )
            )
        return picture(values), regions

    return make


@pytest.fixture
def radiator():
    """radiator(inlet, outlet, band=...) -> (thermogram, region): a core of 160 x 90 px, temperatures in degC."""

    def make(inlet=88.0, outlet=76.0, band=0.0, rows=(60, 74), columns=(50, 150), seed=4):
        values = np.full((130, 200), 45 + 273.15) + np.random.default_rng(seed).normal(0, NOISE_K, (130, 200))
        values[20:110, 20:180] += np.linspace(inlet, outlet, 160)[None, :] - 45
        values[rows[0] : rows[1], columns[0] : columns[1]] += band
        return picture(values, emissivity=0.9), Region("core", "car", "box", ((22, 22), (178, 108)), "engine radiator")

    return make


@pytest.fixture
def ask():
    """Run a step on (thermogram, regions) as the engine would."""

    def run(step, thermogram, regions, facts=None, **settings):
        return run_step(step, thermogram, context(regions, facts=facts), **settings)

    return run
