"""The closing words of a run: what was done, what to do first, where the site is."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from heatbrief.cli.common import count
from heatbrief.engine.run import RunReport
from heatbrief.model.finding import URGENCIES
from heatbrief.model.results import ResultsDocument


def summary(reports: Sequence[RunReport], page: Path, out: Path) -> str:
    """The text for all properties of a run."""
    blocks = [_property(report) for report in reports]
    return "\n".join([*blocks, f"Open {page}"])


def _property(report: RunReport) -> str:
    results = report.results
    state = (
        "nothing to compute, all results reused"
        if report.computed == 0 and not report.plan.stale
        else (f"{count(report.computed, 'job')} computed, {report.reused} reused")
    )
    lines = [
        f"{results.property.name}: {count(len(results.thermograms), 'picture')}, {findings_line(results)}; {state}."
    ]
    if results.property.invented:
        lines.append("  This property is invented, for demonstration.")
    lines.extend(f"  First: {item.title} ({item.who})." for item in results.plan[:1])
    failed = [one for one in results.not_analysed if one.failed]
    if failed:
        lines.append(
            f"  {count(len(failed), 'input or step')} failed; the site lists them under what was not analysed."
        )
    return "\n".join(lines)


def findings_line(results: ResultsDocument) -> str:
    """ "3 findings (1 now, 2 plan)"."""
    found = results.findings
    counts = [f"{number} {level}" for level in URGENCIES if (number := sum(one.urgency == level for one in found))]
    return f"{count(len(found), 'finding')} ({', '.join(counts)})" if found else "no findings"
