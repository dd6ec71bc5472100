"""Thermograms, contexts and step runs for the tests of a plugin, without a survey folder."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from heatbrief.api import Camera, Context, Step, View
from heatbrief.errors import UserError
from heatbrief.model.conditions import Conditions
from heatbrief.model.quantity import Quantity
from heatbrief.model.region import Fact, Region
from heatbrief.model.thermogram import Picture, Thermogram
from heatbrief.testing.fields import Box, Part
from heatbrief.testing.parts.general import Patch
from heatbrief.testing.rendering import Rendered, render
from heatbrief.testing.scene import Imager, Scene

EMISSIVITY_BOUND = 0.02


def thermogram(
    background_c: float = 22.0,
    patches: Iterable[Part | tuple[Box, float]] = (),
    *,
    noise_k: float = 0.05,
    width: int = 160,
    height: int = 120,
    unscaled: bool = False,
    imager: Imager | None = None,
    **scene: Any,
) -> Thermogram:
    """A calibrated picture of a plain surface at `background_c` with patches, as a camera would record it.

    patches   parts of `heatbrief.testing.parts`, or pairs ([left, top, width, height] in px, kelvin above background)
    unscaled  True for counts without a meaning
    scene     further fields of Scene: name, seed, emissivity, reflected_c, distance_m, mottle_k, ...
    """
    parts = tuple(
        one if isinstance(one, Part) else Patch(name=f"patch {number}", box=one[0], rise_k=one[1])
        for number, one in enumerate(patches, 1)
    )
    fields = {"name": "thermogram", "base_c": background_c, "reflected_c": background_c, "air_c": background_c, **scene}
    made = Scene(width=width, height=height, parts=parts, imager=replace(imager or Imager(), noise_k=noise_k), **fields)
    return as_thermogram(render(made), unscaled=unscaled)


def as_thermogram(rendered: Rendered, context: Context | None = None, *, unscaled: bool = False) -> Thermogram:
    """A rendered picture through heatbrief's own calibration, by default with the scene's true settings."""
    from heatbrief.calibrate.radiance import calibrate
    from heatbrief.calibrate.settings import RadianceSettings

    picture = Picture(rendered.counts, False, None if unscaled else rendered.scale)
    return calibrate(picture, RadianceSettings(), context or context_for(rendered.scene))


def context_for(
    scene: Scene,
    *,
    regions: Iterable[Region] = (),
    facts: Mapping[str, Fact] | None = None,
    conditions: Conditions | None = None,
    view: Mapping[str, Any] | None = None,
) -> Context:
    """What a manifest that knows all about a scene would say; `conditions` and `view` override single facts."""
    eps = scene.emissivity
    own = View(
        thermogram=scene.name,
        source=f"{scene.name}.tiff",
        distance=Quantity.exact(scene.distance_m, "m"),
        emissivity=Quantity.between(max(eps - EMISSIVITY_BOUND, 0.01), min(eps + EMISSIVITY_BOUND, 1.0), "1", eps),
        reflected=Quantity.exact(scene.reflected_c, "degC"),
        size=(scene.width, scene.height),
        scale=(scene.imager.kelvin_per_count, scene.imager.kelvin_at_0),
        shows="from inside",
    )
    known = Conditions(inside_air=Quantity.exact(scene.air_c, "degC"), humidity=Quantity.exact(scene.humidity, "1"))
    camera = Camera(
        field_of_view=scene.field_of_view_deg,
        noise=scene.imager.noise_k,
        accuracy=scene.imager.accuracy_k or 2.0,
        band=scene.imager.band_um,
    )
    return Context(
        property="a synthetic scene",
        conditions=(conditions or Conditions()).over(known),
        camera=camera,
        view=replace(own, **(view or {})),
        regions=tuple(regions),
        facts=facts or {},
    )


def step_named(name: str) -> Step:
    """An installed step by its name. Raises UserError with the nearest names when there is none."""
    from heatbrief.registry import load_registry

    registry = load_registry()
    if name in registry.steps:
        return registry.steps[name]
    near = difflib.get_close_matches(name, registry.steps, 3)
    refused = "; ".join(f"{problem.where}: {problem.message}" for problem in registry.refused)
    raise UserError.single(
        "unknown-step",
        name,
        "no installed plugin offers this step" + (f"; refused: {refused}" if refused else ""),
        f"Did you mean {' or '.join(near)}?" if near else "Install the plugin's package in this environment.",
    )


def run_step(step: Step | str, subject: Any, context: Context | None = None, **settings: Any) -> Any:
    """Run a step as the engine would: settings filled in, and only the parts of the context it declares to read.

    subject  what the step's stage and scope ask for: a path, a Picture, one or several Thermograms, or findings.
             Arrays of thermograms are made read-only, so a step that writes into its input fails here.
    context  by default one that knows the name of the picture and nothing else

    The output of an installed check or calculator is held to the contract as `check_plugin` does, so that every scene of a
    test is a scene of the contract too. Raises AssertionError with what breaks it.
    """
    from heatbrief.registry import load_registry

    found = step_named(step) if isinstance(step, str) else step
    registry = load_registry()
    for one in subject if isinstance(subject, tuple) else (subject,):
        if isinstance(one, Thermogram):
            one.values.flags.writeable = False
    given = context if context is not None else _bare_context(subject)
    given = replace(given, rivals=tuple(registry.rivals.values())).only(found.reads)
    chosen = found.settings(**settings)
    output = found.run(subject, chosen, given)
    if registry.steps.get(found.name, found).run is found.run and found.name in registry.steps:
        _hold_to_contract(found, subject, chosen, given, output)
    return output


_HELD: dict[str, int] = {}
"""How often each step was held to the contract with results to look at, in this process."""
TWICE = 2
"""So often a step with results is run a second time, to see that it gives the same."""


def _hold_to_contract(step: Step, subject: Any, settings: Any, context: Context, output: Any) -> None:
    if step.stage not in ("detect", "estimate"):
        return
    from heatbrief.registry import load_registry
    from heatbrief.testing.contract_run import called, faults_of_output

    faults = faults_of_output(step, subject, output, load_registry())
    if getattr(output, "findings", ()) or getattr(output, "estimates", ()):
        _HELD[step.name] = _HELD.get(step.name, 0) + 1
        if _HELD[step.name] <= TWICE:
            faults += called(step, subject, settings, context, "this scene")[1]
    assert not faults, f"{step.name} breaks the contract: " + "; ".join(f"{rule}: {text}" for rule, text in faults)


def _bare_context(subject: Any) -> Context:
    if isinstance(subject, Thermogram):
        return Context(view=View(thermogram=subject.id))
    if isinstance(subject, tuple):
        return Context(views={one.id: View(thermogram=one.id) for one in subject if isinstance(one, Thermogram)})
    return Context()


def masked(thermogram_: Thermogram, mask: np.ndarray) -> Thermogram:
    """The same thermogram with the pixels of a mask set to NaN."""
    return replace(thermogram_, values=np.where(mask, np.float32(np.nan), thermogram_.values))
