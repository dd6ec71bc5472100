"""Building envelope: insulation, heat transfer, bridges, air leakage, windows, condensation, ducts, roofs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heatbrief.api import Domain, hookimpl, load_actions, load_cautions, load_shots, load_sources, load_texts

if TYPE_CHECKING:
    from heatbrief.api import Step, Translation
    from heatbrief.model import Action, Caution, SourceRecord


@hookimpl
def heatbrief_domains() -> Sequence[Domain]:
    """The envelope."""
    return (
        Domain(
            "envelope",
            "Building envelope",
            "Ceilings, walls, floors, roofs, windows and ducts: where heat or air passes more easily than around it.",
            ("envelope.surfaces-only", "envelope.attic", "envelope.ladders"),
            load_shots(__package__),
        ),
    )


@hookimpl
def heatbrief_steps() -> Sequence[Step]:
    """The checks. Their modules are imported here, so that importing the package stays cheap."""
    from heatbrief_envelope import (
        air_leakage,
        condensation,
        duct,
        duct_delivery,
        heated_parts,
        insulation,
        leak_flow,
        pattern,
        roof_moisture,
        shade,
        thermal_bridge,
        transmittance,
        void_effect,
        window,
    )

    return (
        insulation.STEP,
        transmittance.STEP,
        thermal_bridge.STEP,
        *air_leakage.STEPS,
        window.STEP,
        shade.STEP,
        condensation.STEP,
        duct.STEP,
        roof_moisture.STEP,
        heated_parts.STEP,
        pattern.STEP,
        void_effect.STEP,
        leak_flow.STEP,
        duct_delivery.STEP,
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


@hookimpl
def heatbrief_texts() -> Sequence[Translation]:
    """Texts in texts.<language>.yaml."""
    return load_texts(__package__, "envelope")
