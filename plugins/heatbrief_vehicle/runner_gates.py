"""Gates for comparing exhaust runners: how soon after a cold start, and how many of them."""

from __future__ import annotations

from heatbrief.api import Context
from heatbrief.detect import figure
from heatbrief.model import Gate, Region

from heatbrief_vehicle.few import false_alarm
from heatbrief_vehicle.parts import seconds

EARLY_S = 180.0
"""A cold runner is clearest in the first 90 s after a cold start (read); twice that still counts as early (own
choice)."""


def start_gate(region: Region, context: Context) -> Gate:
    """A weak cylinder shows best soon after a cold start; later the head and the collector even it out."""
    since = seconds("since_start", region, context)
    asked = f"asked: at most {EARLY_S:.0f} s since a cold start"
    remedy = (
        ""
        if since is not None and since <= EARLY_S
        else "Let the engine go cold, take the picture about 90 s after the start, and give `since_start`."
    )
    given = "nothing about the start" if since is None else f"{since:.0f} s"
    return Gate(
        "time since a cold start",
        True if since is not None and since <= EARLY_S else None,
        f"{asked}; given: {given}",
        "runner-practice",
        remedy,
    )


def count_gate(count: int, least: float) -> Gate:
    """Three parts allow a difference to be seen but not judged by statistics; the rate of false alarms is stated."""
    scatter = 0.35 * least
    rate = false_alarm(count, 0.35)
    given = (
        f"given: {count}; of sound engines whose runners scatter by {figure(scatter, 'K')} K, {100 * rate:.1f} "
        "% of this size would show one that stands out"
    )
    enough = count >= 4
    return Gate(
        "number of runners",
        True if enough else None,
        f"asked: at least 4 runners of one bank; {given}" + ("" if enough else ", so low confidence"),
        "small-group-simulation",
        "" if enough else "Have every runner of the bank in one picture as a region of its own.",
    )
