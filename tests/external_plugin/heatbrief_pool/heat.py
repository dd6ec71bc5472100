"""Heat that a warm patch gives off."""

from __future__ import annotations

from heatbrief.api import Context, NoSettings, Step, StepOutput, propagated
from heatbrief.model import Assumption, Estimate, Finding, Quantity

COEFFICIENT = Quantity.between(6.0, 10.0, "W/m2/K")
SOURCE = "pool.still-air"


def run(findings: tuple[Finding, ...], settings: NoSettings, context: Context) -> StepOutput:
    """One estimate for each patch of known size."""
    warm = [one for one in findings if one.check == "pool.leak" and {"area", "contrast"} <= set(one.measured)]
    return StepOutput(estimates=tuple(filter(None, map(_heat, warm))))


def _heat(one: Finding) -> Estimate | None:
    area, contrast = one.measured["area"], one.measured["contrast"]
    flow = propagated(
        lambda area, contrast, coefficient: area * contrast * coefficient,
        "W",
        "area times contrast times coefficient",
        area=area,
        contrast=contrast,
        coefficient=COEFFICIENT,
    )
    if flow is None:
        return None
    assumed = (Assumption("surface coefficient", "6 to 10 W/m2/K", "common practice"),)
    title = f"Heat given off by the patch in {one.region}"
    return Estimate(f"heat-{one.id}", one.id, "heat-flow", title, {"heat_flow": flow}, assumed, (SOURCE,))


STEP = Step(
    "pool.heat",
    "estimate",
    1,
    run,
    summary="Watts that a warm patch gives off.",
    domain="pool",
    reads=(),
    sources=(SOURCE,),
)
