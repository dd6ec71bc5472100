"""Damp ceilings and walls: colder than around, soft-edged, and no colder than evaporation can make it."""

from __future__ import annotations

from dataclasses import dataclass

from heatbrief.api import Context, FactSpec, Step, StepOutput, propagated, setting
from heatbrief.detect import Area, Case, Criterion, conclude, facts_for, find_areas, matches, search_mask
from heatbrief.detect.subjects import looked_at, others_mask
from heatbrief.model import Finding, Gate, Quantity, Region, Rival, Thermogram

from heatbrief_plumbing.air import dew_point_of, known, wet_bulb_of

NAME = "plumbing.damp_surface"
SHOWS = ("ceiling", "wall", "wall foot", "skirting", "floor under", "shower surround")
RIVALS = ("reflection", "lens shading", "material change", "object edge", "recent touch")
AIR_BEYOND = FactSpec(
    "air_beyond", "air temperature on the other side, when it is not outside air", unit="degC", example="24 degC"
)
METER = FactSpec("moisture meter", "what a moisture meter says at the spot", choices=("wet", "dry"), example="wet")
LINE = 4.0
SOFT_M = 0.03
FLOOR_K, COLDER_K = 0.5, 5.0
"""Allowance on the wet bulb for a Lewis number other than 1 (wet-bulb-floor)."""


@dataclass(frozen=True)
class Settings:
    """What counts as a damp spot."""

    least: float = setting(0.7, unit="K", positive=True, help="least contrast that is reported", example="0.7 K")
    share: float = setting(
        0.15,
        unit="1",
        low=0.01,
        high=0.9,
        example="15 %",
        help="least contrast as a share of what full evaporation could reach (air minus wet bulb)",
    )
    smallest: float = setting(0.01, unit="m2", low=0, help="smallest area that is reported", example="0.01 m2")


def run(subject: Thermogram, settings: Settings, context: Context) -> StepOutput:
    """Cold compact areas of declared ceilings and walls inside."""
    findings: list[Finding] = []
    for region in looked_at(context, SHOWS, subject):
        if matches(("outside", "exterior", "facade", "outdoors"), f"{region.shows} {context.view.shows}"):
            continue
        inside = search_mask(subject, region, context) & ~others_mask(context, SHOWS, region, subject)
        areas = find_areas(subject, inside, "cold", smallest_m2=settings.smallest)
        findings.extend(_finding(subject, settings, context, region, area) for area in areas if area.elongation < LINE)
    return StepOutput(findings=tuple(findings))


def _finding(subject: Thermogram, settings: Settings, context: Context, region: Region, area: Area) -> Finding:
    now = context.conditions
    floor = wet_bulb_of(now.inside_air, now.humidity)
    reach = (
        None
        if floor is None or now.inside_air is None
        else propagated(
            lambda air, floor: max(air - floor, 0.0), "K", "air minus wet bulb", air=now.inside_air, floor=floor
        )
    )
    limit = settings.least if reach is None else max(settings.least, settings.share * reach.value)
    case = Case(
        check=NAME, domain="plumbing", subject=subject, context=context, region=region, area=area, purpose="moisture"
    )
    size = f"{area.area.value:.2g} m2" if area.area else f"{area.pixels} pixels"
    unit = "K" if area.contrast.unit == "K" else "counts"
    beyond = colder_than_floor(area.mean, floor) or deeper_than_reach(area.contrast, reach)
    tail = (
        "It is colder than evaporation alone can make it in this air, so a cold pipe, supply air or cold air behind it "
        "is more likely."
        if beyond
        else "Consistent with water that evaporates there; a moisture meter tells."
    )
    return conclude(
        case,
        title=f"Cold patch in {region.name}" + ("" if beyond else ", possibly damp"),
        summary=f"A patch of {size} reads {abs(area.contrast.value):.1f} {unit} colder than around it. {tail}",
        criterion=Criterion(limit, because=_because(settings, reach), sources=("wet-bulb-floor",)),
        gates=(
            "humidity",
            "spot",
            "emissivity",
            nothing_colder(case),
            *((_below(area, floor),) if beyond and floor is not None else ()),
        ),
        rivals=(*RIVALS, cold_behind, soft_edge, meter),
        strong=("reflection", "lens shading", COLD_BEHIND, DRY),
        severity="moisture",
        at_most="soon",
        actions=("plumbing.moisture-meter", "plumbing.meter-test", "plumbing.find-leak", "plumbing.dry-out"),
        cautions=_cautions(region, context),
        sources=("wet-bulb-floor", "plumbing-instruments"),
        measured=known(
            wet_bulb=floor,
            dew_point=dew_point_of(now.inside_air, now.humidity),
            evaporation_reach=reach,
            share_of_reach=_share(area, reach),
        ),
        shares=f"{subject.id}:{region.name}:damp {area.ordinal}",
    )


def _cautions(region: Region, context: Context) -> tuple[str, ...]:
    """Overhead water only where the surface is, or may be, overhead."""
    text = region.shows or context.view.shows
    overhead = ("plumbing.wet-ceiling",) if matches(("ceiling",), text) or not matches(SHOWS, text) else ()
    return ("plumbing.water-and-electricity", *overhead, "plumbing.mould")


def _because(settings: Settings, reach: Quantity | None) -> str:
    if reach is None:
        return "the humidity is not known, so only the least contrast is asked (common practice)"
    return (
        f"{settings.share:.0%} of the {reach.value:.1f} K that full evaporation could reach in this air, and at "
        f"least {settings.least:g} K"
    )


