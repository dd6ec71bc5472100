"""A panel of breakers: each circuit's rise over the air, brought to full load, ranked and held against its limit."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, Step, StepOutput, setting
from heatbrief.detect import Case, Criterion, conclude, figure, matches, number, own_regions
from heatbrief.model import Finding, Gate, Quantity, Rival, Thermogram
from heatbrief.physics import electrical

from heatbrief_electrical import classes, idle, limits, rivals
from heatbrief_electrical.circuit import LEAST_RISE_K, Circuit, case_of, circuit_of, ranking, usual_rise
from heatbrief_electrical.compared import members_of
from heatbrief_electrical.panel_finding import ABOUT_RATED, LIMITS, counted_from, panel_finding
from heatbrief_electrical.parts import (
    ALWAYS,
    BREAKERS,
    DOMAIN,
    ELECTRONICS,
    FACTS,
    air_near,
    cautions_for,
    gates_for,
    known,
)
from heatbrief_electrical.reference import reference_of
from heatbrief_electrical.twin_words import class_words

NAME = "electrical.circuits"
KINDS = "a breaker with electronics, or of another size or make"


@dataclass(frozen=True)
class Settings:
    """What the panel is rated for and when a circuit counts as standing out."""

    rated_rise: float = setting(
        50.0, unit="K", positive=True, help=f"rise at rated load: {ABOUT_RATED}", example="50 K"
    )
    ambient_table: classes.AmbientTable = setting(
        "neta-ambient",
        help="published table of classes by rise over the air, for circuits without a twin; its name is printed with "
        "each class",
        example="european-ambient",
    )
    stands_out: float = setting(
        1.5,
        unit="1",
        low=1.0,
        help="rise at full load over the panel's usual one from which a circuit is named",
        example="1.5",
    )


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Judge the breakers of one picture together."""
    regions = tuple(
        region for region in own_regions(context, subject) if region.shape != "line" and matches(BREAKERS, region.shows)
    )
    members, empty = members_of(subject, regions, context)
    notes = tuple(f"{subject.id}, {name}: no pixel with a value in the region." for name in empty)
    if not members:
        return StepOutput(notes=notes)
    default = limits.stated_rise(settings.rated_rise)
    reference = reference_of(members)
    circuits = tuple(circuit_of(one, members, default, reference, context) for one in members)
    ranked = ranking(circuits)
    usual = usual_rise(ranked)
    odd = [one for one in ranked if _odd(one, usual, settings)]
    over = [one for one in circuits if one not in odd and one.use > 1.0]
    named = {one.name: "has a page of its own" for one in (*odd, *over)}
    idles = [(one, case_of(subject, context, one, NAME, "idle")) for one in circuits]
    states = {one.name: idle.idle_state(case, one) for one, case in idles}
    whole = Case(check=NAME, domain=DOMAIN, subject=subject, context=context, purpose="electrical", tag="panel")
    findings = [panel_finding(whole, settings.rated_rise, circuits, ranked, named, states, _gates(subject, circuits))]
    findings += [_standing_out(subject, settings, context, one, usual or 0.0) for one in odd]
    findings += [_over_rating(subject, context, one) for one in over]
    findings += [idle.idle_finding(case, one) for one, case in idles if states[one.name] == "refer"]
    return StepOutput(findings=tuple(findings), notes=notes)


def _gates(subject: Thermogram, circuits: tuple[Circuit, ...]) -> tuple[Gate | str, ...]:
    """What the panel as a whole asks for."""
    return _load_gate(circuits), _spot_gate(subject, circuits), "emissivity"


