"""The order of work: safety first, then urgency, then value, and nothing before what it depends on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heatbrief.model.action import Action
from heatbrief.model.finding import URGENCIES, Finding

BEFORE_CLOSING = ("dry", "seal")


def dependencies(wanted: Mapping[str, Sequence[Finding]], actions: Mapping[str, Action]) -> dict[str, tuple[str, ...]]:
    """Action -> actions on the plan that come first: as its plugin says, and in one room drying and sealing before
    closing."""
    stated = {key: [before for before in actions[key].after if before in wanted and before != key] for key in wanted}
    rooms = {key: {one.room for one in findings if one.room} for key, findings in wanted.items()}
    for key in wanted:
        if actions[key].role != "close":
            continue
        for other in wanted:
            if actions[other].role in BEFORE_CLOSING and rooms[key] & rooms[other] and not _leads(other, key, stated):
                stated[key].append(other)
    return {key: tuple(dict.fromkeys(before)) for key, before in stated.items()}


def _leads(start: str, goal: str, after: Mapping[str, Sequence[str]]) -> bool:
    """Whether an action depends on another one, directly or through others."""
    seen, todo = set(), [start]
    while todo:
        one = todo.pop()
        if one == goal:
            return True
        if one not in seen:
            seen.add(one)
            todo.extend(after.get(one, ()))
    return False


def ordered(
    wanted: Mapping[str, Sequence[Finding]],
    after: Mapping[str, Sequence[str]],
    actions: Mapping[str, Action],
    value: Mapping[str, float],
) -> list[str]:
    """Best first; what another action depends on takes over its rank. A ring of dependencies is broken at the best
    one."""
    rank = {key: (not actions[key].safety, _urgency(wanted[key]), -value.get(key, 0.0), key) for key in wanted}
    pulled = dict(rank)
    for key in sorted(wanted, key=rank.__getitem__):
        todo, seen = list(after[key]), {key}
        while todo:
            before = todo.pop()
            if before not in seen:
                seen.add(before)
                pulled[before] = min(pulled[before], rank[key])
                todo.extend(after[before])
    left, order = sorted(wanted, key=lambda key: (pulled[key], rank[key])), []
    while left:
        waiting = set(left)
        ready = next((key for key in left if not waiting.intersection(after[key])), left[0])
        order.append(ready)
        left.remove(ready)
    return order


def _urgency(findings: Sequence[Finding]) -> int:
    return min((URGENCIES.index(one.urgency) for one in findings), default=len(URGENCIES))
