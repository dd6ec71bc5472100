"""Single values by the type that is wanted: what is taken, what is refused with which code, and what to write."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import pytest
from heatbrief.api import setting
from heatbrief.manifest.bind import Binder
from heatbrief.manifest.nodes import Problems
from heatbrief.manifest.reader import parse_yaml
from heatbrief.manifest.scalars import BROKEN
from heatbrief.model import Quantity


class Plants:
    """Names of one kind."""

    def accepts(self, text):
        return text == "fern"

    def remedy(self, text):
        return f"not {text}"


@dataclass(frozen=True)
class Probe:
    text: str = setting("", help="h", example="like so")
    notes: str = setting("", help="h")
    plant: str = setting("", help="h", names="plant")
    material: str = setting("", help="h", names="material")
    other: str = setting("", help="h", names="stone")
    flag: bool = setting(False, help="h")
    whole: int = setting(0, help="h", low=-5, high=10**14)
    number: float = setting(0.0, help="h")
    above: float = setting(1.0, help="h", positive=True)
    most: float = setting(1.0, help="h", positive=True, high=5)
    below: float = setting(1.0, help="h", high=5)
    least: float = setting(1.0, help="h", low=0.1234567)
    length: float = setting(1.0, help="h", unit="m", low=0, high=10)
    warm: Quantity | None = setting(None, help="h", unit="degC")
    rise: Quantity | None = setting(None, help="h", unit="K", low=0, high=20)
    area: Quantity | None = setting(None, help="h", unit="m2", positive=True)
    price: Quantity | None = setting(None, help="h")
    choice: Literal["usual", "strict"] = setting("usual", help="h")
    level: Literal[1, 2] = setting(1, help="h")
    path: Path | None = setting(None, help="h")


def read(text, safe=None):
    """The value of the only key, and what is wrong as (code, message, remedy)."""
    problems = Problems()
    binder = Binder(problems, {"plant": Plants(), "material": Plants()}, "EUR", safe)
    found = binder.bind(parse_yaml(text + "\n", "survey.yaml", problems), Probe, "probe")
    told = [(one.code, one.message, one.remedy) for one in problems.sorted()]
    return (None if found is BROKEN else getattr(found, text.partition(":")[0])), told


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("text: yes", "yes"),
        ("text: 012", "012"),
        ("text: '  a '", "  a "),
        ("text: " + "x" * 2000, "x" * 2000),
        ("notes: " + "x" * 20_000, "x" * 20_000),
        ("notes: |\n  a\n  b", "a\nb\n"),
        ("text: |\n  a", "a"),
        ("plant: fern", "fern"),
        ("plant: ''", ""),
        ("other: anything", "anything"),
        ("flag: true", True),
        ("flag: True", True),
        ("flag: false", False),
        ("whole: -5", -5),
        ("whole: +7", 7),
        ("whole: 100000000000000", 10**14),
        ("number: 1.5e3", 1500.0),
        ("number: .5", 0.5),
        ("number: -2", -2.0),
        ("above: 1e-9", 1e-9),
        ("length: 10 m", 10.0),
        ("length: 0 ft", 0.0),
        ("warm: -273.15 degC", Quantity.exact(-273.15, "degC")),
        ("area: 3 m2", Quantity.exact(3.0, "m2")),
        ("price: 3 /kWh", Quantity.exact(3.0, "EUR/kWh")),
        ("choice: strict", "strict"),
        ("choice: 'strict'", "strict"),
        ("level: 2", 2),
        ("path: a/b.csv", Path("a/b.csv")),
    ],
    ids=lambda one: str(one)[:30],
)
def test_what_is_taken(text, value):
    found, told = read(text)
    assert found == value and (not told or value is None)


@pytest.mark.parametrize(
    ("text", "code", "message", "remedy"),
    [
        ("text: [a]", "wrong-type", "text must be text, got a list", 'such as text: "like so"'),
        ("notes: {a: b}", "wrong-type", "notes must be text, got a mapping", 'such as notes: "…"'),
        ("text: " + "x" * 2001, "text-too-long", "2001 characters; at most 2000", "Shorten"),
        ("notes: " + "x" * 20_001, "text-too-long", "at most 20000", "Shorten"),
        ('text: "a\\nb"', "control-character", "'\\n'", "one line"),
        ('text: "a\\tb"', "control-character", "'\\t'", "one line"),
        ('text: "a\\x07b"', "control-character", "'\\x07'", "Remove it"),
        ('notes: "a\\x07b"', "control-character", "'\\x07'", "Remove it"),
        ("plant: oak", "unknown-name", "'oak' is not a known plant", "not oak"),
        ("material: oak", "unknown-material", "'oak' is not a known material", "not oak"),
        ("flag: yes", "wrong-type", "true or false, got 'yes'", "Write true."),
        ("flag: off", "wrong-type", "true or false, got 'off'", "Write false."),
        ("flag: 'true'", "wrong-type", "got the text 'true'", "without quotes"),
        ("flag: 1", "wrong-type", "true or false, got '1'", "Write true or false"),
        ("flag: [a]", "wrong-type", "got a list", "Write true or false"),
        ("whole: 1.5", "wrong-type", "a whole number, got '1.5'", "Write digits"),
        ("whole: '3'", "wrong-type", "a whole number, got the text '3'", "without quotes"),
        ("whole: 007", "wrong-type", "a whole number", "without leading zeros"),
        ("whole: 1000000000000000", "wrong-type", "a whole number", "Write digits"),
        ("whole: -6", "out-of-range", "from -5 to 1e+14, got '-6'", "Check"),
        ("number: 1_000", "wrong-type", "a number, got '1_000'", "Write digits"),
        ("number: .inf", "wrong-type", "a number, got '.inf'", "finite number"),
        ("number: .NaN", "wrong-type", "a number", "finite number"),
        ("number: 1e999", "wrong-type", "a finite number", "smaller"),
        ("number: '3'", "wrong-type", "a number", "without quotes"),
        ("number: " + "1" * 41, "wrong-type", "a number", "Write digits"),
        ("number: []", "wrong-type", "a number, got a list", "Write digits"),
        ("above: 0", "out-of-range", "above must be above 0, got '0'", "Check"),
        ("most: 6", "out-of-range", "most must be above 0 and at most 5, got", "Check"),
        ("below: 6", "out-of-range", "below must be at most 5, got", "Check"),
        ("least: 0.1", "out-of-range", "least must be at least 0.123457, got", "Check"),
        ("length: 11 m", "out-of-range", "from 0 to 10 m, got '11 m'", "Check"),
        ("length: 3", "bad-quantity", "length: '3' has no unit", '"3 m"'),
        ("warm: -274 degC", "out-of-range", "at least -273.15 degC", "Check"),
        ("warm: [a]", "wrong-type", "a number with a unit, got a list", '"1 degC"'),
        ("price: [a]", "wrong-type", "a number with a unit, got a list", '"0.16 USD/kWh"'),
        ("area: 0 m2", "out-of-range", "area must be above 0", "Check"),
        ("choice: loose", "unknown-choice", "one of: usual, strict; got 'loose'", "Write one of"),
        ("choice: strickt", "unknown-choice", "one of: usual, strict", "Did you mean strict?"),
        ("choice: [strict]", "wrong-type", "one of: usual, strict, got a list", ""),
        ("level: '2'", "unknown-choice", "one of: 1, 2; got the text '2'", ""),
        ("level: 3", "unknown-choice", "one of: 1, 2; got '3'", "Write one of: 1, 2."),
    ],
    ids=lambda one: str(one)[:30],
)  # fmt: skip
def test_what_is_refused(text, code, message, remedy):
    _, told = read(text)
    assert [one[0] for one in told] == [code] and message in told[0][1] and remedy in told[0][2]


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("rise: 1 K ± 2 K", 0.0, 3.0),
        ("rise: 19 K ± 2 K", 17.0, 20.0),
        ("rise: 10 K ± 15 K", 0.0, 20.0),
        ("rise: 5 K ± 2 K", 3.0, 7.0),
        ("area: 1 m2 ± 2 m2", 0.0, 3.0),
        ("warm: -272 degC ± 3 K", -273.15, -269.0),
    ],
)
def test_bounds_are_cut_at_what_can_be(text, low, high):
    found, told = read(text)
    assert not told and (found.low, found.high) == pytest.approx((low, high)) and found.coverage == 0.95


def test_a_path_that_is_not_safe_is_refused_by_who_judges_it():
    seen = []

    def judge(binder, node, name, text):
        seen.append((name, text))
        return text != "../x"

    assert read("path: ../x", judge)[0] is None and read("path: x", judge)[0] == Path("x")
    assert seen == [("path", "../x"), ("path", "x")] and repr(BROKEN) == "BROKEN"
