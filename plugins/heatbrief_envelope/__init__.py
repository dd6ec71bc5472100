"""Building envelope: insulation, thermal bridges, air leakage, windows, condensation, ducts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heatbrief.api import Domain, hookimpl, load_actions, load_cautions, load_sources

if TYPE_CHECKING:
    from heatbrief.api import Step
    from heatbrief.model import Action, Caution, SourceRecord


@hookimpl
def heatbrief_domains() -> Sequence[Domain]:
    """The envelope."""
    return (
        Domain(
            "envelope",
            "Building envelope",
            "Ceilings, walls, floors, windows and ducts: where heat or air passes more easily than around it.",
            ("envelope.surfaces-only", "envelope.attic", "envelope.ladders"),
        ),
    )


@hookimpl
def heatbrief_steps() -> Sequence[Step]:
    """The checks. Their modules are imported here, so that importing the package stays cheap."""
    from heatbrief_envelope import air_leakage, condensation, duct, insulation, pattern, thermal_bridge, window

    return (
        insulation.STEP,
        thermal_bridge.STEP,
        *air_leakage.STEPS,
        window.STEP,
        condensation.STEP,
        duct.STEP,
        pattern.STEP,
    )


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
