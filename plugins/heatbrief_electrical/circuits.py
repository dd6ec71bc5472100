"""A panel of breakers: each circuit's rise over the air, brought to full load, ranked and held against the rated rise."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, figure, matches, number, own_regions
from heatbrief.model import Finding, Gate, Quantity, Rival, Thermogram
from heatbrief.physics import electrical

from heatbrief_electrical import classes, rivals
from heatbrief_electrical.circuit import LEAST_RISE_K, Circuit, circuit_of, ranking, usual_rise
from heatbrief_electrical.compared import members_of
from heatbrief_electrical.parts import BREAKERS, DOMAIN, FACTS, air_near, cautions_for, gates_for, known

NAME = "electrical.circuits"
ELECTRONICS = "a breaker with electronics, or of another size or make"
LIMITS = ("ul-489", "rated-rise", "load-exponent")
ABOUT_RATED = "50 K is the rise of a standard breaker's termination at rated load (UL 489 as quoted by a maker); the plate of the panel comes first"


@dataclass(frozen=True)
class Settings:
    """What the panel is rated for and when a circuit counts as standing out."""

    rated_rise: float = setting(50.0, unit="K", positive=True, help=f"rise at rated load: {ABOUT_RATED}", example="50 K")
    stands_out: float = setting(
        1.5, unit="1", low=1.0, help="rise at full load over the panel's usual one from which a circuit is named", example="1.5"
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Judge the breakers of one picture together."""
    regions = tuple(region for region in own_regions(context, subject) if region.shape != "line" and matches(BREAKERS, region.shows))
    members, empty = members_of(subject, regions, context)
    notes = tuple(f"{subject.id}, {name}: no pixel with a value in the region." for name in empty)
    if not members:
        return StepOutput(notes=notes)
    circuits = tuple(circuit_of(one, members, settings.rated_rise) for one in members)
    ranked = ranking(circuits)
    usual = usual_rise(ranked)
    odd = [one for one in ranked if one.twin_difference is None and usual is not None and one.full.value >= settings.stands_out * usual]  # type: ignore[union-attr]
    over = [one for one in circuits if one not in odd and one.use > 1.0]
    named = {one.name for one in (*odd, *over)}
    findings = [_panel(subject, settings, context, circuits, ranked, named)]
    findings += [_standing_out(subject, settings, context, one, usual or 0.0) for one in odd]
    findings += [_over_rating(subject, settings, context, one) for one in over]
    return StepOutput(findings=tuple(findings), notes=notes)


def _case(subject: Thermogram, context: Context, circuit: Circuit, tag: str = "") -> Case:
    return Case(
        check=NAME,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=circuit.member.region,
        reading=circuit.member.reading,
        purpose="electrical",
        tag=tag,
    )


def _panel(
    subject: Thermogram, settings: Settings, context: Context, circuits: tuple[Circuit, ...], ranked: tuple[Circuit, ...], named: set[str]
) -> Finding:
    """The panel as a whole: normal when every loaded circuit that is not reported by itself stays below what its load allows."""
    judged = [one for one in circuits if one.allowed is not None and one.member.rise is not None]
    calm = [one for one in judged if one.name not in named and not one.beside_twin]
    worst = max(calm, key=lambda one: (one.use, one.name), default=None)
    case = Case(check=NAME, domain=DOMAIN, subject=subject, context=context, purpose="electrical", tag="panel")
    apart = [one.name for one in judged if one not in calm]
    allowed = worst.allowed if worst is not None else None
    return conclude(
        case,
        title="Panel: circuits by rise over the air and load",
        summary=" ".join(
            part for part in (_opening(worst), _apart(apart), _ranking_words(ranked), _left_out(circuits, judged), _above_rating(circuits)) if part
        ),
        criterion=Criterion(allowed.low if allowed is not None else settings.rated_rise, because=ABOUT_RATED, sources=LIMITS),
        contrast=worst.member.rise if worst is not None else None,
        gates=(_load_gate(circuits, judged), _spot_gate(subject, circuits), "emissivity"),
        rivals=(),
        severity="safety",
        at_most="watch",
        actions=("electrical.record-load", "electrical.repeat-at-load"),
        cautions=cautions_for(context, None),
        sources=("load-gate", *LIMITS),
        measured=known(
            air_temperature=air_near(context, worst.member.region if worst else None),
            allowed_rise_at_this_load=allowed,
            rise_at_full_load=worst.full if worst is not None else None,
            margin_at_full_load=_margin(settings.rated_rise, worst.full) if worst is not None else None,
        ),
        shares=f"{subject.id}:panel",
    )


