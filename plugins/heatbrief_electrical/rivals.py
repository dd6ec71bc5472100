"""What else could make one electrical part warmer than its twin, tested with what the survey says."""

from __future__ import annotations

from heatbrief.detect import Case, figure, matches, number, own_regions, read_region
from heatbrief.model import Region, Rival
from heatbrief.model.finding import RivalStatus

from heatbrief_electrical.compared import LIKE_LOAD, TwinCase
from heatbrief_electrical.parts import BREAKERS, CONVERTERS, FUSES, JOINTS, OTHERS

ORDINARY_K = 3.0
"""Like parts without a defect differ by up to about this (upper end of NETA's first band; common practice)."""
HELD_MINUTES = 30.0
"""Small parts settle within half an hour (common practice, no source)."""
WARM_PARTS = (*BREAKERS, *JOINTS, *FUSES, *CONVERTERS, *OTHERS)

SPREAD = "ordinary differences between like parts"
NEIGHBOUR = "heat from a warmer part beside it"
CHANGED = "a load that had changed shortly before"
LOAD = "an ordinary rise at a higher load"
FINISH = "another material or finish than its twin's"


def ordinary_spread(case: Case) -> Rival | None:
    """Whether the difference is beyond what sound like parts show."""
    found = case.contrast
    if found is None or found.unit != "K":
        return None
    least = max(found.low, -found.high, 0.0)
    status: RivalStatus = "ruled out" if least > ORDINARY_K else "not ruled out"
    return Rival(
        SPREAD,
        status,
        f"the difference is at least {number(least, 'K')}; like parts without a defect differ by up to about "
        f"{ORDINARY_K:g} K",
    )


def neighbour_heat(case: Case) -> Rival | None:
    """Heat does not flow from a colder part to a warmer one, so only a warmer neighbour could warm this one."""
    if case.region is None or case.reading is None:
        return None
    own = case.reading.values["mean"]
    warmest: tuple[float, str] | None = None
    for other in own_regions(case.context, case.subject):
        if (
            other.name == case.region.name
            or not matches(WARM_PARTS, other.shows)
            or not _beside(case.region, other, case.subject.shape)
        ):
            continue
        reading = read_region(case.subject, other)
        if reading is not None and (warmest is None or reading.values["mean"] > warmest[0]):
            warmest = (reading.values["mean"], other.name)
    if warmest is None:
        return Rival(NEIGHBOUR, "not testable", "no part beside it was declared", "the parts beside it as regions")
    off = warmest[0] - own
    if off > 0:
        return Rival(NEIGHBOUR, "not ruled out", f"{warmest[1]} beside it is {figure(off, 'K')} K warmer")
    return Rival(NEIGHBOUR, "ruled out", f"the warmest part beside it, {warmest[1]}, is {figure(-off, 'K')} K colder")


def _beside(own: Region, other: Region, shape: tuple[int, int]) -> bool:
    """Whether two regions lie within the smaller side of the first of each other."""
    a, b = own.bounding_box(*shape), other.bounding_box(*shape)
    reach = min(a[2] - a[0], a[3] - a[1]) + 2
    gap_x, gap_y = max(a[0], b[0]) - min(a[2], b[2]), max(a[1], b[1]) - min(a[3], b[3])
    return gap_x <= reach and gap_y <= reach


def load_changed(case: Case) -> Rival | None:
    """Parts lag behind their load; parts of one circuit lag together."""
    held = case.number("load held")
    if held is not None:
        status: RivalStatus = "ruled out" if held >= HELD_MINUTES else "not ruled out"
        return Rival(
            CHANGED, status, f"the load had been about the same for {held:.0f} min; {HELD_MINUTES:.0f} min are asked"
        )
    ratio = case.compared.load_ratio if isinstance(case, TwinCase) and case.compared is not None else None
    if ratio is not None and abs(ratio - 1) <= LIKE_LOAD:
        return Rival(CHANGED, "ruled out", "its twin carries the same load, so a change would have acted on both")
    return Rival(
        CHANGED,
        "not testable",
        "it is not known for how long the load had been the same",
        "for how long the load had been the same (`load held`)",
    )


def higher_load(case: Case) -> Rival | None:
    """Whether the load explains the difference: alike, corrected for, or unknown."""
    if not isinstance(case, TwinCase) or case.compared is None:
        return None
    compared = case.compared
    ratio = compared.load_ratio
    if ratio is None:
        return Rival(
            LOAD,
            "not testable",
            "the load of the part or of its twin is not given",
            "the load of the part and of its twins (`load`)",
        )
    said = "many" if ratio == float("inf") else f"{ratio:.2f}"
    if abs(ratio - 1) <= LIKE_LOAD:
        return Rival(
            LOAD, "ruled out", f"its load is {said} times that of its twin; within {LIKE_LOAD:.0%} counts as alike"
        )
    if compared.corrected:
        status: RivalStatus = (
            "ruled out" if compared.difference.low > 0 or compared.difference.high < 0 else "not ruled out"
        )
        return Rival(
            LOAD,
            status,
            f"its load is {said} times that of its twin; the difference is what is left after the load is allowed for, "
            "with an exponent of 1.6 to 2.0",
        )
    return Rival(
        LOAD,
        "not ruled out",
        f"its load is {said} times that of its twin, and the air beside the parts is not known well enough to allow "
        "for it",
    )


def other_finish(case: Case) -> Rival | None:
    """Whether the twins are of one finish, so that the camera reads both alike."""
    same = case.yes("same material")
    if same is not None:
        return Rival(
            FINISH,
            "ruled out" if same else "not ruled out",
            f"the finish is stated to be {'the same as' if same else 'another than'} its twin's",
        )
    compared = case.compared if isinstance(case, TwinCase) else None
    if compared is not None and case.material:
        others = {one.region.material or case.view.material for one in compared.others}
        if others == {case.material}:
            return Rival(FINISH, "ruled out", f"both are stated to be {case.material}")
        return Rival(
            FINISH,
            "not ruled out",
            f"it is stated to be {case.material}, its twin "
            f"{' or '.join(sorted(one or 'not stated' for one in others))}",
        )
    return Rival(
        FINISH,
        "not testable",
        "the material of the parts is not given",
        "the material of the parts, or an ordinary photo",
    )
