"""Sentences about the whole plan: English with the code and the values that another language needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from heatbrief.model.quantity import Quantity
from heatbrief.model.said import Said

SENTENCES: Mapping[str, str] = {
    "verdicts": "Defects by the stated rule: {defect}. Suspected: {suspect}. Still open: {inconclusive}. "
    "Checked and in order: {normal}.",
    "saving": "Everything on the plan together saves {amount}, if the findings are what they seem.",
    "cost": "Everything on the plan together costs {amount}.",
    "doubt": "Most of the doubt about the saving comes from one input: {first}.",
    "doubts": "Most of the doubt about the saving comes from two inputs: {first}; {second}.",
    "no-saving": "No saving in money is stated; what is missing for it stands with each finding.",
    "failed": "Inputs or checks that failed: {count}. What they would have shown is not known.",
    "example-prices": "Costs come from the example price book that ships with heatbrief; they are not offers. "
    "Ask for offers, or state your own prices.",
    "counted-once": "Every cause is counted once. Inputs that findings share, such as a price or the season, are drawn "
    "once for all.",
    "unpriced": "Without a price: {titles}.",
    "net-of": "The net present value is that of repairs, other than for safety, whose saving and cost are both known.",
    "alone": "Each input moves alone; all others stay at their best value.",
    "budget-for": "For the budget: {titles}.",
    "budget-none": "Nothing is chosen: nothing for safety or urgent fits the budget, and no saving within it pays its "
    "cost.",
    "budget-later": "Left for later: {titles}.",
    "budget-unpriced": "Cannot be placed, because no price is known: {titles}.",
    "budget-rule": "Chosen for safety first, then for what is urgent, then for the largest net present value; nothing "
    "without what has to come before it.",
    "bill-unclear": "The bill of {fuel} could not be brought to kWh or m3 a year.",
    "bill-share": "The findings together claim {share} of the {fuel} on the bill.",
    "bill-beyond": "The findings together claim {share} of the {fuel} on the bill: {claimed} of {billed}. At least one "
    "of them is too large, or the bill is not that of this property.",
}
"""By code. The site has the same sentences in its languages."""


@dataclass(frozen=True)
class Sentence:
    """English text and what it says."""

    text: str
    said: Said


def sentence(code: str, **values: Quantity | str) -> Sentence:
    """The sentence of that code with its values filled in."""
    words = {
        name: amount(one, percent=name == "share") if isinstance(one, Quantity) else one for name, one in values.items()
    }
    return Sentence(SENTENCES[code].format(**words), Said(code, values))


def texts(sentences: Sequence[Sentence]) -> tuple[str, ...]:
    """The English of several sentences."""
    return tuple(one.text for one in sentences)


def saids(sentences: Sequence[Sentence]) -> tuple[Said, ...]:
    """The codes of several sentences."""
    return tuple(one.said for one in sentences)


def amount(quantity: Quantity, percent: bool = False) -> str:
    """ "9.6 to 14 USD a year (95 % probability)": two digits of each bound; an exact amount by itself."""
    unit = quantity.unit.replace("/a", " a year")
    if percent:
        return f"{two_digits(100.0 * quantity.value)} %"
    if quantity.low == quantity.high:
        return f"{two_digits(quantity.value, 3)} {unit}"
    chance = two_digits(100.0 * quantity.coverage)
    return f"{two_digits(quantity.low)} to {two_digits(quantity.high)} {unit} ({chance} % probability)"


def two_digits(value: float, digits: int = 2) -> str:
    """A number with so many significant digits and no exponent."""
    return f"{Decimal(f'{value:.{digits}g}'):,f}"
