"""Evaporation by its heat against a weighed loss of water: leaves in sun and wind.

Page, Lienard, Pruett and Moffett (2018), data archive doi 10.5281/zenodo.1167842, MIT licence. A leaf was weighed
before and after the run in which it was photographed beside a dry reference leaf in the same sun and wind. Skipped
where the data are absent.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from heatbrief.api import propagated
from heatbrief.model import Quantity
from heatbrief.physics.air_properties import conductivity, density, prandtl, viscosity
from heatbrief.physics.psychrometrics import wet_bulb
from heatbrief_plumbing.evaporating import flux_by_balance

DATA = Path(__file__).resolve().parents[3] / "shared" / "data" / "leaf-transpiration"
pytestmark = pytest.mark.skipif(not DATA.is_dir(), reason="the leaf measurements are not here (../shared/data)")
LEAF, ACCURACY_K = "1", 1.0
SPREAD = 0.15
"""Share by which the wind at the leaf may differ from the anemometer's."""


def table(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def frames():
    """(wet, dry, air) leaf and air temperatures of each complete frame [degC]."""
    rows = [row for row in table(f"leaf_data_{LEAF}.csv") if row["LTemp"] != "NA"]
    return np.array([[float(row[name]) for name in ("LTemp", "DLTemp", "AirT")] for row in rows])


@pytest.fixture(scope="module")
def weather():
    return {
        name: np.array([float(row[name]) for row in table(f"met_leaf{LEAF}.csv")])
        for name in ("wind.int", "rh.int", "temp.int")
    }


def area_m2() -> float:
    return next(float(row["Area_m"]) for row in table("single_leaf_areas_R.csv") if row["Leaf"] == LEAF)


def weighed_flux() -> float:
    """Loss of water over leaf area and the run's time [kg m-2 s-1]."""
    row = next(row for row in table("single_leaf_water_R.csv") if row["Leaf"] == LEAF)
    seconds = len(table(f"met_leaf{LEAF}.csv"))
    return (float(row["InitialKG"]) - float(row["FinalKG"])) / area_m2() / seconds


def forced_film(wind: Quantity, length: float, kelvin: float) -> Quantity:
    """Coefficient [W m-2 K-1] of one side of a laminar plate, Nu = 0.664 Re^1/2 Pr^1/3 (incropera [memory]).

    Outdoor wind gives 1.0 to 1.8 times as much as a smooth tunnel; 1.4 after Campbell and Norman [memory].
    """
    kinematic = float(viscosity(kelvin) / density(kelvin))
    still = 0.664 * float(prandtl(kelvin)) ** (1 / 3) * float(conductivity(kelvin)) / length
    return propagated(
        lambda wind, unrest: unrest * still * (wind * length / kinematic) ** 0.5,
        "W/m2/K",
        "laminar plate in unsteady wind",
        wind=wind,
        unrest=Quantity.between(1.0, 1.8, "1", 1.4),
    )


def frame_flux(wet: float, dry: float, air: float, wind: Quantity) -> Quantity:
    cooling = Quantity.normal(dry - wet, "K", 0.5 * ACCURACY_K)
    film = forced_film(wind, area_m2() ** 0.5, air + 273.15)
    return flux_by_balance(cooling, Quantity.normal(wet, "degC", ACCURACY_K), film, sides=2)


def test_wet_is_colder_than_dry_in_every_picture(frames):
    wet, dry, air = frames.T
    assert len(frames) == 13 and np.all(dry - wet > 5.0)
    assert np.median(dry - wet) == pytest.approx(11.0, abs=2.5)
    assert np.all(wet > air), "leaves in full sun stay warmer than the air however much they lose"


def test_pixels_of_the_pictures_give_the_published_means():
    """The mean over the leaf's own pixels, NaN beside it, is the published leaf temperature; the dry leaf is hotter."""
    for row in table("expected_means.csv"):
        values = np.genfromtxt(DATA / row["file"], delimiter=",")
        assert np.nanmean(values) == pytest.approx(float(row["mean_C_published"]), abs=0.002)
        assert np.nanmax(values) < float(row["dry_reference_leaf_C"])


def test_the_bounds_of_evaporation_hold_the_weighed_loss(frames, weather):
    mean = float(weather["wind.int"].mean())
    wind = Quantity.between((1 - SPREAD) * mean, (1 + SPREAD) * mean, "m/s", mean)
    each = [frame_flux(*row, wind) for row in frames]
    low, value, high = (np.mean([getattr(one, name) for one in each]) for name in ("low", "value", "high"))
    weighed = weighed_flux()
    assert weighed == pytest.approx(1.66e-4, rel=0.01)
    assert low <= weighed <= high
    assert value == pytest.approx(weighed, rel=0.4)
    assert high / low < 2.5, "bounds wide enough to hold anything would prove nothing"


def test_the_two_frames_of_most_and_least_cooling_differ_as_the_heat_does(frames):
    """The same wind: evaporation goes with the difference of dry and wet."""
    wind = Quantity.exact(0.9, "m/s")
    difference = frames[:, 1] - frames[:, 0]
    most, least = (frame_flux(*frames[place], wind) for place in (difference.argmax(), difference.argmin()))
    assert most.value / least.value == pytest.approx(difference.max() / difference.min(), rel=0.05)


def test_no_leaf_is_below_the_wet_bulb(frames, weather):
    """Evaporation floor, radiometry dossier section 7: in sun it lies far below the leaf."""
    floor = wet_bulb(weather["temp.int"].mean() + 273.15, weather["rh.int"].mean()) - 273.15
    assert floor == pytest.approx(18.6, abs=0.7) and np.all(frames[:, 0] > floor)
