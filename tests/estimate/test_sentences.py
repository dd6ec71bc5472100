"""Amounts in sentences: two digits of each bound, as the rules of rounding in the trade have it (common practice)."""

from __future__ import annotations

import pytest
from heatbrief.estimate.sentences import amount, saids, sentence, texts, two_digits
from heatbrief.model import Quantity

exact = Quantity.exact


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (1234.0, 2, "1,200"),
        (1234.0, 3, "1,230"),
        (9.64, 2, "9.6"),
        (0.0, 2, "0"),
        (-0.0567, 2, "-0.057"),
        (99.6, 2, "100"),
        (1.0e7, 2, "10,000,000"),
    ],
)
def test_significant_digits_without_exponent(value, digits, text):
    assert two_digits(value, digits) == text


def test_two_are_the_usual_ones():
    assert two_digits(1234.0) == "1,200"


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        (Quantity(12.0, "USD/a", 9.64, 14.1), "9.6 to 14 USD a year (95 % probability)"),
        (Quantity(12.0, "kWh/a", 9.0, 14.0, 0.5), "9 to 14 kWh a year (50 % probability)"),
        (exact(1234.4, "USD"), "1,230 USD"),
        (exact(20.0, "m3/a"), "20 m3 a year"),
    ],
)
def test_an_amount_in_words(quantity, text):
    assert amount(quantity) == text


def test_a_share_is_in_percent_and_nothing_else_is():
    assert amount(exact(1.234, "1"), percent=True) == "120 %"
    told = sentence("bill-share", share=exact(0.25, "1"), fuel="gas")
    assert told.text == "The findings together claim 25 % of the gas on the bill."
    assert told.said.code == "bill-share" and told.said.values["share"].value == 0.25
    cost = sentence("cost", amount=exact(0.25, "USD"))
    assert cost.text == "Everything on the plan together costs 0.25 USD."
    assert texts([told, cost]) == (told.text, cost.text) and saids([told, cost]) == (told.said, cost.said)
