"""Catalytic converter, inlet against outlet: both rules of thumb explained, neither believed; never a verdict on
the part."""

from __future__ import annotations

from heatbrief.api import Context, FactSpec, NoSettings, Step, StepOutput
from heatbrief.detect import Case, Criterion, conclude, difference, number
from heatbrief.model import Finding, Gate, Quantity, Rival, Thermogram

from heatbrief_vehicle.parts import DOMAIN, READS, SHIELDED, SURFACE_FACTS, Part, by_group, known, parts_of, word

NAME = "vehicle.converter"
SHOWS = ("converter inlet", "converter outlet", "catalytic converter")
END = FactSpec("converter end", "which end of the converter it is", choices=("inlet", "outlet"), example="inlet")
CAUTIONS = ("vehicle.running-engine", "vehicle.hot-surfaces", "vehicle.lifting")
SOURCES = ("converter-rules", "converter-skin")
OVERFUELLED_K = 111.0
"""From 200 degF outlet over inlet: too much fuel or misfire [seen, quality C]."""
OLD_K, MODERN_K = 56.0, 17.0
WEAK = "the rules of thumb contradict each other"


def run(subject: Thermogram, settings: NoSettings, context: Context) -> StepOutput:
    """One finding for each pair of ends."""
    notes: list[str] = []
    findings = []
    for group, parts in by_group(parts_of(subject, context, SHOWS, notes)).items():
        ends = {end_of(part, context): part for part in parts}
        if ends.get("inlet") and ends.get("outlet"):
            findings.append(_finding(ends["inlet"], ends["outlet"], context))
        else:
            notes.append(f"{subject.id}, {group or 'converter'}: a comparison needs an inlet and an outlet.")
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def end_of(part: Part, context: Context) -> str:
    """ "inlet", "outlet" or ""."""
    given = word("converter end", part.region, context)
    return given or next((one for one in ("inlet", "outlet") if one in part.region.shows.casefold()), "")


def reading_of(gain: Quantity) -> str:
    """What both rules say about a gain [K] from inlet to outlet, and what follows."""
    old = "meets" if gain.value >= OLD_K else "does not meet"
    modern = "meets" if gain.value >= MODERN_K else "does not meet"
    rules = (
        f"The older rule asks for an outlet {OLD_K:g} K hotter, and this {old} it; the newer one asks for about "
        f"{MODERN_K:g} K "
        f"at 2500 rpm and nothing at idle, and this {modern} it; a third opinion holds that the outlet is always "
        "cooler and "
        "the difference means nothing. So it is weak evidence either way and says nothing about the converter's state."
    )
    if gain.value >= OVERFUELLED_K:
        return f"{rules} A gain this large is consistent with fuel that burns in the converter, as with misfire."
    return rules


def _finding(inlet: Part, outlet: Part, context: Context) -> Finding:
    gain = difference(outlet.reading, inlet.reading)
    telling = gain.value >= OVERFUELLED_K
    case = Case(
        NAME, DOMAIN, outlet.subject, context, outlet.region, reading=outlet.reading, purpose="vehicle", tag="gain"
    )
    return conclude(
        case,
        title=f"{outlet.region.name} against {inlet.region.name}",
        summary=f"The outlet is {number(abs(gain.value), 'K')} {'hotter' if gain.value >= 0 else 'cooler'} than "
        "the inlet. " + reading_of(gain),
        criterion=Criterion(OVERFUELLED_K, because="only a very large gain means anything", sources=SOURCES[:1]),
        contrast=gain if telling else None,
        gates=(_bare(inlet, context), "spot", "emissivity"),
        rivals=("reflection", weak),
        strong=("reflection", WEAK),
        severity="damage",
        at_most="plan" if telling else "watch",
        actions=("vehicle.read-counters",),
        cautions=CAUTIONS,
        sources=SOURCES,
        measured=known(outlet_minus_inlet=gain, inlet=inlet.reading.mean),
        shares=f"{outlet.subject.id}:converter",
    )


def _bare(inlet: Part, context: Context) -> Gate:
    """Shields read cool whatever is behind them."""
    shield = word("shielded", inlet.region, context)
    held = None if not shield else shield in ("no", "false")
    told = shield or "nothing"
    return Gate(
        "bare pipe at both ends", held, f"asked: no shield; given: {told}", "", "" if held else "Say `shielded: no`."
    )


def weak(case: Case) -> Rival | None:
    """No rule is trusted."""
    return Rival(WEAK, "not ruled out", "sources of low quality disagree in size and even in sign")


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    domain=DOMAIN,
    status="trial",
    shows=SHOWS,
    facts=(END, SHIELDED, *SURFACE_FACTS),
    summary="Inlet and outlet of a catalytic converter, with both rules of thumb as weak evidence.",
    reads=READS,
    cautions=CAUTIONS,
    sources=SOURCES,
    title="catalytic converter",
)
