"""Words and class rows of a comparison of twins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heatbrief.detect import figure, number
from heatbrief.model import Quantity
from heatbrief.model.finding import Urgency

from heatbrief_electrical import classes, limits, rivals, wind
from heatbrief_electrical.compared import Compared

BARE_METAL = (
    "Bare metal: the shown temperatures are probably too low and the true difference larger, by a class or more. It "
    "can be read only on paint, tape or another dull coat, which a licensed electrician can put on with the part made "
    "dead, or in a deep recess of the part that is in view anyway."
)
BARE_NOTE = "bare metal: probably under-read, the true class may be more severe"
AMBIENT_OF: Mapping[str, str] = {"neta-similar": "neta-ambient", "european-phases": "european-ambient"}
"""The column over ambient air that goes with a column for similar parts."""
OVER_TWIN = "mean of the part over its twin, at the recorded load"


@dataclass(frozen=True)
class Rules:
    """The three rules side by side: rows of each, the highest urgency they allow, and words about the likeliest
    class.
    """

    rows: tuple[Mapping[str, str], ...]
    urgency: Urgency
    likely: str


def three_rules(
    compared: Compared,
    table: str,
    stage: str,
    full: Quantity | None,
    calm: Quantity | None = None,
    held: limits.Held | None = None,
    bare: bool = False,
) -> Rules:
    """Twin rule, ambient rule and limit rule; no rows and no class without a load of 40 % or more, or in strong wind.

    The mean difference sets the urgency. It is one step more urgent when the hottest part, full load or the difference
    brought to
    1 m/s (`calm`) falls in a more severe class, and the limit rule may raise it. The ambient class is printed and
    raises nothing:
    where a twin carries the same load, warmth that both share is the load's.
    """
    if stage not in ("classed", "low load") or compared.difference.value < 0:
        return Rules((), _pattern_urgency(compared), "")
    note = "; ".join(one for one in ("low load" if stage == "low load" else "", BARE_NOTE if bare else "") if one)
    first = classes.classed(compared.difference, table, OVER_TWIN, note)
    more = _more(compared, table, full, calm, note)
    raised = first.severe and any(one.severe > first.severe for one in more)
    urgency = classes.more_urgent(first.urgency) if raised else first.urgency
    rise, ambient = compared.member.rise, AMBIENT_OF.get(table)
    over_air: tuple[Mapping[str, str], ...] = ()
    if first.severe and rise is not None and rise.value > 0 and ambient is not None:
        basis = "mean of the part over the air, which alone is no fault in a loaded part"
        over_air = classes.classed(rise, ambient, basis, note).rows
    limit_rows = () if held is None else limits.rows(held)
    likely = class_words(first)
    hottest = compared.hottest
    if hottest is not None and hottest.value > 0 and more and more[0].severe > first.severe:
        likely += (
            f" Compared by their hottest places the difference is {number(hottest.value, 'K')}, in the class "
            f'"{more[0].likely}".'
        )
    found = (*first.rows, *(row for one in more for row in one.rows), *over_air, *limit_rows)
    return Rules(found, limits.raised(urgency, held), likely)


def class_words(found: classes.Classed) -> str:
    """The likeliest class with its table and probability."""
    return (
        f'In the table "{found.rows[0]["table"]}" this falls in the class "{found.likely}" '
        f"(probability {classes.percent(found.probability)}); other tables class it otherwise."
    )


def _more(
    compared: Compared, table: str, full: Quantity | None, calm: Quantity | None, note: str
) -> list[classes.Classed]:
    hottest = compared.hottest if compared.hottest is not None and compared.hottest.value > 0 else None
    wanted = (
        (hottest, "hottest part over the twin's hottest part, at the recorded load"),
        (full, "mean of the part over its twin, extrapolated to full load"),
        (calm, "mean of the part over its twin, brought to 1 m/s of wind by a table from memory"),
    )
    return [classes.classed(one, table, basis, note) for one, basis in wanted if one is not None]


def _pattern_urgency(compared: Compared) -> Urgency:
    return "soon" if abs(compared.difference.value) > rivals.ORDINARY_K else "watch"


NO_CLASS = {
    "unknown": "The load was not recorded",
    "pattern only": "At so low a load little heat is made",
    "windy": f"Above {wind.MOST_M_S:g} m/s of wind the warmth is blown away",
}
CONTACT = "The pattern is consistent with a poor contact in or at this part."
EITHER = "which is consistent with a poor contact or with a higher load"


def warm_words(
    compared: Compared, stage: str, likely: str, full: Quantity | None, calm: Quantity | None = None, pattern: str = ""
) -> str:
    """What is seen, the class if there is one, and what it is consistent with; `pattern` replaces the usual cause."""
    member, against = compared.member, " and ".join(compared.against)
    said = (
        f"{member.region.name} is {number(compared.difference.value, 'K')} warmer than {against} at {member.load.said}"
    )
    said += ", with the difference in their loads allowed for." if compared.corrected else "."
    if stage in NO_CLASS:
        rest = f"only the pattern is reported{'' if pattern else ', ' + EITHER}."
        return " ".join(one for one in (said, f"{NO_CLASS[stage]}, so no severity is given:", rest, pattern) if one)
    parts = [said, likely]
    if stage == "low load":
        parts.append("The load was low (40 to 50 %), so the figure for full load is wide.")
    if full is not None and full.value > compared.difference.value * 1.02:
        parts.append(f"At full load the difference could be {figure(full.low, 'K')} to {number(full.high, 'K')}.")
    if calm is not None and calm.value > compared.difference.value * 1.1:
        parts.append(
            f"Wind cooled it: at 1 m/s the difference would be about {number(calm.value, 'K')} (table from memory)."
        )
    return " ".join([*parts, pattern or CONTACT, "A licensed electrician should test it."])


def cold_words(compared: Compared) -> str:
    """The summary for a part that is as warm as the air while its twins are warm."""
    against = " and ".join(compared.against)
    return (
        f"{compared.member.region.name} is {number(-compared.difference.value, 'K')} colder than {against} and about "
        "as warm as the air. The pattern is consistent with a fuse that is open or carries no load."
    )
