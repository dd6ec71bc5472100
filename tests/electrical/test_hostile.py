"""Whatever a manifest may hold, a check ends with findings, notes and finite numbers, and never touches its input."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from heatbrief.api import Context, View
from heatbrief.model import Conditions, ErrorSource, PixelScale, Quantity, Region, Thermogram
from heatbrief_electrical import STEPS
from heatbrief_electrical import waste as electrical_waste

SHOWS = (
    "breaker",
    "joint",
    "fuse",
    "conductor",
    "inverter",
    "heat sink",
    "exhaust runner",
    "engine radiator",
    "brake rotor",
    "wheel hub",
    "",
)
FACTS = (
    "load",
    "rated",
    "load share",
    "air_around",
    "since_start",
    "since_stop",
    "load held",
    "phase",
    "termination",
    "insulation",
    "insulation class",
    "electronics",
    "year wired",
    "power",
    "rated power",
    "voltage 1",
    "voltage 2",
    "voltage 3",
    "current 1",
    "current 2",
    "current 3",
    "shielded",
    "same material",
    "second view",
    "bank",
)
WORDS = {
    "phase": ("L1", "L2", "L3", "N", "upside down"),
    "termination": ("standard breaker", "bolted bare", "glue"),
    "insulation": ("PVC", "THWN", "wool"),
    "insulation class": ("A", "H", "Z"),
}
VALUES = (
    Quantity.exact(0.0, "A"),
    Quantity.exact(12.0, "A"),
    Quantity.exact(-3.0, "A"),
    Quantity.exact(1e9, "A"),
    Quantity.exact(1e-12, "A"),
    Quantity.between(-20.0, 60.0, "degC"),
    True,
    "yes",
    "",
    3.5,
)
DETECT = [step for step in STEPS if step.stage == "detect"]


def picture(random, name):
    height, width = (int(one) for one in random.integers(1, 90, 2))
    kind = random.integers(0, 6)
    values = np.full((height, width), 300.0) + (0 if kind == 0 else random.normal(0, 5, (height, width)))
    if kind == 1:
        values[:] = np.nan
    if kind == 2:
        values[random.random((height, width)) < 0.5] = np.nan
    if kind == 3:
        values[: height // 2] += 300.0
    scaled = kind != 4
    errors = (
        (
            (
                ErrorSource("noise", "", 0.05, "K", (300.0,), (1.0,)),
                ErrorSource("accuracy", "camera", 1.0, "K", (300.0,), (1.0,)),
            ),
        )
        if scaled
        else ()
    )
    stored = values.astype(np.float32)
    stored.flags.writeable = False
    pixel = PixelScale(0.001, 0.002, 0.05, "stated") if random.random() < 0.5 else None
    emissivity = float(random.choice([0.05, 0.5, 0.95]))
    return Thermogram(
        name,
        stored,
        "temperature" if scaled else "unscaled",
        None,
        errors,
        (emissivity,) if scaled else (),
        (emissivity > 0.5,) if scaled else (),
        pixel,
    )


def value_of(random, name):
    if name in WORDS and random.random() < 0.9:
        return str(random.choice(WORDS[name]))
    if name.startswith(("voltage", "current")) and random.random() < 0.8:
        return Quantity.exact(float(random.uniform(0, 500)), "V")
    return VALUES[int(random.integers(len(VALUES)))]


def region(random, number, thermogram, shows):
    shape = str(random.choice(["box", "line", "polygon", "point", "whole"]))
    points = tuple(
        (float(x), float(y))
        for x, y in random.integers(
            -20, 110, ({"box": 2, "point": 1, "line": int(random.integers(2, 5)), "polygon": 4}.get(shape, 0), 2)
        )
    )
    if shape == "line" and random.random() < 0.3:
        points = (points[0], points[0])
    facts = {
        str(name): value_of(random, str(name))
        for name in random.choice(FACTS, int(random.integers(0, 6)), replace=False)
    }
    return Region(
        f"part {number}", thermogram, shape, points, shows, group=str(random.choice(["", "one", "two"])), facts=facts
    )


def more_for(step, random):
    """Regions that give a check something to do, with whatever other facts chance gives them."""
    if step == "electrical.phases":
        made = [(region(random, f"phase {one}", "first", "breaker"), {"phase": one}) for one in ("L1", "L2", "L3", "N")]
    elif step == "electrical.unbalance":
        made = [
            (
                region(random, "supply", "first", "motor"),
                {f"voltage {one}": Quantity.exact(float(random.uniform(1, 500)), "V") for one in (1, 2, 3)},
            )
        ]
    else:
        return ()
    boxes = [((2.0 * n, 0.0), (2.0 * n + 1, 2.0)) for n in range(len(made))]
    return tuple(
        replace(one, shape="box", points=box, group="three", facts={**one.facts, **facts})
        for (one, facts), box in zip(made, boxes, strict=True)
    )


def finite(quantity):
    return all(math.isfinite(one) for one in (quantity.value, quantity.low, quantity.high))


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("step", DETECT, ids=lambda step: step.name)
def test_random_surveys(step):
    random = np.random.default_rng(sum(map(ord, step.name)))
    found = 0
    for _ in range(60):
        names = ("first", "second") if step.scope == "survey" else ("first",)
        pictures = tuple(picture(random, name) for name in names)
        words = step.shows if random.random() < 0.8 else SHOWS
        regions = tuple(
            region(random, number, str(random.choice(names)), str(random.choice(words)))
            for number in range(int(random.integers(0, 8)))
        )
        regions = (*regions, *more_for(step.name, random))
        air = Quantity.exact(float(random.uniform(-10, 40)), "degC") if random.random() < 0.6 else None
        context = Context(
            conditions=Conditions(inside_air=air),
            regions=regions,
            view=View(thermogram="first", shows=str(random.choice(words))),
            views={name: View(thermogram=name) for name in names},
        )
        if step.scope != "survey" and pictures[0].scale == "unscaled":
            continue
        output = step.run(
            pictures if step.scope == "survey" else pictures[0], step.settings(), context.only(step.reads)
        )
        assert len({one.id for one in output.findings}) == len(output.findings)
        for one in output.findings:
            found += 1
            assert (
                all(finite(quantity) for quantity in one.measured.values())
                and 0 < one.probability < 1
                and one.title
                and one.summary
            )
            assert not re.search(r"\b(nan|inf)\b", one.summary)
        estimates = electrical_waste.run(output.findings, electrical_waste.Settings(hours=10.0), context)
        assert all(finite(quantity) for one in estimates.estimates for quantity in one.quantities.values())
    assert found > 0 or step.name == "electrical.joint", "noise gives this one nothing, and the others something"
