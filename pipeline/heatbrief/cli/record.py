"""What a run leaves for other programs: a log of JSON lines, a summary for a merge request."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import IO, Any

from heatbrief import __version__
from heatbrief.cli.since import changes_lines
from heatbrief.engine.plausible import CODE as STRANGE
from heatbrief.engine.run import RunReport
from heatbrief.errors import Problem, UserError
from heatbrief.model.changes import Changes
from heatbrief.model.finding import URGENCIES
from heatbrief.model.results import ResultsDocument
from heatbrief.store.files import write_atomic, writing


def problems_of(results: ResultsDocument) -> tuple[Problem, ...]:
    """What failed in a run, as problems."""
    name = results.property.name
    return tuple(
        Problem(f"{name}: {one.source}", one.code, one.message, one.remedy)
        for one in results.not_analysed
        if one.failed
    )


def warnings_of(results: ResultsDocument) -> tuple[Problem, ...]:
    """What was analysed and cannot be right."""
    name = results.property.name
    found = (one for one in results.not_analysed if one.code == STRANGE)
    return tuple(Problem(f"{name}: {one.source}", one.code, one.message, one.remedy) for one in found)


class Log:
    """JSON lines in a file, each with the time, an event and its facts. Without a path nothing is written."""

    def __init__(self, path: Path | None) -> None:
        self.path = path
        self.stream: IO[str] | None = None

    def __enter__(self) -> Log:
        if self.path is not None:
            with writing(self.path):
                self.path.parent.mkdir(parents=True, exist_ok=True)
                self.stream = self.path.open("w", encoding="utf-8", newline="\n")
            self.write("start", heatbrief=__version__)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if isinstance(error, UserError):
            for problem in error.problems:
                self.problem(problem)
        if error is not None:
            self.write("stopped", kind=type(error).__name__)
        if self.stream is not None:
            self.stream.close()

    def write(self, event: str, **facts: Any) -> None:
        """One line, at once in the file."""
        if self.stream is None:
            return
        assert self.path is not None
        now = datetime.now(UTC).isoformat(timespec="milliseconds")
        with writing(self.path):
            self.stream.write(
                json.dumps({"time": now, "event": event, **facts}, ensure_ascii=False, sort_keys=True) + "\n"
            )
            self.stream.flush()

    def problem(self, problem: Problem, kind: str = "error") -> None:
        """A problem with its code, which `heatbrief explain` knows."""
        self.write(
            "problem", kind=kind, code=problem.code, where=problem.where, message=problem.message, remedy=problem.remedy
        )

    def report(self, report: RunReport) -> None:
        """What came of one property."""
        results = report.results
        for problem in problems_of(results):
            self.problem(problem, "not analysed")
        for warning in warnings_of(results):
            self.problem(warning, "warning")
        self.write(
            "property",
            property=results.property.name,
            pictures=len(results.thermograms),
            computed=report.computed,
            reused=report.reused,
            changed=report.changed,
            findings=_counts(results),
            failed=len(problems_of(results)),
            folder=str(report.plan.folders.published),
        )


def write_summary(path: Path, reports: Sequence[RunReport], changes: Sequence[Changes] = ()) -> None:
    """A summary in Markdown, short enough for a comment on a merge request."""
    lines = [
        "## Repair brief",
        "",
        f"| property | pictures | {' | '.join(URGENCIES)} | failed |",
        f"| --- | --- |{' --- |' * (len(URGENCIES) + 1)}",
    ]
    for report in reports:
        results, counts = report.results, _counts(report.results)
        numbers = " | ".join(str(counts[level]) for level in URGENCIES)
        lines.append(
            f"| {_cell(results.property.name)} | {len(results.thermograms)} | {numbers} | {len(problems_of(results))} |"
        )
    for one in changes:
        lines += ["", f"### {_cell(one.name)}: what changed", ""]
        lines += [f"- {_cell(line)}" for line in changes_lines(one)]
    for report in reports:
        lines += _first(report.results)
    write_atomic(path, ("\n".join(lines) + "\n").encode("utf-8"))


MOST = 10
"""Entries of each list in a summary."""


def _first(results: ResultsDocument) -> list[str]:
    """The plan's first entries, and what failed."""
    lines = []
    if results.plan:
        lines += ["", f"### {_cell(results.property.name)}: what to do first", ""]
        lines += [
            f"{number}. {_cell(item.title)} ({item.urgency}; {_cell(item.who)})"
            for number, item in enumerate(results.plan[:MOST], 1)
        ]
    strange = warnings_of(results)
    if strange:
        lines += ["", f"### {_cell(results.property.name)}: cannot be right", ""]
        lines += [f"- `{one.code}` {_cell(one.where)}: {_cell(one.message)}" for one in strange[:MOST]]
        lines += [f"- and {len(strange) - MOST} more"] if len(strange) > MOST else []
    failed = problems_of(results)
    if failed:
        lines += ["", f"### {_cell(results.property.name)}: not analysed", ""]
        lines += [f"- `{one.code}` {_cell(one.where)}: {_cell(one.message)}" for one in failed[:MOST]]
        lines += [f"- and {len(failed) - MOST} more"] if len(failed) > MOST else []
    return lines


def _counts(results: ResultsDocument) -> dict[str, int]:
    return {level: sum(one.urgency == level for one in results.findings) for level in URGENCIES}


def _cell(text: str) -> str:
    """Text that Markdown and HTML show and never read as markup."""
    clean = " ".join(str(text).split()).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return "".join(f"\\{one}" if one in "\\`*_[]|#!~@" else one for one in clean)
