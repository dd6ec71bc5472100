"""`heatbrief compare BEFORE AFTER`."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import click

from heatbrief.cli import tell
from heatbrief.cli.common import count, out_option
from heatbrief.errors import ExitCode, Problem
from heatbrief.model.comparison import OUTCOMES, Comparison

FOLDER = "compare"
"""Name of the comparison's folder below a property's."""


@click.command("compare")
@click.argument("before", type=click.Path(path_type=Path))
@click.argument("after", type=click.Path(path_type=Path))
@out_option
def command(before: Path, after: Path, out: Path) -> int:
    """Say what became of each finding of BEFORE in AFTER, two published surveys of one property.

    Each is a results.json or the folder that holds it. Writes comparison.json, comparison.csv and a page.
    """
    from heatbrief.compare import compare, read_survey
    from heatbrief.compare.match import GONE
    from heatbrief.compare.page import write_page
    from heatbrief.compare.write import write_comparison

    earlier, later = read_survey(before), read_survey(after)
    comparison = compare(earlier, later)
    folder = out / comparison.before.slug / FOLDER
    write_comparison(comparison, folder)
    page = write_page(comparison, earlier, later, folder)
    click.echo(summary(comparison))
    gone = [pair.before for pair in comparison.pictures if pair.how == GONE and pair.after]
    if gone:
        remedy = "Keep the objects folder beside each results.json, or run the surveys again."
        tell(Problem(", ".join(gone), "pixels-not-compared", "a stored picture is not there", remedy), "not compared")
    click.echo(f"Open {page}")
    return ExitCode.PARTLY_FAILED if gone else ExitCode.DONE


def summary(comparison: Comparison) -> str:
    """The closing words: how many of each outcome, what is not done, and what could not be compared."""
    from heatbrief.compare.rule import label

    found = Counter(label(one.outcome, one.row) for one in comparison.findings)
    parts = ", ".join(f"{found[name]} {name}" for name in (*reversed(OUTCOMES), "in order") if found[name]) or "none"
    lines = [
        f"{comparison.after.name}: {count(len(comparison.findings), 'finding')} followed: {parts}; {len(comparison.new)} new."
    ]
    for one in comparison.findings:
        if one.outcome == "worse":
            lines.append(f"  Worse: {one.title}.")
        elif one.outcome == "not comparable":
            lines.append(
                f"  Not comparable: {one.title}: {one.reason}."
                + (f" Needed: {'; '.join(one.needed)}." if one.needed else "")
            )
    return "\n".join(lines)
