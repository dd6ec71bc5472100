"""`heatbrief compare BEFORE AFTER`."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import click

from heatbrief.cli import tell
from heatbrief.cli.common import count
from heatbrief.cli.options import out_option
from heatbrief.errors import ExitCode, Problem
from heatbrief.model.comparison import OUTCOMES, Comparison
from heatbrief.store.comparison import FOLDER

if TYPE_CHECKING:
    from heatbrief.compare.surveys import Survey


@click.command("compare")
@click.argument("before", type=click.Path(path_type=Path))
@click.argument("after", type=click.Path(path_type=Path))
@out_option
def command(before: Path, after: Path, out: Path) -> int:
    """Say what became of each finding of BEFORE in AFTER, two published surveys of one property.

    Each is a results.json or the folder that holds it. Writes comparison.json, comparison.csv and a page. When AFTER is
    what --out holds, its site is written again with what changed and with the earlier pictures in the viewer.
    """
    from heatbrief.compare import compare, read_survey
    from heatbrief.compare.match import GONE
    from heatbrief.compare.page import write_page
    from heatbrief.compare.write import keep_earlier, write_comparison

    earlier, later = read_survey(before), read_survey(after)
    comparison = compare(earlier, later)
    folder = out / comparison.before.slug / FOLDER
    write_comparison(comparison, folder)
    if earlier.pixels.objects is not None:
        keep_earlier(comparison, earlier.pixels.objects, folder)
    page = write_page(comparison, earlier, later, folder)
    _renew_site(later, out)
    click.echo(summary(comparison))
    gone = [pair.before for pair in comparison.pictures if pair.how == GONE and pair.after]
    if gone:
        remedy = "Keep the objects folder beside each results.json, or run the surveys again."
        tell(Problem(", ".join(gone), "pixels-not-compared", "a stored picture is not there", remedy), "not compared")
    click.echo(f"Open {page}")
    return ExitCode.PARTLY_FAILED if gone else ExitCode.DONE


def _renew_site(later: Survey, out: Path) -> None:
    """Write the site of the later survey again, with the comparison, when it is the one published in `out`."""
    from heatbrief.site.build import MARKER, build_site
    from heatbrief.site.made import FILE as MADE
    from heatbrief.site.publisher import FOLDER as SITE
    from heatbrief.store.comparison import results_digest
    from heatbrief.store.files import sha256_of, sweep
    from heatbrief.store.folders import Folders
    from heatbrief.store.results import FILE, read_results

    folders = Folders(out, later.results.property.slug)
    site, file = folders.published / SITE, folders.published / FILE
    if not (site / MARKER).is_file() or not file.is_file():
        return
    if results_digest(read_results(file)) == results_digest(later.results):
        with folders.lock:
            sweep(folders.published)
            build_site(later.results, folders.objects.root, site, memory=folders.work / MADE, digest=sha256_of(file))


def summary(comparison: Comparison) -> str:
    """The closing words: how many of each outcome, what is not done, and what could not be compared."""
    found = Counter(one.label for one in comparison.findings)
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
