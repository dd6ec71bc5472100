"""Plumbing and irrigation: wet ground, damp surfaces, pipes, radiators, water heaters, and what leaks cost."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heatbrief.api import Domain, hookimpl, load_actions, load_cautions, load_shots, load_sources, load_texts

if TYPE_CHECKING:
    from heatbrief.api import Step, Translation
    from heatbrief.model import Action, Caution, SourceRecord


@hookimpl
def heatbrief_domains() -> Sequence[Domain]:
    """Plumbing."""
    return (
        Domain(
            "plumbing",
            "Plumbing and irrigation",
            "Wet ground, damp surfaces, pipes, radiators, heated floors and water heaters.",
            ("plumbing.moisture-proof", "plumbing.water-and-electricity"),
            load_shots(__package__),
        ),
    )


@hookimpl
def heatbrief_steps() -> Sequence[Step]:
    """The checks and the calculators. Their modules are imported here, so that importing the package stays cheap."""
    from heatbrief_plumbing import (
        cold_ground,
        damp_surface,
        evaporation,
        freezing,
        ground_lag,
        inflow,
        leak_rate,
        loops,
        pipe,
        pipe_heat,
        pipe_insulation,
        radiator,
        tracing,
        water_heater,
        wet_ground,
    )

    checks = (
        cold_ground,
        damp_surface,
        pipe,
        tracing,
        pipe_insulation,
        freezing,
        radiator,
        loops,
        water_heater,
        inflow,
    )
    calculators = (evaporation, leak_rate, pipe_heat, ground_lag)
    return (*wet_ground.STEPS, *(one.STEP for one in (*checks, *calculators)))


@hookimpl
def heatbrief_cautions() -> Sequence[Caution]:
    """Texts in cautions.yaml."""
    return load_cautions(__package__)


@hookimpl
def heatbrief_actions() -> Sequence[Action]:
    """Texts in actions.yaml."""
    return load_actions(__package__)


@hookimpl
def heatbrief_sources() -> Sequence[SourceRecord]:
    """Texts in sources.yaml; sources of the physics functions come with heatbrief itself."""
    return load_sources(__package__)


@hookimpl
def heatbrief_texts() -> Sequence[Translation]:
    """Texts in texts.<language>.yaml."""
    return load_texts(__package__, "plumbing")
