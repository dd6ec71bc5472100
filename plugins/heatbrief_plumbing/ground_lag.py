"""Depth and soil: how long warmth or cold from a buried line takes to the surface, and how daily swings fade."""

from __future__ import annotations

from heatbrief.api import Context, NoSettings, Step, StepOutput, propagated
from heatbrief.model import Assumption, Estimate, Finding, Quantity

from heatbrief_plumbing.facts import fact, quantity
from heatbrief_plumbing.ground import SOIL
from heatbrief_plumbing.tracing import COVER_DIFFUSIVITY, DEPTH

NAME = "plumbing.ground_lag"
CHECKS = ("plumbing.wet_ground", "plumbing.cold_ground", "plumbing.pipe", "plumbing.trace")
BURIED = ("plumbing.wet_ground", "plumbing.cold_ground")
SPREAD = 0.4
"""Density and moisture move soil properties by 40 % [seen: de-vries-1963]."""


def run(findings: tuple[Finding, ...], settings: NoSettings, context: Context) -> StepOutput:
    """An estimate for every finding over a line of known depth."""
    made = (_estimate(one, context) for one in findings if one.check in CHECKS)
    return StepOutput(estimates=tuple(one for one in made if one is not None))


def diffusivity(name: str, buried: bool) -> tuple[Quantity, str] | None:
    """(m2/s with bounds, in words); None for ground of unknown soil."""
    from heatbrief.physics.soil import soil

    try:
        value = soil(name).diffusivity
    except KeyError:
        if buried:
            return None
        return Quantity.between(*COVER_DIFFUSIVITY, "m2/s", 0.6e-6), "screed or concrete, not stated"
    return Quantity.between((1 - SPREAD) * value, (1 + SPREAD) * value, "m2/s", value), name


def _estimate(finding: Finding, context: Context) -> Estimate | None:
    depth = quantity(finding, "pipe_depth", context)
    chosen = diffusivity(str(fact(finding, "soil", context) or "").strip().casefold(), finding.check in BURIED)
    if depth is None or depth.low <= 0 or chosen is None:
        return None
    from heatbrief.physics.soil import damping_depth, phase_lag, step_response, swing_ratio, time_to_surface

    kappa, words = chosen
    models = {
        "time_to_surface": (lambda depth, kappa: float(time_to_surface(depth, kappa)) / 3600.0, "h"),
        "daily_damping_depth": (lambda depth, kappa: float(damping_depth(kappa)), "m"),
        "daily_lag": (lambda depth, kappa: float(phase_lag(depth, kappa)) / 3600.0, "h"),
        "daily_swing_left": (lambda depth, kappa: float(swing_ratio(depth, kappa)), "1"),
        "share_after_one_hour": (lambda depth, kappa: float(step_response(depth, 3600.0, kappa)), "1"),
        "share_after_one_day": (lambda depth, kappa: float(step_response(depth, 86400.0, kappa)), "1"),
    }
    quantities = {
        name: found
        for name, (model, unit) in models.items()
        if (found := propagated(model, unit, "conduction in uniform ground", depth=depth, kappa=kappa)) is not None
    }
    return Estimate(
        id=f"{finding.id}-lag",
        finding=finding.id,
        kind="time-lag",
        title="Time from the pipe to the surface",
        quantities=quantities,
        assumptions=(
            Assumption("ground", words, "given in the survey" if "not stated" not in words else "common practice"),
        ),
        sources=("carslaw-jaeger", "de-vries-1963"),
        notes=(
            "For conduction alone. Water that rises brings its warmth or cold sooner; a dry line deeper than about "
            "0.3 m does not show on the same day.",
        ),
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=1,
    run=run,
    domain="plumbing",
    summary="Time from a pipe of known depth to the surface, and how daily swings fade.",
    facts=(DEPTH, SOIL),
    reads=("regions", "facts"),
    sources=("carslaw-jaeger", "de-vries-1963"),
    status="trial",
    title="time from a pipe to the surface",
)
