"""Words and class rows of a comparison of twins."""

from __future__ import annotations

from collections.abc import Mapping

from heatbrief.detect import figure, number
from heatbrief.model import Quantity
from heatbrief.model.finding import Urgency

from heatbrief_electrical import classes, rivals
from heatbrief_electrical.compared import Compared

BARE_METAL = (
    "Bare metal: the shown temperatures are probably too low and the true difference larger. It can be read only on a surface of paint, tape or "
    "another dull coat, which a licensed electrician can provide with the part made dead."
)


def class_rows(compared: Compared, table: str, stage: str, full: Quantity | None) -> tuple[tuple[Mapping[str, str], ...], Urgency, str]:
    """(rows, highest urgency, words about the likeliest class) of a comparison; no rows and no class without a load of 40 % or more.

    The mean difference sets the urgency; it is one step more urgent when the hottest part or full load falls in a more severe class.
    """
    if stage not in ("classed", "low load") or compared.difference.value < 0:
        return (), _pattern_urgency(compared), ""
    note = "low load" if stage == "low load" else ""
    first = classes.classed(compared.difference, table, "mean of the part over its twin, at the recorded load", note)
    more = (
        []
        if compared.hottest is None or compared.hottest.value <= 0
        else [classes.classed(compared.hottest, table, "hottest part over the twin's hottest part, at the recorded load", note)]
    )
    more += [] if full is None else [classes.classed(full, table, "mean of the part over its twin, extrapolated to full load", note)]
    urgency = classes.more_urgent(first.urgency) if first.severe and any(one.severe > first.severe for one in more) else first.urgency
    if first.severe and compared.member.rise is not None and compared.member.rise.value > 0 and table == "neta-similar":
        more_rows = classes.classed(
            compared.member.rise, "neta-ambient", "mean of the part over the air, which alone is no fault in a loaded part", note
        ).rows
    else:
        more_rows = ()
    name = first.rows[0]["table"]
    likely = f'In the table "{name}" this falls in the class "{first.likely}" (probability {classes.percent(first.probability)}); other tables class it otherwise.'
    if compared.hottest is not None and more and more[0].severe > first.severe and compared.hottest.value > 0:
        likely += f' Compared by their hottest places the difference is {number(compared.hottest.value, "K")}, in the class "{more[0].likely}".'
    return (*first.rows, *(row for one in more for row in one.rows), *more_rows), urgency, likely


def _pattern_urgency(compared: Compared) -> Urgency:
    return "soon" if abs(compared.difference.value) > rivals.ORDINARY_K else "watch"


def warm_words(compared: Compared, stage: str, likely: str, full: Quantity | None) -> str:
    member, against = compared.member, " and ".join(compared.against)
    said = f"{member.region.name} is {number(compared.difference.value, 'K')} warmer than {against} at {member.load.said}"
    said += ", with the difference in their loads allowed for." if compared.corrected else "."
    if stage in ("unknown", "pattern only"):
        why = "The load was not recorded" if stage == "unknown" else "At less than 40 % load little heat is made"
        return f"{said} {why}, so no severity is given: only the pattern is reported, which is consistent with a poor contact or with a higher load."
    parts = [said, likely]
    if stage == "low load":
        parts.append("The load was low (40 to 50 %), so the figure for full load is wide.")
    if full is not None and full.value > compared.difference.value * 1.02:
        parts.append(f"At full load the difference could be {figure(full.low, 'K')} to {number(full.high, 'K')}.")
    return " ".join([*parts, "The pattern is consistent with a poor contact in or at this part. A licensed electrician should test it."])


def cold_words(compared: Compared) -> str:
    against = " and ".join(compared.against)
    return (
        f"{compared.member.region.name} is {number(-compared.difference.value, 'K')} colder than {against} and about as warm as the air. "
        "The pattern is consistent with a fuse that is open or carries no load."
    )
