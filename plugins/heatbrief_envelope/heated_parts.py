"""Heat that leaves beside heating surfaces: behind radiators seen from outside, at slab edges, and hot floors."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, propagated, setting
from heatbrief.detect import (
    Case,
    Criterion,
    Reading,
    conclude,
    difference,
    facts_for,
    matches,
    own_regions,
    read_region,
    search_mask,
)
from heatbrief.detect.subjects import looked_at, others_mask
from heatbrief.model import Finding, Quantity, Region, Thermogram

from heatbrief_envelope.outside import outside_gates
from heatbrief_envelope.surfaces import Airs, airs_of, from_outside, known, with_airs, words_of

NAME = "envelope.heated_parts"
NICHES = ("radiator niche", "wall behind the radiator", "wall under the window")
EDGES = ("slab edge", "floor edge", "plinth")
FLOORS = ("heated floor", "underfloor heating")
SHOWS = (*NICHES, *EDGES, *FLOORS)
BESIDE = ("wall", "facade")
RIVALS = ("reflection", "shade or sun", "material change", "thermal lag")


@dataclass(frozen=True)
class Settings:
    """What counts as heat lost."""

    least: float = setting(0.8, unit="K", positive=True, help="least contrast that is reported", example="0.8 K")
    share: float = setting(
        0.05,
        unit="1",
        low=0.01,
        high=0.5,
        help="least contrast as a share of the inside-outside difference",
        example="5 %",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Declared niches and edges against the plain wall beside them; heated floors against published surface limits."""
    findings: list[Finding] = []
    notes: list[str] = []
    for region in looked_at(context, SHOWS, subject):
        reading = read_region(subject, search_mask(subject, region, context), region.name)
        if reading is None:
            continue
        if matches(FLOORS, region.shows):
            found = _floor(subject, context, region, reading)
            notes.extend(found if isinstance(found, tuple) else ())
            findings.extend((found,) if isinstance(found, Finding) else ())
            continue
        plain = _beside(subject, context, region)
        airs = airs_of(context, region)
        if plain is None:
            notes.append(f"{subject.id}, {region.name}: draw the plain wall beside it as a region that shows `wall`.")
        elif airs.sign is None:
            notes.append(f"{subject.id}, {region.name}: nothing can be told without a difference of the airs.")
        else:
            findings.append(_niche(subject, settings, context, region, reading, plain, airs))
    return StepOutput(findings=tuple(findings), notes=tuple(notes))


def _beside(subject: Thermogram, context: Context, region: Region) -> Reading | None:
    """The plain wall of the same picture, without what else is declared on it."""
    for one in own_regions(context, subject):
        if one != region and matches(BESIDE, one.shows) and not matches(SHOWS, one.shows):
            inside = search_mask(subject, one, context) & ~others_mask(context, BESIDE, one, subject)
            return read_region(subject, inside & ~region.mask(*subject.shape), one.name)
    return None