def _load_gate(circuits: tuple[Circuit, ...]) -> Gate:
    judged = [one for one in circuits if one.held is not None]
    unknown = sum(one.member.load.share is None for one in circuits)
    passed = True if judged else None if unknown else False
    return Gate(
        "load",
        passed,
        f"asked: circuits at 40 % load or more; given: {len(judged)} of {len(circuits)}, load not recorded for "
        f"{unknown}",
        "gate-load-40",
        ""
        if passed
        else "Survey with the larger appliances running; let a licensed electrician read the currents and give `load` "
        "and `rated`.",
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


def _odd(one: Circuit, usual: float | None, settings: Settings) -> bool:
    """Without a twin, and warmer at full load than the panel's circuits usually are."""
    full = one.full
    return (
        one.twin_difference is None
        and usual is not None
        and full is not None
        and full.value >= settings.stands_out * usual
    )


def _standing_out(subject: Thermogram, settings: Settings, context: Context, circuit: Circuit, usual: float) -> Finding:
    """A circuit without a twin that would be warmer at full load than the panel's circuits usually are."""
    member, held = circuit.member, circuit.held
    share, above = member.load.share or 1.0, circuit.above or Quantity.exact(0.0, "K")
    rise = member.rise or above
    expected = float(electrical.rise_at_load(usual, 1.0, share))
    low, high = above.low - expected, above.high - expected
    excess = Quantity(
        above.value - expected, "K", low, high, 0.95, "warmth minus the panel's usual warmth at this load"
    )
    may = classes.stage(member.load.share, settings.ambient_table) in ("classed", "low load")
    table = (
        classes.classed(rise, settings.ambient_table, "rise over the air beside it, no comparison part")
        if may
        else None
    )
    said = (
        class_words(table) if table is not None else "Its load is too low for the table in use, so no class is given."
    )
    rows = (*(table.rows if table is not None else ()), *(limits.rows(held) if held is not None else ()))
    return conclude(
        case_of(subject, context, circuit, NAME, "rank"),
        title=f"{circuit.name}: warmer than its load explains",
        summary=f"{circuit.name} is {number(rise.value, 'K')} over the air at {member.load.said}. It stands "
        f"{number(above.value, 'K')} over {counted_from(above)}; by the panel's other circuits about {number(expected, 'K')} "
        f"would be usual. {said} No comparison part. The pattern is consistent with a poor contact, or with another "
        "kind of breaker.",
        criterion=Criterion(
            max(LEAST_RISE_K, (settings.stands_out - 1) * expected),
            because="half as much again as usual",
            sources=(electrical.class_table(settings.ambient_table).source, "load-exponent"),
        ),
        contrast=excess,
        gates=gates_for(context, member.region),
        rivals=("reflection", kind_of_breaker, rivals.neighbour_heat, rivals.load_changed),
        strong=(KINDS, rivals.NEIGHBOUR),
        severity="safety",
        at_most=limits.raised(table.urgency if table is not None else "plan", held),
        actions=("electrical.restore-connection",),
        cautions=cautions_for(context, member.region),
        sources=("load-gate",),
        measured=known(
            rise_over_air=rise,
            rise_at_full_load=held.full if held else None,
            margin_at_full_load=held.margin_full if held else None,
            air_temperature=air_near(context, member.region),
        ),
        classes=rows,
        shares=f"{subject.id}:{circuit.name}",
    )


def kind_of_breaker(case: Case) -> Rival | None:
    """Without a twin only the breaker's make and kind could tell an unusual rise from an ordinary one of its kind."""
    same = case.yes("same material")
    if same:
        return Rival(KINDS, "ruled out", "it is stated to be of the same kind as the others")
    return Rival(
        KINDS,
        "not ruled out",
        "breakers with electronics are warm without load, and sizes and makes differ; no like breaker was named "
        "beside it",
    )


def _over_rating(subject: Thermogram, context: Context, circuit: Circuit) -> Finding:
    """A circuit above the rise that its load would give at the limit."""
    region, held = circuit.member.region, circuit.held
    if held is None:
        raise ValueError("only a circuit that was held against a limit can be above it")
    return conclude(
        case_of(subject, context, circuit, NAME, "limit"),
        title=f"{circuit.name}: above the rise its load allows",
        summary=f"{circuit.name} is {number(held.rise.value, 'K')} over the air at {circuit.member.load.said}. With "
        f"the limit of the {held.limit.said} its load would allow {figure(held.allowed.low, 'K')} to "
        f"{number(held.allowed.high, 'K')}. Consistent with a poor contact or a load above the one recorded.",
        criterion=Criterion(held.allowed.value, because=ABOUT_RATED, sources=(held.limit.source, *LIMITS)),
        contrast=held.rise,
        gates=gates_for(context, region),
        rivals=("reflection", rivals.neighbour_heat, rivals.load_changed),
        strong=("reflection", rivals.NEIGHBOUR),
        severity="safety",
        at_most="now",
        actions=("electrical.restore-connection",),
        cautions=cautions_for(context, region),
        measured=known(
            rise_at_full_load=held.full if held else None,
            allowed_rise_at_this_load=held.allowed,
            margin_at_this_load=held.margin,
            margin_at_full_load=held.margin_full,
            air_temperature=air_near(context, region),
        ),
        classes=limits.rows(held),
        shares=f"{subject.id}:{circuit.name}",
    )


STEP = Step(
    name=NAME,
    stage="detect",
    version=3,
    run=run,
    settings=Settings,
    domain=DOMAIN,
    status="trial",
    shows=BREAKERS,
    facts=(*FACTS, *limits.LIMIT_FACTS, ELECTRONICS),
    summary="Ranks the breakers of a panel by the rise each would have at full load and holds them against the rated "
    "rise; loaded and warm is normal.",
    reads=("conditions", "camera", "regions", "facts", "view"),
    cautions=ALWAYS,
    sources=("ul-489", "rated-rise", "load-exponent", "load-gate", "neta-100-18"),
    title="circuits of a panel",
)
