"""What every finding takes in a year, with one set of draws for all, and which of it counts in a sum."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from heatbrief.estimate.causes import causes
from heatbrief.estimate.terms import Yearly, drawn, terms_of, yearly
from heatbrief.model.costs import MoneyFacts
from heatbrief.model.estimate import Estimate, Term
from heatbrief.model.finding import Finding

YEARLY = ("yearly_energy", "yearly_water", "yearly_cost", "yearly_emissions")


@dataclass(frozen=True)
class Counted:
    """One loss that enters sums: the finding it is taken from, its terms, and its kind ("energy" or "water")."""

    finding: Finding
    terms: tuple[Term, ...]
    kind: str


@dataclass(frozen=True)
class Consequences:
    """All estimates with their yearly figures, and the losses that are counted, each cause once.

    cause_of  finding id -> id that stands for its cause, for findings that are defects or suspects
    """

    estimates: tuple[Estimate, ...]
    counted: tuple[Counted, ...]
    cause_of: Mapping[str, str]

    @property
    def terms(self) -> tuple[Term, ...]:
        """All counted terms."""
        return tuple(term for one in self.counted for term in one.terms)


def consequences(findings: Sequence[Finding], estimates: Sequence[Estimate], money: MoneyFacts) -> Consequences:
    """Yearly figures for every estimate, and of each cause the largest loss of energy and of water.

    Findings that share a cause say in a note with which other one they are counted.
    """
    found = {one.id: one for one in findings if one.verdict in ("defect", "suspect")}
    cause_of = causes(tuple(found.values()), money.costs.same_cause)
    terms = {one.id: terms_of(one, money) for one in estimates}
    largest = _largest(estimates, terms, cause_of, money)
    shown = tuple(_shown(one, terms[one.id], largest, cause_of, money) for one in estimates)
    counted = tuple(
        Counted(found[one.finding], tuple(term for term in terms[one.id] if kind_of(term) == kind), kind)
        for (_, kind), one in largest.items()
    )
    return Consequences(shown, counted, cause_of)


def kind_of(term: Term) -> str:
    """Energy, or water; a sum of money stands with energy."""
    return "water" if term.unit == "m3/a" else "energy"


def _largest(
    estimates: Sequence[Estimate], terms: Mapping[str, Sequence[Term]], cause_of: Mapping[str, str], money: MoneyFacts
) -> dict[tuple[str, str], Estimate]:
    """(cause, kind) -> the estimate with the largest cost, or amount where nothing is priced; the first of equal
    ones."""
    found: dict[tuple[str, str], tuple[tuple[float, float], Estimate]] = {}
    for one in estimates:
        if one.finding not in cause_of:
            continue
        for kind in ("energy", "water"):
            mine = [term for term in terms[one.id] if kind_of(term) == kind]
            if not mine:
                continue
            size = (_best(yearly(mine, money).money), _best(mine))
            key = (cause_of[one.finding], kind)
            if key not in found or size > found[key][0]:
                found[key] = (size, one)
    return {key: one for key, (_, one) in found.items()}


def _best(terms: Sequence[Term]) -> float:
    return sum(drawn(one).best for one in terms)


def _shown(
    one: Estimate,
    terms: Sequence[Term],
    largest: Mapping[tuple[str, str], Estimate],
    cause_of: Mapping[str, str],
    money: MoneyFacts,
) -> Estimate:
    """The estimate as published: its figures from the common draws, and a note when another one is counted instead."""
    if not terms:
        return one
    kept = {name: value for name, value in one.quantities.items() if name not in YEARLY}
    given = yearly(terms, money)
    figures = given.quantities("yearly_cost", money.currency)
    if given == Yearly():
        return one
    others = {
        largest[key].finding
        for term in terms
        if (key := (cause_of.get(one.finding, ""), kind_of(term))) in largest and largest[key].id != one.id
    }
    notes = tuple(
        f"Counted once in sums, with `{other}`, which describes the same cause."
        for other in sorted(others - {one.finding})
    )
    return replace(one, quantities=kept | figures, notes=(*one.notes, *notes), terms=())
