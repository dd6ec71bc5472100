"""What a patch without insulation does to the whole surface: U averages by area, R does not."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.model import Assumption, Estimate, Finding, Quantity

from heatbrief_envelope.expected import expected_u, inverse

NAME = "envelope.void_effect"


@dataclass(frozen=True)
class Settings:
    """Whose patches count."""

    checks: tuple[str, ...] = setting(("envelope.insulation",), help="checks whose patches are parts of a surface")


def run(findings: tuple[Finding, ...], settings: Settings, context: Context) -> StepOutput:
    """An estimate for every patch whose share of its surface is known and whose sound U is stated or measured."""
    estimates, notes = [], []
    for finding in findings:
        share, added = finding.measured.get("share of region"), finding.measured.get("added transmittance")
        if finding.check not in settings.checks or finding.verdict not in ("defect", "suspect"):
            continue
        if share is None or added is None or added.value <= 0.0:
            continue
        sound, origin = _sound(finding, context)
        if sound is None:
            notes.append(
                f"{finding.id}: give `expected_u` or `expected_r` of the surface to see what the patch does to all."
            )
        else:
            estimates.append(_estimate(finding, share, added, sound, origin))
    return StepOutput(estimates=tuple(estimates), notes=tuple(notes))


def _sound(finding: Finding, context: Context) -> tuple[Quantity | None, str]:
    region = next(
        (one for one in context.regions if one.thermogram == finding.thermogram and one.name == finding.region), None
    )
    stated = expected_u(region, context)
    if stated is not None:
        return stated, "given in the survey"
    around = finding.measured.get("transmittance around")
    if around is not None and around.low > 0.0 and around.half_width <= 0.5 * around.value:
        return around, "read beside the patch"
    return None, ""


def void_effect(share: Quantity, added: Quantity, sound: Quantity) -> dict[str, Quantity]:
    """U and R of the whole, and by how much more heat passes than if it were all sound.

    U = (1 - f) U_sound + f (U_sound + added). Source: ashrae-parallel (EX-7.1 to EX-7.3).
    """
    whole = propagated(
        lambda share, added, sound: sound + share * added,
        "W/m2/K",
        "average by area",
        share=share,
        added=added,
        sound=sound,
    )
    rise = propagated(
        lambda share, added, sound: share * added / sound,
        "1",
        "extra heat over that of a sound surface",
        share=share,
        added=added,
        sound=sound,
    )
    if whole is None or rise is None:
        return {}
    found = {"transmittance_sound": sound, "transmittance_whole": whole, "share_of_void": share}
    found["extra_share"] = Quantity(rise.value, "1", max(0.0, rise.low), rise.high, rise.coverage, rise.method)
    if whole.low > 0.0:
        found |= {
            "resistance_sound": inverse(sound, "1 over U"),
            "resistance_whole": inverse(whole, "1 over the average U"),
        }
    return found


def _estimate(finding: Finding, share: Quantity, added: Quantity, sound: Quantity, origin: str) -> Estimate:
    return Estimate(
        id=f"{finding.id}-void",
        finding=finding.id,
        kind="void-effect",
        title="What the patch does to the whole surface seen",
        quantities=void_effect(share, added, sound),
        assumptions=(
            Assumption(
                "U of the sound part", f"{sound.value:.2g} W/m2/K ({sound.low:.2g} to {sound.high:.2g})", origin
            ),
            Assumption("surface", "the region drawn in the picture", "what lies outside the picture is not counted"),
        ),
        sources=("ashrae-parallel",),
    )


STEP = Step(
    name=NAME,
    stage="estimate",
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    reads=("regions", "facts"),
    summary="Effect of a patch without insulation on the whole surface, averaged by area.",
    sources=("ashrae-parallel", "envelope-assemblies"),
    status="trial",
    title="effect of a missing patch of insulation",
)
