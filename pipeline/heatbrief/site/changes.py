"""What changed since the last survey: the page, and the earlier pictures for the viewer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from heatbrief.model.comparison import ComparedFinding, Comparison, PicturePair
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import ResultsDocument, ThermogramRecord
from heatbrief.site.context import Data, Site
from heatbrief.site.format import percent_text
from heatbrief.site.page import Page
from heatbrief.site.pictures import read_counts, withheld_in
from heatbrief.site.words import Words
from heatbrief.store.comparison import FOLDER, read_comparison

OBJECTS = "objects"
WHOLE = f"../{FOLDER}/index.html"
"""The page of the comparison itself, beside the site."""
STATES: Mapping[str, str] = {
    "worse": "now",
    "unchanged": "soon",
    "not comparable": "none",
    "better": "watch",
    "repaired": "watch",
    "in order": "none",
}
"""Outcome -> colour of a state; the word always stands beside it."""


@dataclass(frozen=True)
class Earlier:
    """The comparison with an earlier survey and the folder of that survey's pictures.

    linked  whether the page of the comparison lies beside the site
    """

    comparison: Comparison
    objects: Path
    linked: bool

    def pair(self, record: ThermogramRecord) -> PicturePair | None:
        """The earlier picture of the same view, when it can be laid over this one."""
        found = next((one for one in self.comparison.pictures if one.after == record.id), None)
        if found is None or found.earlier is None or record.array is None:
            return None
        sizes = (found.earlier.width, found.earlier.height), (record.array.width, record.array.height)
        return found if sizes[0] == sizes[1] and found.earlier.unit == record.array.unit else None


def earlier_of(results: ResultsDocument, published: Path, site: Path) -> Earlier | None:
    """What `heatbrief compare` left in the folder of a property for these very results. Raises UserError when damaged.

    site  the folder the site will lie in
    """
    comparison = read_comparison(published, results)
    if comparison is None:
        return None
    return Earlier(comparison, published / FOLDER / OBJECTS, (site.parent / FOLDER / "index.html").is_file())


def earlier_counts(earlier: Earlier, pair: PicturePair) -> np.ndarray:
    """Counts of the earlier picture (height, width), moved by whole pixels onto the later one; 0 where there is none,
    and where its surface gave no temperature.
    """
    assert pair.earlier is not None
    counts = read_counts(pair.earlier, earlier.objects)
    if pair.earlier.withheld:
        counts = np.where(withheld_in(pair.earlier), np.uint16(0), counts)
    x, y = (round(one) for one in pair.moved or (0.0, 0.0))
    placed = np.zeros_like(counts)
    height, width = counts.shape
    rows, columns = slice(max(-y, 0), min(height - y, height)), slice(max(-x, 0), min(width - x, width))
    part = counts[max(y, 0) : max(min(height + y, height), 0), max(x, 0) : max(min(width + x, width), 0)]
    if part.size:
        placed[rows, columns] = part
    return placed


def changes_page(site: Site, earlier: Earlier) -> Page:
    """changes.html"""
    comparison, words = earlier.comparison, site.words
    shown = [one for one in comparison.findings if one.row != "in order"]
    counts = Counter(one.label for one in comparison.findings)
    data: Data = {
        "lead": words.say(
            "changes.lead",
            before=comparison.before.date or words.say("changes.unstated"),
            after=comparison.after.date or words.say("changes.unstated"),
        ),
        "counts": [
            {"urgency": STATES[name], "text": words.count(f"changes.counts.{name}", counts[name])}
            for name in STATES
            if counts[name]
        ],
        "rows": [_row(site, one) for one in shown],
        "new": [
            {**site.finding_link(one.finding), "badge": site.badge(site.finding_by_id[one.finding])}
            for one in comparison.new
            if one.finding in site.finding_by_id
        ],
        "whole": WHOLE if earlier.linked else "",
        "pictures": [
            site.link("thermograms", one.id, site.picture_name(one.id))
            for one in site.results.thermograms
            if one.id in site.values_of and earlier.pair(one) is not None
        ],
    }
    return Page("changes.html", "changes.html", words.say("sections.changes"), "changes.html", data)


def _row(site: Site, one: ComparedFinding) -> Data:
    sure = one.probability and site.words.say("changes.sure", percent=percent_text(one.probability))
    title = (
        site.finding_link(one.later) if one.later in site.finding_by_id else {"text": site.prose(one.title), "url": ""}
    )
    return {
        **title,
        "place": " · ".join(dict.fromkeys(part for part in (one.room, one.region) if part)),
        "state": STATES[one.label],
        "word": site.words.say(f"changes.outcome.{one.label}"),
        "sure": sure or "",
        "reason": site.prose(one.reason),
        "needed": [site.prose(line) for line in one.needed],
        "measure": site.prose(one.measure),
        "before": _shown(site, one.before),
        "after": _shown(site, one.after),
        "left": left_text(one.left, site.words),
    }


def _shown(site: Site, quantity: Quantity | None) -> str:
    return "" if quantity is None else str(site.quantity(quantity)["value"])


def left_text(left: Quantity | None, words: Words) -> str:
    """ "18 % of what it was (9 to 27 % fits the readings)"; "" without a number."""
    if left is None:
        return ""
    value, low, high = (f"{round(100 * max(one, 0.0))}" for one in (left.value, left.low, left.high))
    return words.say("changes.left", value=value, low=low, high=high)
