"""Published severity classes of a difference with bounds: which class, how probable, and how urgent at most."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from heatbrief.model import Quantity
from heatbrief.model.finding import URGENCIES, Urgency
from heatbrief.model.quantity import NORMAL_95
from heatbrief.physics import electrical

from heatbrief_electrical.calculators import rise_at_other_load

AmbientTable = Literal["neta-ambient", "european-ambient", "experience", "mil-std-2194", "inspection-body", "epri"]
TwinTable = Literal["neta-similar", "mil-std-2194", "experience", "european-phases", "inspection-body", "epri"]

URGENCY_OF_CLASS: Mapping[str, Mapping[int, Urgency]] = {
    "neta-similar": {1: "watch", 2: "plan", 4: "now"},
    "neta-ambient": {1: "watch", 2: "plan", 3: "soon", 4: "now"},
    "mil-std-2194": {1: "plan", 2: "soon", 3: "now", 4: "now"},
    "experience": {1: "watch", 2: "plan", 3: "soon", 4: "now"},
    "motor-core": {1: "watch", 2: "plan", 3: "soon"},
    "european-phases": {1: "plan", 2: "soon", 3: "now"},
    "european-ambient": {1: "plan", 2: "soon", 3: "now"},
    "inspection-body": {1: "watch", 2: "plan", 3: "soon", 4: "now"},
    "epri": {1: "watch", 2: "plan", 3: "soon", 4: "now"},
}
"""Highest urgency for a class, from what the table prints beside it ("at once", "when time allows"). The step from
words to these
four levels is ours; a table's own words stand beside its class."""

CAUTIOUS = 0.2
"""The class that sets the urgency is the most severe one that is reached with at least this probability. Own choice."""
SHOWN = 0.01


@dataclass(frozen=True)
class Classed:
    """A difference in a table.

    rows         plain rows for the finding, the table's name in each; likely: label and probability of the likeliest
                 class
    urgency      highest urgency the class allows; severe: code of the class that set it
    """

    rows: tuple[Mapping[str, str], ...]
    likely: str
    probability: float
    urgency: Urgency
    severe: int


def rule_set_for(table: str) -> str:
    """Limits of the survey gates that go with a table: the European one is stated for 75 % load and more."""
    return "european-practice" if table.startswith("european") else "default"


def least_load(table: str) -> float:
    """Load share from which a table may be used: 75 % for the European one [seen: S5], else 40 % (project decision,
    E11).
    """
    return 0.75 if table.startswith("european") else electrical.LEAST_LOAD


def stage(share: float | None, table: str) -> str:
    """What a load allows in a table: "unknown", "pattern only", "low load" or "classed"."""
    gate = electrical.load_gate(share)
    return "pattern only" if gate != "unknown" and share is not None and share < least_load(table) else gate


def first_band(table: str) -> float:
    """Difference [K] at which the table starts."""
    return electrical.class_table(table).bands[0].start


def probabilities(difference: Quantity, table: str) -> Mapping[int, float]:
    """Probability of each class code, from bounds read as a normal distribution on each side of the value."""
    found = electrical.class_table(table)
    starts = [band.start for band in found.bands]
    if difference.low == difference.high:
        return electrical.class_probabilities(difference.value, 0.0, table)
    shares = [1.0, *(reached(difference, start) for start in starts), 0.0]
    codes = [electrical.UNCLASSED.code, *(band.code for band in found.bands)]
    return {code: shares[place] - shares[place + 1] for place, code in enumerate(codes)}


def reached(difference: Quantity, start: float) -> float:
    """Probability that the true difference reaches a limit, each side of the bounds read as half of a normal
    distribution.
    """
    side = difference.high - difference.value if start > difference.value else difference.value - difference.low
    if side <= 0:
        return float(difference.value >= start)
    return 0.5 * math.erfc((start - difference.value) * NORMAL_95 / side / math.sqrt(2))


def classed(difference: Quantity, table: str, basis: str, load_note: str = "") -> Classed:
    """The classes of a positive difference [K] in a table, those below 1 % left out, most probable first."""
    found = electrical.class_table(table)
    shares = probabilities(difference, table)
    bands = {band.code: band for band in (electrical.UNCLASSED, *found.bands)}
    order = sorted((code for code in shares if shares[code] >= SHOWN), key=lambda code: (-shares[code], code))
    rows = tuple(
        {
            "table": found.name,
            "compares": basis,
            "class": bands[code].label,
            "probability": percent(shares[code]),
            "printed advice": bands[code].meaning,
            **({"note": load_note} if load_note else {}),
        }
        for code in order
    )
    severe = max(code for code in shares if sum(shares[other] for other in shares if other >= code) >= CAUTIOUS)
    return Classed(rows, bands[order[0]].label, shares[order[0]], URGENCY_OF_CLASS[table].get(severe, "none"), severe)


def percent(share: float) -> str:
    """A probability in words that never claims certainty: 99.7 % is said as "above 99 %"."""
    return "above 99 %" if share > 0.99 else f"{100 * share:.0f} %"


def at_full_load(difference: Quantity, share: float) -> Quantity | None:
    """The difference [K] extrapolated to full load over the exponents 1.6 to 2.0."""
    return rise_at_other_load(difference, share, 1.0)


def more_urgent(urgency: Urgency) -> Urgency:
    """One step more urgent."""
    place = URGENCIES.index(urgency)
    return URGENCIES[max(0, place - 1)]


def table_sources(table: str) -> tuple[str, ...]:
    """Source keys behind a class."""
    return (electrical.class_table(table).source, "load-gate", "rated-rise", "load-exponent")
