"""Each kind of field in the JSON Schema, in the keywords of draft 2020-12, with what it must let through and refuse."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any, ClassVar, Literal

import jsonschema
import pytest
from heatbrief.api import Domain, FactSpec, Step, setting
from heatbrief.manifest.jsonschema import json_schema
from heatbrief.model import Quantity


@dataclass(frozen=True)
class Inner:
    """Part of something.

    More."""

    SHORTHAND: ClassVar[str] = "name"

    name: str = setting(help="its name")


@dataclass(frozen=True)
class Outer:
    """Another part."""

    size: int = setting(1, help="its size")


@dataclass(frozen=True)
class Probe:
    """One field of every kind."""

    needed: int = setting(help="needed")
    text: str = setting("a", help="words", example="b")
    notes: str = setting("", help="notes")
    path: Path | None = setting(None, help="path", example="a.csv")
    flag: bool = setting(True, help="flag")
    whole: int = setting(3, low=1, high=9, help="whole")
    number: float = setting(2.5, positive=True, high=9, help="number")
    length: float = setting(0.5, unit="m", help="length", example="2 m")
    warm: Quantity | None = setting(None, unit="degC", help="warm")
    rise: Quantity | None = setting(None, unit="K", help="rise", example="5 K")
    share: Quantity | None = setting(None, unit="1", low=0, high=1, help="share")
    price: Quantity | None = setting(None, help="price")
    choice: Literal["x", 2] = setting("x", help="choice", example="x")
    either: int | str | None = setting(None, help="either")
    pair: tuple[int, str] | None = setting(None, help="pair")
    words: tuple[str, ...] = setting((), help="words", example="[a]")
    numbers: tuple[float, ...] = setting((), help="numbers")
    by_name: Mapping[str, float] = setting(factory=dict, help="by name")
    anything: Mapping[str, Any] = setting(factory=dict, help="anything")
    inner: Inner | None = setting(None, help="inner")
    inners: tuple[Inner, ...] = setting((), help="inners")
    outer: Outer | None = setting(None, help="outer")
    outers: tuple[Outer, ...] = setting((), help="outers")
    tongue: str = setting("en", names="language", help="tongue")
    kind: str = setting("", names="domain", help="kind")
    free: Any = setting(None, help="free")
    with_: str = setting("", help="a key that Python keeps")


def run(*_):
    """Never called."""


FACTS = (
    FactSpec("load", "current", "A", example="3 A"),
    FactSpec("side", "which", None, ("left", "right")),
    FactSpec("seen", "", None),
)
REGISTRY = SimpleNamespace(
    steps={
        "pool.probe": Step("pool.probe", "detect", 1, run, Probe, "probes", facts=FACTS),
        "pool.other": Step("pool.other", "detect", 1, run, facts=(FactSpec("load", "power", "W"),)),
    },
    publishers={},
    domains={key: Domain(key, key, key) for key in ("pool", "barn")},
)


@functools.cache
def schema():
    return json_schema(REGISTRY)


def field(name):
    return schema()["$defs"]["step.pool.probe"]["properties"][name]


@pytest.fixture(autouse=True)
def _fresh():
    yield
    schema.cache_clear()


@pytest.mark.parametrize(
    ("name", "valid", "invalid"),
    [
        ("needed", [1, -5], [1.5, "1", None, True]),
        ("text", ["", "x" * 2000, None], ["x" * 2001, 1]),
        ("notes", ["x" * 20_000, None], ["x" * 20_001]),
        ("path", ["a/b.csv", None], [1]),
        ("flag", [True, False, None], ["true", 1]),
        ("whole", [1, 9, None], [0, 10, 1.5]),
        ("number", [0.1, 9, None], [0, 9.1, "1"]),
        ("length", ["2 m", "1..2 ft", None], [2, "2", "m"]),
        (
            "warm",
            ["20 degC", "-3 °F ± 1 K", "−3 degC", "24 ± 1 degC (k=2)", None],
            [20, "20", "1 .. 2", "1 K ± 2 K ± 3 K", "1 ± 2"],
        ),
        ("share", [0, 1, 0.5, "45 %", "45 ± 3 %", "0.9 +- 0.1 (k=2)", None], [1.1, -0.1, "45 m", "x"]),
        ("price", ["0.16 USD/kWh", "3 /m3", "90 EUR", None], [3, "3", "three"]),
        ("choice", ["x", 2, None], ["y", "2"]),
        ("either", [1, "a", None], [1.5, []]),
        ("pair", [[1, "a"], None], [[1], [1, "a", 2], ["a", 1], "a"]),
        ("words", [["a"], [], "a", None], [[1], 1]),
        ("numbers", [[1.5, 2], [], None], [["a"], 1.5, "a"]),
        ("by_name", [{"a": 1.5, "b": None}, {}, None], [{"a": "b"}, [], "a"]),
        ("anything", [{"a": [1, "x"]}, None], ["a", []]),
        ("inner", [{"name": "a"}, "a", None], [{}, {"name": 1}, "", {"name": "a", "more": 1}]),
        ("inners", [[{"name": "a"}, "b"], "a", None], [[1], {"name": "a"}]),
        ("outer", [{"size": 2}, {}, {"size": None}, None], ["a", {"name": "a"}]),
        ("outers", [[{}], None], ["a", {}, [1]]),
        ("tongue", ["en", "de", None], ["xx"]),
        ("kind", ["pool", "barn", None], ["roof"]),
        ("free", [1, "a", [], None], []),
        ("with", ["a", None], [1]),
    ],
)
def test_what_each_kind_of_field_lets_through(name, valid, invalid):
    check = jsonschema.Draft202012Validator({**field(name), "$defs": schema()["$defs"]})
    assert [one for one in valid if not check.is_valid(one)] == [] and [
        one for one in invalid if check.is_valid(one)
    ] == []


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("text", {"description": "words", "examples": ["b"], "default": "a"}),
        ("notes", {"description": "notes"}),
        ("path", {"description": "path", "examples": ["a.csv"]}),
        ("flag", {"description": "flag", "default": True}),
        ("whole", {"description": "whole", "default": 3, "minimum": 1, "maximum": 9}),
        ("number", {"default": 2.5, "exclusiveMinimum": 0, "maximum": 9}),
        ("length", {"description": "length; a number with its unit, read in m", "examples": ["2 m"], "default": 0.5}),
        ("warm", {"description": "warm; a temperature with its unit", "examples": ["1 degC"]}),
        ("rise", {"description": "rise; a difference of temperatures with its unit", "examples": ["5 K"]}),
        ("price", {"examples": ["0.16 USD/kWh"]}),
        ("choice", {"default": "x"}),
        ("inner", {"description": "inner"}),
        ("pair", {"minItems": 2, "maxItems": 2}),
    ],
)
def test_what_editors_show(name, parts):
    found = field(name)
    assert {key: found.get(key) for key in parts} == parts
    for key in ("default", "examples"):
        assert (key in found) is (key in parts)


def test_lists_and_choices_have_no_example():
    assert "examples" not in field("words") and "examples" not in field("choice")
    assert schema()["$defs"]["step.pool.probe"]["required"] == ["needed"]
    assert "required" not in schema()["$defs"][f"{__name__}.Outer"]
    assert schema()["$defs"][f"{__name__}.Outer"]["description"] == "Another part."
    assert schema()["$defs"][f"{__name__}.Inner"]["anyOf"][0]["description"] == "Part of something."


def survey(**more):
    return {"format": 1, "property": "x", "thermograms": [{"file": "a.tiff", **more.pop("picture", {})}], **more}


@pytest.mark.parametrize(
    ("given", "fits"),
    [
        (survey(), True),
        (survey(thermograms=[]), False),
        (survey(currency="EUR"), True),
        (survey(currency="EURO"), False),
        (survey(picture={"id": "a-b"}), True),
        (survey(picture={"id": "a-"}), False),
        (survey(picture={"id": "a" * 41}), False),
        (survey(picture={"facts": {"load": "3 A", "side": "left", "seen": True}}), True),
        (survey(picture={"facts": {"load": None}}), True),
        (survey(picture={"facts": {"load": 3}}), False),
        (survey(picture={"facts": {"side": "up"}}), False),
        (survey(picture={"facts": {"other": "x"}}), False),
        (survey(picture={"regions": [{"name": "r", "facts": {"side": "up"}}]}), False),
        (survey(settings={"pool.probe": {"needed": 1}}), True),
        (survey(settings={"pool.probe": {}}), False),
        (survey(settings={"pool.probe": None}), True),
        (survey(settings={"pool.none": {}}), False),
        (survey(stages={"detect": "pool.probe"}), True),
        (survey(stages={"detect": ["pool.probe", {"use": "pool.probe", "with": {"needed": 1}}]}), True),
        (survey(stages={"detect": [{"use": "pool.probe", "with": {"needed": "x"}}]}), False),
        (survey(stages={"detect": [{"use": "pool.probe", "with": None, "on": {"room": "x", "shows": None}}]}), True),
        (survey(stages={"detect": [{"use": "pool.probe", "on": {"rom": "x"}}]}), False),
        (survey(stages={"detect": None, "estimate": []}), True),
        (survey(stages={"estimate": ["pool.probe"]}), False),
        (survey(inspect=["pool"]), True),
        (survey(inspect=["roof"]), False),
    ],
)
def test_places_with_rules_of_their_own(given, fits):
    assert jsonschema.Draft202012Validator(schema()).is_valid(given) is fits


def test_a_fact_that_two_steps_read_has_both_meanings():
    facts = schema()["$defs"]["ThermogramEntry"]["anyOf"][0]["properties"]["facts"]["properties"]
    assert [one.get("description", "").partition(";")[0] for one in facts["load"]["anyOf"][:2]] == ["power", "current"]
    assert facts["side"]["anyOf"][0] == {"enum": ["left", "right"], "description": "which"}
    assert facts["seen"]["type"] == ["string", "boolean", "number", "null"] and facts["seen"]["description"] == ""
    detect = schema()["properties"]["stages"]
    assert (
        detect
        and schema()["$defs"]["StagesEntry"]["properties"]["detect"]["anyOf"][0]["items"]["anyOf"][1]["properties"][
            "use"
        ]["description"]
        == "pool.probe: probes"
    )
