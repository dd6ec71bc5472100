"""Plumbing and irrigation: wet ground, damp surfaces, pipes in floors, radiators, and the water that evaporates."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heatbrief.api import Domain, hookimpl, load_actions, load_cautions, load_sources

if TYPE_CHECKING:
    from heatbrief.api import Step
    from heatbrief.model import Action, Caution, SourceRecord


@hookimpl
def heatbrief_domains() -> Sequence[Domain]:
    """Plumbing."""
    return (
        Domain(
            "plumbing",
            "Plumbing and irrigation",
            "Wet ground, damp surfaces, pipes in floors and radiators.",
            ("plumbing.moisture-proof", "plumbing.water-and-electricity"),
        ),
    )


@hookimpl
def heatbrief_steps() -> Sequence[Step]:
    """The checks and the calculator. Their modules are imported here, so that importing the package stays cheap."""
    from heatbrief_plumbing import cold_ground, damp_surface, evaporation, inflow, pipe, radiator, wet_ground

    return (*wet_ground.STEPS, cold_ground.STEP, damp_surface.STEP, pipe.STEP, radiator.STEP, inflow.STEP, evaporation.STEP)


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
