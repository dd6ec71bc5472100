"""`--since`: the last report read before a run writes over it, and what changed told afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from heatbrief.errors import UserError
from heatbrief.model.changes import ChangedFinding, Changes, FindingState
from heatbrief.model.results import ResultsDocument
from heatbrief.store.results import FILE, read_results

FOLDER = "since"
"""Name of the folder below a property's."""
MOST = 10
"""Lines of each kind; the page has all."""


def earlier_reports(path: Path | None) -> Mapping[str, ResultsDocument]:
    """The documents below a path, by the slug of their property. Raises UserError when the path is not there."""
    if path is None:
        return {}
    if not path.exists():
        raise UserError.single(
            "results-missing",
            path,
            "is not there",
            "Name the folder of an earlier report after --since; for a first report make an empty one.",
        )
    files = [path] if path.is_file() else [path / FILE] if (path / FILE).is_file() else sorted(path.glob(f"*/{FILE}"))
    documents = [read_results(file) for file in files]
    return {one.property.slug: one for one in documents}


def what_changed(
    earlier: Mapping[str, ResultsDocument], done: Sequence[ResultsDocument], out: Path
) -> tuple[Changes, ...]:
    """The changes of each property, written into `out/<property>/since/`."""
    from heatbrief.compare.since import changes_since, first_report
    from heatbrief.compare.since_page import write_changes

    found = []
    for results in done:
        before = earlier.get(results.property.slug)
        changes = first_report(results) if before is None else changes_since(before, results)
        write_changes(changes, out / results.property.slug / FOLDER)
        found.append(changes)
    return tuple(found)


def changes_lines(changes: Changes) -> list[str]:
    """The lines of a summary."""
    if changes.first:
        return [f"{changes.name}: first report, nothing to compare with."]
    if not changes.any:
        return [f"{changes.name}: nothing changed since the last report ({changes.before})."]
    counts = f"{len(changes.new)} new, {len(changes.gone)} gone, {len(changes.changed)} changed"
    lines = [
        f"{changes.name}, since the last report ({changes.before}): findings {counts}; inputs {len(changes.inputs)} changed."
    ]
    lines += [f"  New: {_said(one)}" for one in changes.new[:MOST]]
    lines += [f"  Gone: {_said(one)}" for one in changes.gone[:MOST]]
    lines += [f"  Changed: {_moved(one)}" for one in changes.changed[:MOST]]
    lines += [f"  Input: {one.kind} {one.name}" for one in changes.inputs[:MOST]]
    return lines


def _moved(one: ChangedFinding) -> str:
    what = ", ".join(name.removeprefix("measured ") for name in one.what)
    if (one.before.urgency, one.before.verdict) == (one.now.urgency, one.now.verdict):
        return f"{_said(one.now)}: {what}"
    return f"{_said(one.before)}, now {one.now.urgency}, {one.now.verdict}: {what}"


def _said(one: FindingState) -> str:
    return f"{one.title} ({one.urgency}, {one.verdict})"