def _margin(rated: float, full: Quantity | None) -> Quantity | None:
    return (
        None
        if full is None
        else Quantity(rated - full.value, "K", rated - full.high, rated - full.low, full.coverage, "rated rise minus rise at full load")
    )


def _opening(worst: Circuit | None) -> str:
    if worst is None:
        return "No circuit could be judged: a load of 40 % or more, a rating and the air temperature beside the panel are needed."
    share = worst.member.load.share or 0.0
    return (
        "Loaded and warm is normal for a breaker. Measured by what its load allows, the warmest of the others is "
        f"{worst.name}: {number(worst.member.rise.value, 'K')} over the air at {number(share, '1')} load, where about "  # type: ignore[union-attr]
        f"{number(worst.allowed.value, 'K')} would go with the rated rise."
    )  # type: ignore[union-attr]


def _apart(names: list[str]) -> str:
    return f"Reported by themselves: {', '.join(names)}." if names else ""


def _ranking_words(ranked: tuple[Circuit, ...]) -> str:
    if not ranked:
        return ""
    rows = [
        f"{place}. {one.name}, {figure(one.full.value, 'K')} K ({figure(one.full.low, 'K')} to {figure(one.full.high, 'K')} K{_low_load(one)})"  # type: ignore[union-attr]
        for place, one in enumerate(ranked, 1)
    ]
    return f"Ranked by the rise each would have at full load: {'; '.join(rows)}."


def _above_rating(circuits: tuple[Circuit, ...]) -> str:
    names = [one.name for one in circuits if one.member.load.share is not None and one.member.load.share > 1.0]
    return f"Recorded above its rating: {', '.join(names)}; have this looked at whatever the picture shows." if names else ""


def _low_load(circuit: Circuit) -> str:
    return ", low load" if electrical.load_gate(circuit.member.load.share) == "low load" else ""


def _left_out(circuits: tuple[Circuit, ...], judged: list[Circuit]) -> str:
    rest = [one.name for one in circuits if one not in judged]
    return f"Not ranked, because the load was below 40 % or not recorded: {', '.join(rest)}." if rest and judged else ""


def _load_gate(circuits: tuple[Circuit, ...], judged: list[Circuit]) -> Gate:
    unknown = sum(one.member.load.share is None for one in circuits)
    passed = True if judged else None if unknown else False
    return Gate(
        "load",
        passed,
        f"asked: circuits at 40 % load or more; given: {len(judged)} of {len(circuits)}, load not recorded for {unknown}",
        "gate-load-40",
        "" if passed else "Survey with the larger appliances running; let a licensed electrician read the currents and give `load` and `rated`.",
    )


