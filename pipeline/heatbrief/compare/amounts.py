"""Energy, water and money: what the earlier survey promised a year, and the part of it that is gone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from heatbrief.api.bounds import propagated
from heatbrief.model.comparison import ComparedFinding
from heatbrief.model.finding import Finding
from heatbrief.model.quantity import Quantity, total
from heatbrief.model.results import ResultsDocument

AMOUNTS = ("yearly_energy", "yearly_water", "yearly_cost", "yearly_emissions")


def amounts(
    row: ComparedFinding, finding: Finding, later: Finding | None, before: ResultsDocument, after: ResultsDocument
) -> ComparedFinding:
    """The row with what was promised, and, where the outcome is known, what of it is realised and what the later survey still states."""
    promised = stated(finding.id, before)
    realised = {}
    if row.left is not None and row.outcome != "not comparable":
        for name, amount in promised.items():
            gone = propagated(
                lambda amount, left: amount * (1.0 - left),
                amount.unit,
                "promised amount times the share that is gone",
                amount=amount,
                left=row.left,
            )
            if gone is not None:
                realised[name] = gone
    return replace(
        row, promised=promised, realised=realised, remaining=stated(later.id, after) if later is not None else {}
    )


def stated(finding: str, results: ResultsDocument) -> dict[str, Quantity]:
    """The yearly amounts of a finding, as its estimates state them."""
    found: dict[str, Quantity] = {}
    for estimate in results.estimates:
        if estimate.finding == finding:
            found.update(
                {name: one for name, one in estimate.quantities.items() if name in AMOUNTS and name not in found}
            )
    return found


def totals(
    rows: tuple[ComparedFinding, ...], before: ResultsDocument
) -> tuple[dict[str, Quantity], dict[str, Quantity]]:
    """Sums of promised and realised amounts over the rows with both; findings of one cause count once, by their largest amount."""
    shares = {one.id: one.shares or one.id for one in before.findings}
    sums: tuple[dict[str, Quantity], dict[str, Quantity]] = ({}, {})
    for name in AMOUNTS:
        best: dict[str, ComparedFinding] = {}
        for row in rows:
            cause = shares.get(row.finding, row.finding)
            if (
                name in row.promised
                and name in row.realised
                and _amount(row.promised, name) > _amount(best[cause].promised if cause in best else {}, name)
            ):
                best[cause] = row
        if len({row.promised[name].unit for row in best.values()}) == 1:
            for kept, of in zip(sums, ("promised", "realised"), strict=True):
                amount = total(
                    (getattr(row, of)[name] for row in best.values()), "sum of the findings that could be compared"
                )
                if amount is not None:
                    kept[name] = amount
    return sums


def _amount(quantities: Mapping[str, Quantity], name: str) -> float:
    return quantities[name].value if name in quantities else float("-inf")
