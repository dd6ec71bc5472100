"""How long calibration takes beside one look-up of every pixel: `python tests/benchmarks/calibration.py [--json]`.

Timed is the calibrate step as a run calls it, from the decoded 640 x 480 16-bit picture and its context to the finished
thermogram: range check, zones painted from their regions, surroundings, path, table, look-up, error sources, notes and
pixel size. Not timed: decoding the file. Tables and error sources of a kind of surface are remembered within a process,
as they are from picture to picture of a survey; the first picture is reported apart. The searches for bad pixels and
for stripes of the detector look at the scene, not at the calibration; they are off in the three ratios and each is
reported apart.

Beside it: numpy.take over the same counts from a table of the same type (float32). A block of 30 MB is freed first,
after which the allocator keeps memory at hand; without it every large array costs fresh pages from the system, in
numpy.take (1.2 ms instead of 0.2) as in calibration, and ratios depend on what ran before.
"""

from __future__ import annotations

import gc
import json
import statistics
import sys
import time
from collections.abc import Callable

import numpy as np
from heatbrief.api import Camera, Context, View
from heatbrief.calibrate.maps import uncertainty_map
from heatbrief.calibrate.radiance import calibrate
from heatbrief.calibrate.settings import RadianceSettings
from heatbrief.model.conditions import Conditions
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Region
from heatbrief.model.thermogram import Picture

SHAPE, REPEATS = (480, 640), 300
QUICK = RadianceSettings(bad_pixels=False, stripes=False)
SEARCHED = {"bad_pixel_search": RadianceSettings(stripes=False), "stripe_search": RadianceSettings(bad_pixels=False)}
MATERIALS = (
    "brick",
    "painted plaster",
    "window glass",
    "electrical tape",
    "wood",
    "concrete",
    "asphalt",
    "water",
    "skin",
    "paper",
)


def picture() -> Picture:
    """An invented wall: slow changes, warm spots, noise of 50 mK, counts of 10 mK."""
    random = np.random.default_rng(7)
    y, x = np.mgrid[0 : SHAPE[0], 0 : SHAPE[1]]
    kelvin = (
        293.0
        + 4.0 * np.sin(x / 90.0)
        + 3.0 * np.cos(y / 70.0)
        + 15.0 * np.exp(-((x - 400) ** 2 + (y - 200) ** 2) / 4e3)
    )
    counts = np.rint((kelvin + 0.05 * random.standard_normal(SHAPE)) / 0.01).astype(np.uint16)
    return Picture(counts, False, (0.01, 0.0), 0.0, 65535.0)


def context(regions: tuple[Region, ...] = ()) -> Context:
    """All facts given, so that nothing is cut short."""
    return Context(
        conditions=Conditions(inside_air=Quantity.exact(21, "degC"), humidity=Quantity.exact(0.5, "1")),
        camera=Camera(field_of_view=(45.0, 34.0), noise=0.05, accuracy=2.0, accuracy_percent=0.02, band=(8.0, 14.0)),
        view=View(
            thermogram="wall",
            emissivity=Quantity.normal(0.95, "1", 0.01),
            reflected=Quantity.exact(21, "degC"),
            distance=Quantity.exact(3, "m"),
            tilt=Quantity.exact(10, "deg"),
        ),
        regions=regions,
    )


def ten_regions() -> tuple[Region, ...]:
    """Five boxes and five polygons, each of another emissivity; they overlap and cover two thirds of the picture."""
    found = []
    for number in range(10):
        left, top = 20 + 120 * (number % 5), 15 + 230 * (number // 5)
        right, bottom = left + 115, top + 220
        shape = ("box", ((left, top), (right, bottom)))
        if number % 2:
            shape = ("polygon", ((left, top), (right, top + 20), (right - 10, bottom), (left + 30, bottom - 5)))
        found.append(
            Region(MATERIALS[number], "wall", *shape, emissivity=Quantity.normal(0.70 + 0.025 * number, "1", 0.01))
        )
    return tuple(found)


def medians(jobs: dict[str, Callable[[], object]], repeats: int = REPEATS) -> dict[str, float]:
    """Median seconds of each job; the jobs take turns, so that a slow spell of the machine meets all of them."""
    for job in jobs.values():
        job()
    times: dict[str, list[float]] = {name: [] for name in jobs}
    gc.disable()
    for _ in range(repeats):
        for name, job in jobs.items():
            start = time.perf_counter()
            job()
            times[name].append(time.perf_counter() - start)
    gc.enable()
    return {name: statistics.median(taken) for name, taken in times.items()}


def measure() -> dict[str, float]:
    np.ones(30_000_000 // 8)
    shot, plain, many = picture(), context(), context(ten_regions())
    start = time.perf_counter()
    calibrate(shot, QUICK, plain)
    first = time.perf_counter() - start
    table = np.linspace(200.0, 900.0, 65536, dtype=np.float32)
    assert len(calibrate(shot, QUICK, many).errors) == 11
    taken = medians(
        {
            "take": lambda: np.take(table, shot.values),
            "one": lambda: calibrate(shot, QUICK, plain),
            "ten": lambda: calibrate(shot, QUICK, many),
            "map": lambda: uncertainty_map(calibrate(shot, QUICK, plain)),
            "map of ten": lambda: uncertainty_map(calibrate(shot, QUICK, many)),
        }
    )
    searched = medians(
        {name: lambda found=found: calibrate(shot, found, plain) for name, found in SEARCHED.items()}, 20
    )
    take = taken["take"]
    return {
        "one_emissivity_over_take": taken["one"] / take,
        "ten_regions_over_take": taken["ten"] / take,
        "uncertainty_over_take": taken["map"] / take,
        "ten_regions_with_uncertainty_over_take": taken["map of ten"] / take,
        **{f"one_emissivity_with_{name}_over_take": seconds / take for name, seconds in searched.items()},
        "first_picture_ms": 1e3 * first,
        "take_ms": 1e3 * take,
    }


def main() -> None:
    found = {name: round(value, 3) for name, value in measure().items()}
    say = sys.stdout.write
    say(f"numpy.take over 640 x 480 counts: {found['take_ms']:.3f} ms (median of {REPEATS})\n")
    say(f"calibrate, one emissivity: {found['one_emissivity_over_take']:.2f} times that (goal 3)\n")
    say(f"calibrate, ten material regions: {found['ten_regions_over_take']:.2f} times (goal 6)\n")
    say(
        f"calibrate and uncertainty of every pixel: {found['uncertainty_over_take']:.2f} times (goal 10), "
        f"with ten regions {found['ten_regions_with_uncertainty_over_take']:.2f}\n"
    )
    say(
        f"with the search for bad pixels: {found['one_emissivity_with_bad_pixel_search_over_take']:.0f} times, "
        f"with that for stripes {found['one_emissivity_with_stripe_search_over_take']:.0f}\n"
    )
    say(f"first picture of a process, tables and fits made: {found['first_picture_ms']:.0f} ms\n")
    if "--json" in sys.argv[1:]:
        say(json.dumps(found) + "\n")


if __name__ == "__main__":
    main()
