"""What changed since an earlier report, from the two documents alone. Whether a place is better is `compare`'s to say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from heatbrief import __version__
from heatbrief.compare.match import Pair, later_finding
from heatbrief.model.changes import FORMAT, ChangedFinding, ChangedInput, Changes, FindingState
from heatbrief.model.comparison import PicturePair
from heatbrief.model.finding import URGENCIES, Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import ResultsDocument, ThermogramRecord

RANK: Mapping[str, int] = {name: number for number, name in enumerate(URGENCIES)}
LEAST_CHANCE = 0.05
"""A probability that moved by less is not worth a line (our choice)."""
SHORT = 12
"""Hexadecimal digits of a digest that tell one file from another for a reader."""


def first_report(now: ResultsDocument) -> Changes:
    """The changes where there is no earlier report: none that could be told."""
    return _changes(None, now)


def changes_since(before: ResultsDocument, now: ResultsDocument) -> Changes:
    """What is new, gone and changed in `now`, most urgent first, and which inputs are others."""
    pairs = dict(_paired(before, now))
    kept = {one.id for one in pairs.values() if one is not None}
    rows = _changed(before, pairs)
    gone = [one for one in before.findings if pairs[one.id] is None]
    return _changes(
        before,
        now,
        new=_states([one for one in now.findings if one.id not in kept]),
        gone=_states(gone),
        changed=tuple(sorted(rows, key=lambda row: _order(row.now))),
        inputs=tuple(_inputs(before, now)),
    )


def _changes(before: ResultsDocument | None, now: ResultsDocument, **found: Any) -> Changes:
    said = "" if before is None else before.survey.date or before.survey.manifest
    return Changes(
        FORMAT,
        now.property.name,
        now.property.slug,
        said,
        now.survey.date or now.survey.manifest,
        heatbrief=__version__,
        invented=now.property.invented,
        language=now.survey.language,
        **found,
    )


def _paired(before: ResultsDocument, now: ResultsDocument) -> Iterator[tuple[str, Finding | None]]:
    """Each earlier finding's id with the later one: the same place by its outline, else the same id."""
    late = {one.id: one for one in now.thermograms}
    pictures = {one.id: _pair(one, late.get(one.id)) for one in before.thermograms}
    by_id = {one.id: one for one in now.findings}
    taken: set[str] = set()
    for finding in before.findings:
        pair = pictures.get(finding.thermogram)
        found = later_finding(finding, now, pair, taken) if pair is not None else None
        same = by_id.get(finding.id)
        if found is None and same is not None and same.id not in taken and pair is None:
            found = same  # a finding of several pictures, or of none
        if found is not None:
            taken.add(found.id)
        yield finding.id, found


def _pair(old: ThermogramRecord, new: ThermogramRecord | None) -> Pair:
    moved = (0.0, 0.0) if new is not None and (old.width, old.height) == (new.width, new.height) else None
    return Pair(PicturePair(old.id, "" if new is None else new.id, moved, "by its name"), old, new)


def _changed(before: ResultsDocument, pairs: Mapping[str, Finding | None]) -> Iterator[ChangedFinding]:
    for old in before.findings:
        new = pairs[old.id]
        if new is not None and (what := tuple(_differences(old, new))):
            yield ChangedFinding(_state(old), _state(new), what)


def _differences(old: Finding, new: Finding) -> Iterator[str]:
    """What a reader would call another answer: other words, or a number beyond the bounds it had."""
    for name in ("verdict", "urgency"):
        if getattr(old, name) != getattr(new, name):
            yield name
    if abs(old.probability - new.probability) >= LEAST_CHANCE:
        yield "probability"
    for name in sorted(set(old.measured) & set(new.measured)):
        one, two = old.measured[name], new.measured[name]
        if one.unit == two.unit and not (one.low <= two.value <= one.high or two.low <= one.value <= two.high):
            yield f"measured {name}"


def _inputs(before: ResultsDocument, now: ResultsDocument) -> Iterator[ChangedInput]:
    yield from _listed("release", {"heatbrief": before.run.heatbrief}, {"heatbrief": now.run.heatbrief})
    yield from _listed("survey", _survey(before), _survey(now))
    yield from _listed("shared", _shared(before), _shared(now))
    yield from _listed("picture", _pictures(before), _pictures(now))
    yield from _listed("condition", _facts(before.conditions), _facts(now.conditions))
    yield from _listed("step", _steps(before), _steps(now))


def _listed(kind: Any, old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[ChangedInput]:
    for name in sorted({*old, *new}):
        if old.get(name, "") != new.get(name, ""):
            yield ChangedInput(kind, name, old.get(name, ""), new.get(name, ""))


def _survey(one: ResultsDocument) -> dict[str, str]:
    return {"inspect": ", ".join(one.survey.inspected), "date": one.survey.date, "notes": one.survey.notes}


def _shared(one: ResultsDocument) -> dict[str, str]:
    return {file.path: file.sha256[:SHORT] for file in one.survey.shared}


def _pictures(one: ResultsDocument) -> dict[str, str]:
    return {picture.source: f"{picture.status}, {picture.sha256[:SHORT]}" for picture in one.thermograms}


def _steps(one: ResultsDocument) -> dict[str, str]:
    """Steps by name, with version, settings and plugin; one that is used twice has both."""
    found: dict[str, list[str]] = {}
    for step in one.run.steps:
        settings = ", ".join(f"{name} {value}" for name, value in sorted(step.settings.items()))
        found.setdefault(step.name, []).append(f"version {step.version}" + (f": {settings}" if settings else ""))
    return {name: "; ".join(sorted(texts)) for name, texts in found.items()}


def _facts(facts: Mapping[str, Quantity | str]) -> dict[str, str]:
    return {
        name: value if isinstance(value, str) else f"{value.value:g} {value.unit} ({value.low:g} to {value.high:g})"
        for name, value in facts.items()
    }


def _states(findings: Iterable[Finding]) -> tuple[FindingState, ...]:
    return tuple(sorted(map(_state, findings), key=_order))


def _state(one: Finding) -> FindingState:
    place = " · ".join(filter(None, dict.fromkeys((one.room, one.thermogram, one.region))))
    return FindingState(one.id, one.title, place, one.verdict, one.urgency, one.probability)


def _order(one: FindingState) -> tuple[int, str]:
    return RANK[one.urgency], one.finding
