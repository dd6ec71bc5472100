"""From a comparison of like parts to the argued finding: shared by twins, phases and motor frames."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from heatbrief.api import Context
from heatbrief.detect import Criterion, conclude, difference, matches, number, read_region
from heatbrief.detect.rivals import RivalFunction
from heatbrief.model import Finding, Quantity, Region, Thermogram

from heatbrief_electrical import classes, limits, rivals
from heatbrief_electrical.compared import Compared, Member, TwinCase
from heatbrief_electrical.parts import FUSES, air_near, cautions_for, face_area, gates_for, known, repair_for, wind_on
from heatbrief_electrical.twin_words import BARE_METAL, cold_words, three_rules, warm_words
from heatbrief_electrical.wind import MOST_M_S, at_one_metre_per_second

DOMAIN = "electrical"
CLASSED = ("classed", "low load")
BARE_WORDS = ("bare", "bright", "polished", "plated", "tinned", "shiny", "uncoated")
RIVALS = (
    "reflection",
    "shade or sun",
    rivals.higher_load,
    rivals.other_finish,
    rivals.neighbour_heat,
    rivals.ordinary_spread,
    rivals.load_changed,
)
UNBALANCE = "more current in that phase than in the others"
STRONG = ("reflection", "shade or sun", rivals.LOAD, rivals.FINISH, rivals.NEIGHBOUR, rivals.SPREAD)


def stage_of(compared: Compared, table: str = "neta-similar") -> str:
    """What the loads of a part and its twins allow: "unknown", "pattern only", "low load" or "classed"; the least
    counts.
    """
    order = ("unknown", "pattern only", "low load", "classed")
    return min((classes.stage(one.load.share, table) for one in (compared.member, *compared.others)), key=order.index)


def least_for(least: float, table: str, stage: str) -> float:
    """Difference [K] from which a comparison counts: the start of the table where it gives a class, else the
    setting.
    """
    return max(least, classes.first_band(table)) if stage in CLASSED else least


def is_bare(case: TwinCase) -> bool:
    """Whether the part is bare metal, by its emissivity or by the words for its material."""
    return (case.emissivity is not None and case.emissivity < 0.6) or matches(BARE_WORDS, case.material)


def case_of(
    subject: Thermogram, context: Context, compared: Compared, check: str, table: str, tag: str = ""
) -> TwinCase:
    """The case of a comparison."""
    return TwinCase(
        check=check,
        domain=DOMAIN,
        subject=subject,
        context=context,
        region=compared.member.region,
        reading=compared.member.reading,
        purpose="electrical",
        rule_set=classes.rule_set_for(table),
        tag=tag,
        compared=compared,
    )


def compared_finding(
    subject: Thermogram,
    context: Context,
    compared: Compared,
    *,
    check: str,
    table: str,
    least: float,
    pattern: str = "",
    repair: str = "",
    rows: tuple[Mapping[str, str], ...] = (),
    measured: Mapping[str, Quantity] | None = None,
    sources: tuple[str, ...] = (),
    open_rival: RivalFunction | None = None,
    tag: str = "",
) -> Finding:
    """The finding on a part that differs from its twins, with the three rules side by side.

    pattern   what the difference is consistent with, where the check knows more than "a poor contact"
    repair    key of the action, else the usual one; rows, measured, sources, open_rival: more of the check's own
    """
    region, cold = compared.member.region, compared.difference.value < 0
    case, stage = case_of(subject, context, compared, check, table, tag), stage_of(compared, table)
    bare, wind = is_bare(case), wind_on(context, region)
    stage = "windy" if stage in CLASSED and wind is not None and wind > MOST_M_S else stage
    share = compared.member.load.share
    extrapolated = stage in CLASSED and not cold and share is not None and share > 0
    full = classes.at_full_load(compared.difference, share) if extrapolated and share is not None else None
    calm = at_one_metre_per_second(compared.difference, wind) if stage in CLASSED and not cold else None
    air = air_near(context, region)
    held = None if cold else limits.held(compared.member.rise, share, limits.limit_for(region, context, air))
    rules = three_rules(compared, table, stage, full, calm, held, bare)
    clip, clip_words = fuse_ends(subject, region) if not cold else (None, "")
    words = cold_words(compared) if cold else warm_words(compared, stage, rules.likely, full, calm, pattern)
    why = (
        "smaller differences are not classed by the table in use"
        if rules.rows
        else "smaller differences between like parts are common (common practice)"
    )
    return conclude(
        case,
        title=f"{region.name}: {'colder' if cold else 'warmer'} than its twin{'s' if len(compared.others) > 1 else ''}",
        summary=" ".join(one for one in (words, clip_words, BARE_METAL if bare and not cold else "") if one),
        criterion=Criterion(
            least_for(least, table, stage),
            because=why,
            sources=classes.table_sources(table) if rules.rows else (),
        ),
        gates=gates_for(context, region, load=not cold),
        rivals=RIVALS if open_rival is None else (*RIVALS, open_rival),
        strong=(*STRONG, UNBALANCE),
        severity="safety",
        at_most=rules.urgency,
        actions=(*(() if stage in CLASSED else ("electrical.record-load",)), repair or repair_for(context, region)),
        cautions=cautions_for(context, region),
        sources=("load-gate", *sources, *((held.limit.source,) if held else ()), *(("wind-table",) if calm else ())),
        measured={
            **known(
                hottest_part_over_twin=compared.hottest,
                rise_over_air=compared.member.rise,
                air_temperature=air,
                difference_at_full_load=full,
                difference_brought_to_1_m_per_s=calm,
                margin_at_this_load=held.margin if held else None,
                margin_at_full_load=held.margin_full if held else None,
                one_end_over_the_other=clip,
                load=load_quantity(compared.member),
                load_share=share_of(compared.member),
                face_area=face_area(subject, region),
            ),
            **(measured or {}),
        },
        classes=(*rules.rows, *(rows if not cold else ())),
        shares=f"{subject.id}:{region.name}",
    )


def share_of(member: Member) -> Quantity | None:
    """Load over rating."""
    share = member.load.share
    return None if share is None else Quantity.exact(share, "1", "load over rating, as stated")


def load_quantity(member: Member) -> Quantity | None:
    """The current as stated."""
    return None if member.load.amps is None else Quantity.exact(member.load.amps, "A", "as stated")


def fuse_ends(subject: Thermogram, region: Region) -> tuple[Quantity | None, str]:
    """How much warmer one end of a fuse is than the other [K], and what that is consistent with; nothing for other
    parts.
    """
    if not matches(FUSES, region.shows) or region.shape != "box":
        return None, ""
    x0, y0, x1, y1 = region.bounding_box(*subject.shape)
    along, length = (1, x1 - x0) if x1 - x0 >= y1 - y0 else (0, y1 - y0)
    third = length // 3
    if third < 2:
        return None, ""
    ends = []
    for start in (0, length - third):
        part = np.zeros(subject.shape, bool)
        window = (
            (slice(y0, y1), slice(x0 + start, x0 + start + third))
            if along
            else (slice(y0 + start, y0 + start + third), slice(x0, x1))
        )
        part[window] = True
        ends.append(read_region(subject, part))
    if ends[0] is None or ends[1] is None or not ends[0].scaled:
        return None, ""
    apart = difference(ends[0], ends[1])
    side = ("left", "right") if along else ("upper", "lower")
    if min(abs(apart.low), abs(apart.high)) < rivals.ORDINARY_K or apart.low * apart.high <= 0:
        return None, ""
    warm = side[0] if apart.value > 0 else side[1]
    found = apart if apart.value > 0 else apart.scaled(-1.0, "K")
    return (
        found,
        f"Its {warm} end is {number(found.value, 'K')} warmer than the other, which is consistent with the clip at "
        "that end.",
    )