def _spot_gate(subject: Thermogram, circuits: tuple[Circuit, ...]) -> Gate:
    boxes = [one.member.region.bounding_box(*subject.shape) for one in circuits]
    least = min(min(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes)
    return Gate(
        "size in pixels",
        least >= 3,
        f"asked: at least 3 px; given: {least} px, the least side of a breaker",
        "",
        "" if least >= 3 else "Take the picture from nearer without opening anything, or with a narrower lens.",
    )


def _standing_out(subject: Thermogram, settings: Settings, context: Context, circuit: Circuit, usual: float) -> Finding:
    """A circuit without a twin that would be warmer at full load than the panel's circuits usually are."""
    share, rise = circuit.member.load.share or 1.0, circuit.member.rise
    expected = float(electrical.rise_at_load(usual, 1.0, share))
    excess = Quantity(rise.value - expected, "K", rise.low - expected, rise.high - expected, 0.95, "rise minus the panel's usual rise at this load")  # type: ignore[union-attr]
    table = classes.classed(rise, "neta-ambient", "rise over the air beside it, no comparison part")  # type: ignore[arg-type]
    return conclude(
        _case(subject, context, circuit, "rank"),
        title=f"{circuit.name}: warmer than its load explains",
        summary=f"{circuit.name} is {number(rise.value, 'K')} over the air at {circuit.member.load.said}; by the panel's other circuits about "  # type: ignore[union-attr]
        f'{number(expected, "K")} would be usual. In the table "{table.rows[0]["table"]}" its rise falls in the class "{table.likely}" '
        f"(probability {classes.percent(table.probability)}); other tables class it otherwise. No comparison part. The pattern is consistent with a poor "
        "contact, or with another kind of breaker.",
        criterion=Criterion(
            max(LEAST_RISE_K, (settings.stands_out - 1) * expected), because="half as much again as usual", sources=("neta-100-18", "load-exponent")
        ),
        contrast=excess,
        gates=gates_for(context, circuit.member.region),
        rivals=(kind_of_breaker, rivals.neighbour_heat, rivals.load_changed),
        strong=(ELECTRONICS, rivals.NEIGHBOUR),
        severity="safety",
        at_most=table.urgency,
        actions=("electrical.restore-connection",),
        cautions=cautions_for(context, circuit.member.region),
        sources=("load-gate",),
        measured=known(rise_over_air=rise, rise_at_full_load=circuit.full, air_temperature=air_near(context, circuit.member.region)),
        classes=table.rows,
        shares=f"{subject.id}:{circuit.name}",
    )


def kind_of_breaker(case: Case) -> Rival | None:
    """Without a twin only the breaker's make and kind could tell an unusual rise from an ordinary one of its kind."""
    same = case.yes("same material")
    if same:
        return Rival(ELECTRONICS, "ruled out", "it is stated to be of the same kind as the others")
    return Rival(
        ELECTRONICS,
        "not ruled out",
        "breakers with electronics are warm without load, and sizes and makes differ; no like breaker was named beside it",
    )


def _over_rating(subject: Thermogram, settings: Settings, context: Context, circuit: Circuit) -> Finding:
    """A circuit above the rise that its load would give at the rated rise."""
    rise, allowed = circuit.member.rise, circuit.allowed
    return conclude(
        _case(subject, context, circuit, "limit"),
        title=f"{circuit.name}: above the rise its load allows",
        summary=f"{circuit.name} is {number(rise.value, 'K')} over the air at {circuit.member.load.said}. With a rated rise of {number(settings.rated_rise, 'K')} "  # type: ignore[union-attr]
        f"its load would allow {figure(allowed.low, 'K')} to {number(allowed.high, 'K')}. Consistent with a poor contact or a load above the one recorded.",  # type: ignore[union-attr]
        criterion=Criterion(allowed.value, because=ABOUT_RATED, sources=LIMITS),
        contrast=rise,
        gates=gates_for(context, circuit.member.region),  # type: ignore[union-attr]
        rivals=("reflection", rivals.neighbour_heat, rivals.load_changed),
        strong=("reflection", rivals.NEIGHBOUR),
        severity="safety",
        at_most="now",
        actions=("electrical.restore-connection",),
        cautions=cautions_for(context, circuit.member.region),
        measured=known(
            rise_at_full_load=circuit.full,
            allowed_rise_at_this_load=allowed,
            margin_at_full_load=_margin(settings.rated_rise, circuit.full),
            air_temperature=air_near(context, circuit.member.region),
        ),
        shares=f"{subject.id}:{circuit.name}",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=1,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=BREAKERS,
    facts=FACTS,
    summary="Ranks the breakers of a panel by the rise each would have at full load and holds them against the rated rise; loaded and warm is normal.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=("electrical.panels", "electrical.arc-flash"),
    sources=("ul-489", "rated-rise", "load-exponent", "load-gate", "neta-100-18"),
)
