"""Electrical inspection: like parts at like load, panels, joints, phases, motors, inverters, and the cost of heat."""

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

from heatbrief_electrical import circuits, inverters, joint, motors, phases, single, twins, unbalance, waste
from heatbrief_electrical.parts import ALWAYS

STEPS = (
    twins.STEP,
    circuits.STEP,
    joint.STEP,
    phases.STEP,
    single.STEP,
    inverters.STEP,
    motors.STEP,
    unbalance.STEP,
    waste.STEP,
)


@hookimpl
def heatbrief_domains() -> Sequence[Domain]:
    """The electrical inspection."""
    return (
        Domain(
            "electrical",
            "Electrical",
            "Panels, breakers, connections, conductors, fuses, motors and inverters, as seen by somebody who may "
            "lawfully be in front of them, and compared at known load.",
            (*ALWAYS, "electrical.surfaces-only", "electrical.water"),
            load_shots(__package__),
        ),
    )


@hookimpl
def heatbrief_steps() -> Sequence[Step]:
    """The checks and the calculator."""
    return STEPS


@hookimpl
def heatbrief_cautions() -> Sequence[Caution]:
    """What can hurt somebody around electrical equipment."""
    return load_cautions("heatbrief_electrical")


@hookimpl
def heatbrief_actions() -> Sequence[Action]:
    """Further checks and licensed work."""
    return load_actions("heatbrief_electrical")


@hookimpl
def heatbrief_sources() -> Sequence[SourceRecord]:
    """Sources that are not among those of `heatbrief.physics`."""
    return load_sources("heatbrief_electrical")


@hookimpl
def heatbrief_texts() -> Sequence[Translation]:
    """Texts in texts.<language>.yaml."""
    return load_texts(__package__, "electrical")
