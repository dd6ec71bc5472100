"""Vehicle inspection: exhaust runners by cylinder, the engine's radiator, brakes and hubs by side."""

from __future__ import annotations

from collections.abc import Sequence

from heatbrief.api import Domain, Step, hookimpl, load_actions, load_cautions, load_sources
from heatbrief.model import Action, Caution, SourceRecord

from heatbrief_vehicle import brakes, cooling, exhaust

STEPS = (exhaust.STEP, cooling.STEP, brakes.STEP)


@hookimpl
def heatbrief_domains() -> Sequence[Domain]:
    """The vehicle inspection."""
    return (
        Domain(
            "vehicle",
            "Vehicle",
            "Exhaust runners, engine radiators and brakes, seen from a distance and compared with their like.",
            (
                "vehicle.running-engine",
                "vehicle.rotating-parts",
                "vehicle.hot-surfaces",
                "vehicle.coolant",
                "vehicle.refrigerant",
                "vehicle.patterns",
            ),
        ),
    )


@hookimpl
def heatbrief_steps() -> Sequence[Step]:
    """The checks."""
    return STEPS


@hookimpl
def heatbrief_cautions() -> Sequence[Caution]:
    """What can hurt somebody around a vehicle."""
    return load_cautions("heatbrief_vehicle")


@hookimpl
def heatbrief_actions() -> Sequence[Action]:
    """Further checks and workshop jobs."""
    return load_actions("heatbrief_vehicle")


@hookimpl
def heatbrief_sources() -> Sequence[SourceRecord]:
    """Sources that are not among those of `heatbrief.physics`."""
    return load_sources("heatbrief_vehicle")
