"""What became of one finding: the rows of the rule, from the top."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heatbrief.api.bounds import propagated
from heatbrief.compare import drive
from heatbrief.compare.kinds import SUNNY, Kind, kind_of
from heatbrief.compare.look import Measured, looks
from heatbrief.compare.match import Pair
from heatbrief.compare.measure import measure
from heatbrief.compare.rule import Decision, decide, refused, row
from heatbrief.model.comparison import ComparedFinding
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity

if TYPE_CHECKING:
    from heatbrief.compare.surveys import Survey


@dataclass(frozen=True)
class _Stop:
    """A row that ends the comparison, with words of its own and what would help."""

    row: str
    words: str = ""
    needed: tuple[str, ...] = ()


def follow(finding: Finding, later: Finding | None, pair: Pair, before: Survey, after: Survey) -> ComparedFinding:
    """One finding of the earlier survey in the later one, without amounts."""
    kind = kind_of(finding.check)
    stop = _stopped(finding, later, pair, before, after, kind)
    if stop is not None:
        return _row(finding, later, pair, kind, refused(stop.row), reason=stop.words, needed=stop.needed)
    if finding.verdict == "normal":
        return _row(finding, later, pair, kind, _of_normal(later))
    both = looks(finding, later, pair, before, after)
    if both is None:
        return _row(
            finding,
            later,
            pair,
            kind,
            refused("no place"),
            needed=(f"the region {finding.region!r} drawn in both pictures",),
        )
    found = measure(kind, *both)
    if not isinstance(found, Measured):
        return _row(finding, later, pair, kind, refused(found.row), needed=found.words)
    left = share_left(found.before, found.after, kind)
    if left is None:
        return _row(finding, later, pair, kind, refused("too uncertain"), measured=found)
    outcome = decide(left, kind.edges, later is not None and later.verdict == "defect")
    return _row(finding, later, pair, kind, outcome, measured=found, left=left)


def share_left(before: Quantity, after: Quantity, kind: Kind) -> Quantity | None:
    """After over before with bounds, and the kind's own spread between two surveys; None when nothing is left to divide by."""
    if before.low <= 0.0 <= before.high:
        return None
    ratio = propagated(lambda one, two: two / one, "1", "after over before", one=before, two=after)
    if ratio is None:
        return None
    spread = Quantity.normal(1.0, "1", kind.spread)
    return propagated(lambda one, two: one * two, "1", "after over before", one=ratio, two=spread)


def _stopped(
    finding: Finding, later: Finding | None, pair: Pair, before: Survey, after: Survey, kind: Kind
) -> _Stop | None:
    old, new = pair.before, pair.after
    if finding.verdict == "inconclusive":
        return _Stop("not argued before", needed=finding.next_time)
    if old is None or new is None or new.status == "unreadable":
        return _Stop("picture missing", needed=(f"a picture of {old.title or old.id}" if old else "the picture",))
    if "unscaled" in (old.status, new.status):
        return _Stop("unscaled", needed=("`scale` for both pictures",))
    failed = [gate for gate in (later.gates if later is not None else ()) if gate.passed is False]
    if failed:
        return _Stop(
            "gate failed",
            "; ".join(f"{gate.name}: {gate.reason}" for gate in failed),
            tuple(gate.remedy for gate in failed if gate.remedy),
        )
    then, now = drive.conditions_of(before, old), drive.conditions_of(after, new)
    if kind.key in SUNNY and drive.sun_spoils(then, now):
        return _Stop(
            "gate failed",
            "the sun stood on the surface in one of the surveys",
            ("both surveys without sun on the surface",),
        )
    if "air_leakage" in finding.check and drive.pressures_differ(then, now):
        return _Stop(
            "conditions missing",
            "the pressure a fan made is not the same in both surveys",
            ("the same pressure difference in both surveys",),
        )
    return None


def _of_normal(later: Finding | None) -> Decision:
    if later is not None and later.verdict in ("defect", "suspect"):
        return Decision("worse", later.probability, "newly found", {})
    return Decision("unchanged", 0.9, "in order", {})


def _row(
    finding: Finding,
    later: Finding | None,
    pair: Pair,
    kind: Kind,
    decision: Decision,
    *,
    reason: str = "",
    needed: tuple[str, ...] = (),
    measured: Measured | None = None,
    left: Quantity | None = None,
) -> ComparedFinding:
    rule = row(decision.row)
    place = finding.outline.polygon if finding.outline is not None else ()
    moved = pair.place(place, finding.region) if place and pair.after is not None else ()
    more: dict[str, Any] = (
        {}
        if measured is None
        else {"measure": kind.title, "before": measured.before, "after": measured.after, "evidence": measured.evidence}
    )
    return ComparedFinding(
        finding=finding.id,
        later=later.id if later is not None else "",
        domain=finding.domain,
        check=finding.check,
        title=finding.title,
        room=finding.room,
        region=finding.region,
        picture_before=finding.thermogram,
        picture_after=pair.after.id if pair.after else "",
        outcome=decision.outcome,
        probability=round(decision.probability, 4),
        row=decision.row,
        reason=reason or f"{rule.when}: {rule.why}",
        left=left,
        chances=decision.chances,
        needed=needed,
        verdict_before=finding.verdict,
        verdict_after=later.verdict if later else "",
        urgency=later.urgency if later else finding.urgency,
        polygon=place,
        polygon_after=moved or (),
        **more,
    )
