"""Vehicle inspection: engine, exhaust, cooling, air conditioning, brakes, bearings, belts, charging, heated glass."""

from __future__ import annotations

from collections.abc import Sequence

from heatbrief.api import (
    Domain,
    Step,
    Translation,
    hookimpl,
    load_actions,
    load_cautions,
    load_shots,
    load_sources,
    load_texts,
)
from heatbrief.model import Action, Caution, SourceRecord


@hookimpl
def heatbrief_domains() -> Sequence[Domain]:
    """The vehicle inspection."""
    return (
        Domain(
            "vehicle",
            "Vehicle",
            "Engine, exhaust, cooling, air conditioning, brakes, belts and charging, from a distance and against "
            "their like.",
            (
                "vehicle.running-engine",
                "vehicle.rotating-parts",
                "vehicle.hot-surfaces",
                "vehicle.coolant",
                "vehicle.refrigerant",
                "vehicle.lifting",
                "vehicle.patterns",
            ),
            load_shots(__package__),
        ),
    )


@hookimpl
def heatbrief_steps() -> Sequence[Step]:
    """The checks and calculators. Their modules are imported here, so that importing the package stays cheap."""
    from heatbrief_vehicle import (
        ac_lines,
        belts,
        brakes,
        charging,
        cold_start,
        converter,
        cooling,
        estimates,
        exhaust,
        heated_glass,
        hoses,
        vent_check,
        warm_up,
    )

    engine = (exhaust.STEP, cold_start.STEP, warm_up.STEP, converter.STEP, belts.STEP, charging.STEP)
    fluids = (cooling.STEP, hoses.STEP, vent_check.STEP, ac_lines.STEP)
    return (*engine, *fluids, brakes.STEP, heated_glass.STEP, *estimates.STEPS)


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


@hookimpl
def heatbrief_texts() -> Sequence[Translation]:
    """Texts in texts.<language>.yaml."""
    return load_texts(__package__, "vehicle")
