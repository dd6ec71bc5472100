"""The panel as rows an owner can read: which circuits run, which draw most, and what of it is ordinary."""

from __future__ import annotations

from collections.abc import Mapping

from heatbrief.detect import difference, figure, number
from heatbrief.physics import electrical

from heatbrief_electrical.circuit import LEAST_RISE_K, Circuit

TABLE = "this panel, by rise for load (a ranking, not a published class)"
RUNNING_K = 2.0
"""Warmer than the coolest breaker of the panel by this, bounds included: probably running. Own choice."""


def panel_rows(
    circuits: tuple[Circuit, ...], ranked: tuple[Circuit, ...], named: Mapping[str, str]
) -> tuple[Mapping[str, str], ...]:
    """A row for every circuit: ranked ones first, then by rise. `named`: circuits that are reported elsewhere, and
    where.
    """
    rest = sorted((one for one in circuits if one not in ranked), key=_by_rise)
    coolest = min(circuits, key=lambda one: (one.member.reading.values["mean"], one.name))
    return tuple(
        _row(f"{place}. {one.name}" if one in ranked else one.name, one, reading(one, coolest, named))
        for place, one in enumerate((*ranked, *rest), 1)
    )


def _by_rise(one: Circuit) -> tuple[float, str]:
    return -one.member.reading.values["mean"], one.name


def _row(name: str, one: Circuit, said: str) -> Mapping[str, str]:
    rise, full = one.member.rise, one.full
    return {
        "table": TABLE,
        "circuit": name,
        "load": load_words(one),
        "measured rise": number(rise.value, "K") if rise is not None else "air not known",
        "rise at full load": f"{figure(full.value, 'K')} K ({figure(full.low, 'K')} to {figure(full.high, 'K')} K)"
        if full is not None
        else "not referred",
        "says": said,
    }


def load_words(one: Circuit) -> str:
    """The load as recorded."""
    load = one.member.load
    if load.amps is None:
        return "not recorded" if load.share is None else f"{number(load.share, '1')} of its rating"
    return f"{figure(load.amps)} A" + (f", {number(load.share, '1')} of its rating" if load.share is not None else "")


def reading(one: Circuit, coolest: Circuit, named: Mapping[str, str]) -> str:
    """What the row says to an owner."""
    share = one.member.load.share
    if one.name in named:
        return named[one.name]
    if share is None:
        apart = difference(one.member.reading, coolest.member.reading)
        return (
            "warm: probably running; its load was not recorded"
            if apart.low > RUNNING_K
            else "as cool as the coolest: idle or little load"
        )
    rise = one.member.rise.value if one.member.rise is not None else 0.0
    if one.idle:
        return "idle" if rise < LEAST_RISE_K else "idle; warmed by the parts beside it"
    if electrical.load_gate(share) == "pattern only":
        return "running at low load"
    if rise < LEAST_RISE_K:
        return "running, hardly warm"
    return "running; warm in proportion to its load, which is normal"


def running_words(circuits: tuple[Circuit, ...], rows: tuple[Mapping[str, str], ...]) -> str:
    """Which circuits run and which draw most, in a sentence or two."""
    amps = [one for one in circuits if one.member.load.amps]
    most = max(amps, key=lambda one: (one.member.load.amps, one.name), default=None)
    parts = []
    if most is not None:
        idle = sum(one.idle for one in circuits)
        parts.append(
            f"Most current was recorded on {most.name} ({figure(most.member.load.amps or 0.0)} A); {idle} of "
            f"{len(circuits)} idle."
        )
    guessed = [row["circuit"] for row in rows if row["says"].startswith("warm: probably")]
    if guessed:
        parts.append(f"By their warmth these probably run too, the warmest drawing most: {', '.join(guessed)}.")
    return " ".join(parts)
