"""Reads two published surveys and follows every finding of the earlier one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

from heatbrief import __version__
from heatbrief.compare.amounts import amounts, totals
from heatbrief.compare.follow import follow
from heatbrief.compare.match import Pair, later_finding, pair_pictures
from heatbrief.compare.pixels import Pixels
from heatbrief.compare.rule import RULE
from heatbrief.errors import UserError
from heatbrief.model.comparison import (
    FORMAT,
    OUTCOMES,
    ComparedFinding,
    Comparison,
    NewFinding,
    PicturePair,
    SurveySide,
)
from heatbrief.model.finding import URGENCIES
from heatbrief.model.results import ResultsDocument
from heatbrief.store.arrays import stored_values
from heatbrief.store.comparison import results_digest
from heatbrief.store.results import FILE, read_results

OBJECTS = "objects"


@dataclass(frozen=True)
class Survey:
    """A published survey: its document and the pictures kept beside it."""

    results: ResultsDocument
    pixels: Pixels = field(compare=False)


def read_survey(path: Path) -> Survey:
    """A survey from its results.json or the folder that holds it. Raises UserError."""
    file = path / FILE if path.is_dir() else path
    return Survey(read_results(file), Pixels(file.parent / OBJECTS))


def compare(before: Survey, after: Survey) -> Comparison:
    """What became of each finding of `before` in `after`. Raises UserError when the two are of different properties."""
    one, two = before.results, after.results
    if one.property.slug != two.property.slug:
        raise UserError.single(
            "other-property",
            two.property.name,
            f"is another property than {one.property.name!r}",
            "Name two surveys of one property; its name must be the same in both manifests.",
        )
    pairs = pair_pictures(before, after)
    rows = tuple(sorted(_followed(before, after, pairs), key=_order))
    matched = {row.later for row in rows}
    promised, realised = totals(rows, one)
    return Comparison(
        FORMAT,
        _side(one),
        _side(two),
        tuple(_with_earlier(pair, before) for pair in pairs.values()),
        rows,
        tuple(_new(two, matched)),
        promised,
        realised,
        RULE,
        __version__,
        one.property.invented or two.property.invented,
        two.survey.units,
        two.survey.language,
    )


def _followed(before: Survey, after: Survey, pairs: dict[str, Pair]) -> Iterable[ComparedFinding]:
    taken: set[str] = set()
    for finding in before.results.findings:
        pair = pairs.get(finding.thermogram) or Pair(
            PicturePair(finding.thermogram, "", None, "the earlier picture is not listed"), None, None
        )
        later = later_finding(finding, after.results, pair, taken)
        if later is not None:
            taken.add(later.id)
        yield amounts(follow(finding, later, pair, before, after), finding, later, before.results, after.results)


def _with_earlier(pair: Pair, before: Survey) -> PicturePair:
    """The pair with the values of the earlier picture, when they are there and lie on the later picture."""
    old, new, objects = pair.before, pair.after, before.pixels.objects
    if old is None or new is None or old.array is None or new.array is None or objects is None:
        return pair.record
    if pair.record.moved is None or old.array.unit != new.array.unit or stored_values(old.array, objects) is None:
        return pair.record
    return replace(pair.record, earlier=old.array, taken=old.taken)


def _order(row: ComparedFinding) -> tuple[bool, int, int, str]:
    return row.row == "in order", OUTCOMES.index(row.outcome), URGENCIES.index(row.urgency), row.finding


def _side(results: ResultsDocument) -> SurveySide:
    info = results.property
    return SurveySide(
        info.name,
        info.slug,
        results.survey.date,
        results.survey.manifest,
        results_digest(results),
        results.conditions,
    )


def _new(results: ResultsDocument, matched: set[str]) -> Iterable[NewFinding]:
    for one in results.findings:
        if one.verdict in ("defect", "suspect") and one.id not in matched:
            yield NewFinding(one.id, one.title, one.domain, one.room, one.region, one.verdict, one.urgency)