def _niche(
    subject: Thermogram,
    settings: Settings,
    context: Context,
    region: Region,
    reading: Reading,
    plain: Reading,
    airs: Airs,
) -> Finding:
    """Seen from outside the part is warmer in the heating season, seen from inside colder; never the other way."""
    drive = airs.difference
    assert drive is not None
    found = difference(reading, plain)
    way = -1.0 if airs.sign == "cold" else 1.0
    toward = [max(0.0, way * value) for value in (found.value, found.low, found.high)]
    low, high = sorted((way * toward[1], way * toward[2]))
    contrast = Quantity(way * toward[0], found.unit, low, high, 0.95, found.method)
    limit = max(settings.least, settings.share * abs(drive.value))
    case = Case(
        check=NAME,
        domain="envelope",
        subject=subject,
        context=with_airs(context, airs),
        region=region,
        reading=reading,
        purpose="insulation",
        rule_set="en-13187",
    )
    edge = matches(EDGES, region.shows)
    what = "an edge of the floor without insulation" if edge else "a wall that is thin or bare behind the radiator"
    word = "warmer" if found.value > 0 else "colder"
    return conclude(
        case,
        title=f"{region.name} {abs(found.value):.1f} K {word} than the wall beside it",
        summary=f"It reads {abs(found.value):.1f} K {word} than {plain.name}. "
        + (
            f"Consistent with {what}, through which the heating loses heat."
            if toward[1] > limit
            else "No more is shown."
        ),
        contrast=contrast,
        criterion=Criterion(
            limit,
            because=f"{settings.share:.0%} of the {abs(drive.value):.0f} K across the wall, at least "
            f"{settings.least:g} K (common practice)",
        ),
        gates=(
            "difference",
            "steady",
            "wind",
            "sun",
            "spot",
            *(outside_gates(case) if from_outside(context, region) else ()),
        ),
        rivals=RIVALS,
        strong=("reflection", "shade or sun", "thermal lag"),
        severity="energy",
        at_most="plan",
        actions=("envelope.insulate-edge",) if edge else ("envelope.insulate-niche",),
        cautions=("envelope.wall-opening",) if edge else ("envelope.old-wiring", "envelope.wall-opening"),
        sources=("iso-6946",),
        measured=known(air_difference=_size(drive), temperature_beside=plain.mean),
        shares=f"{subject.id}:{region.name}",
    )


def _size(drive: Quantity) -> Quantity:
    low, high = sorted((abs(drive.low), abs(drive.high)))
    return Quantity(abs(drive.value), "K", 0.0 if drive.low <= 0 <= drive.high else low, high, 0.95, drive.method)


def _floor(subject: Thermogram, context: Context, region: Region, reading: Reading) -> Finding | tuple[str, ...]:
    """The hottest part of a heated floor against the published limit; its lines are the heating pipes."""
    from heatbrief.physics.tables import load_table

    table = load_table("surface_limits")["heated_floor_degC"]
    text = words_of(context, region)
    kind = (
        "bathroom"
        if matches(("bathroom", "bath", "shower"), f"{text} {region.room} {context.view.room}")
        else ("edge" if matches(("edge zone",), text) else "occupied")
    )
    limit = float(table[kind]["limit"])
    if reading.peak is None or reading.peak.value <= limit:
        shown = (
            "" if reading.peak is None else f", hottest {reading.peak.value:.1f} degC, below {limit:.0f} degC ({kind})"
        )
        return (f"{subject.id}, {region.name}: lines of a heated floor are its pipes, not a defect{shown}.",)
    over = propagated(lambda peak: max(0.0, peak - limit), "K", "hottest part over the limit", peak=reading.peak)
    assert over is not None
    over = Quantity(over.value, "K", max(over.low, 0.0), over.high, over.coverage, over.method)
    case = Case(check=NAME, domain="envelope", subject=subject, context=context, region=region, reading=reading)
    return conclude(
        case,
        title=f"{region.name}: hottest part {reading.peak.value:.1f} degC",
        summary=f"Floors of this kind are laid out for at most {limit:.0f} degC at the surface. A hotter one gives "
        "more heat downwards too, and may be uncomfortable; consistent with a flow set too hot.",
        contrast=over,
        criterion=Criterion(
            0.5, because=f"limit of {limit:.0f} degC for a heated floor ({kind})", sources=("en-1264",)
        ),
        gates=("spot", "emissivity"),
        rivals=("reflection", "shade or sun", "material change"),
        severity="comfort",
        at_most="plan",
        actions=("envelope.set-floor-flow",),
        cautions=("envelope.surfaces-only",),
        sources=("en-1264",),
        measured=known(highest_temperature=reading.peak),
        shares=f"{subject.id}:{region.name}",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain="envelope",
    summary="Radiator niches and slab edges against the wall beside them, heated floors against surface limits.",
    shows=SHOWS,
    facts=facts_for(RIVALS),
    cautions=("envelope.wall-opening",),
    sources=("iso-6946", "en-1264"),
    status="trial",
    title="radiator niches, slab edges, heated floors",
)