def colder_than_floor(mean: Quantity | None, floor: Quantity | None) -> bool:
    """Whether the patch is, with its bounds, below the wet bulb less its allowance (dossier P5 rule a)."""
    return mean is not None and floor is not None and mean.high < floor.low - FLOOR_K


def deeper_than_reach(contrast: Quantity, reach: Quantity | None) -> bool:
    """Whether the contrast alone, free of the camera's offset, exceeds what evaporation can take from a surface at the
    air's temperature."""
    return reach is not None and contrast.unit == "K" and -contrast.high > reach.high + FLOOR_K


def _below(area: Area, floor: Quantity) -> Gate:
    reads = (
        f"{area.mean.value:.1f} degC"
        if area.mean is not None
        else f"no temperature, but {abs(area.contrast.value):.1f} K colder than around it"
    )
    return Gate(
        "not colder than the wet bulb",
        None,
        f"asked: not below the wet bulb of {floor.value:.1f} degC; given: {reads}",
        "wet-bulb-floor",
        "Look for a cold pipe, supply air or cold air behind the spot.",
    )


def _share(area: Area, reach: Quantity | None) -> Quantity | None:
    if reach is None or reach.value < 0.5 or area.contrast.unit != "K":
        return None
    return propagated(
        lambda contrast, reach: -contrast / reach,
        "1",
        "contrast over (air minus wet bulb)",
        contrast=area.contrast,
        reach=reach,
    )


def nothing_colder(case: Case) -> Gate:
    """Where the air behind is much colder than the room, thin insulation draws the same patch and only a meter can
    tell."""
    inside, beyond = case.conditions.inside_air, air_behind(case)
    title, asked = (
        "no much colder air behind",
        f"asked: air behind at most {COLDER_K:g} K colder than the room, or a moisture meter reading",
    )
    remedy = "Read a moisture meter at the spot and beside it, and give `moisture meter` in the facts of the region."
    if str(case.fact("moisture meter") or "").strip().casefold() == "wet":
        return Gate(title, True, f"{asked}; given: the moisture meter says wet")
    if inside is None or beyond is None:
        return Gate(title, None, f"{asked}; given: nothing about the air on one side", "", remedy)
    given = f"{asked}; given: {beyond.value:.0f} degC behind, {inside.value:.0f} degC in the room"
    return Gate(title, inside.value - beyond.value <= COLDER_K, given, "", remedy)


def air_behind(case: Case) -> Quantity | None:
    """The stated air beyond, else the outside air [degC]."""
    stated = case.fact("air_beyond")
    return stated if isinstance(stated, Quantity) else case.conditions.outside_air


COLD_BEHIND = "cold air, a cold pipe or missing insulation behind the surface"
DRY = "a dry cold spot, by the moisture meter"
SOFT = "an object, a repair or paint with a sharp outline"


def cold_behind(case: Case) -> Rival | None:
    """A cold patch needs no water when the air beyond is colder than the room; it does when that air is as warm or
    warmer."""
    inside, beyond = case.conditions.inside_air, air_behind(case)
    if inside is None or beyond is None:
        return Rival(
            COLD_BEHIND,
            "not testable",
            "the air on both sides is not given",
            "`inside_air`, and `air_beyond` for the region",
        )
    if beyond.low >= inside.high - 1.0:
        return Rival(
            COLD_BEHIND,
            "ruled out",
            f"the air beyond is {beyond.value:.0f} degC, not colder than the room's {inside.value:.0f} degC",
        )
    return Rival(
        COLD_BEHIND,
        "not ruled out",
        f"the air beyond is {beyond.value:.0f} degC, colder than the room's {inside.value:.0f} degC",
    )


def soft_edge(case: Case) -> Rival | None:
    """Water spreads and leaves a soft edge; a register, a patch of filler or paint ends sharply."""
    area = case.area
    if area is None or area.edge_width is None:
        return Rival(SOFT, "not testable", "the edge could not be measured", "an ordinary photo of the spot")
    pixel = case.subject.pixel
    width = area.edge_width * pixel.width if pixel else None
    soft = width >= SOFT_M if width is not None else area.edge_width >= 4.0
    text = (
        f"its edge is {100 * width:.0f} cm wide"
        if width is not None
        else f"its edge is {area.edge_width:.0f} pixels wide"
    )
    return Rival(
        SOFT,
        "ruled out" if soft else "not ruled out",
        text + (", as where water spreads" if soft else ", sharper than where water spreads"),
    )


def meter(case: Case) -> Rival | None:
    """A moisture meter decides more than any picture."""
    says = str(case.fact("moisture meter") or "").strip().casefold()
    if says not in ("wet", "dry"):
        return Rival(
            DRY,
            "not testable",
            "no moisture meter was used",
            "a moisture meter reading at the spot and beside it (`moisture meter`)",
        )
    return Rival(DRY, "ruled out" if says == "wet" else "not ruled out", f"the moisture meter says {says}")


STEP = Step(
    name=NAME,
    stage="detect",
    version=2,
    run=run,
    settings=Settings,
    domain="plumbing",
    summary="Cold soft-edged patches inside, against the coldest that evaporation can make.",
    shows=SHOWS,
    facts=(AIR_BEYOND, METER, *facts_for(RIVALS)),
    cautions=("plumbing.water-and-electricity", "plumbing.mould"),
    sources=("wet-bulb-floor", "plumbing-instruments"),
    status="trial",
    title="damp places inside",
)
