"""Sentences of checks and plugins as a page sets them: units with their signs. The owner's words stay as they are."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from heatbrief.model.results import ResultsDocument
from heatbrief.site.format import THIN

_ALONE: Mapping[str, str] = {
    "K*d": "K·d",
    "K d": "K·d",
    "W/(m2 K)": "W/(m²·K)",
    "W/(m2*K)": "W/(m²·K)",
    "W/m2/K": "W/(m²·K)",
    "Wh/m2": "Wh/m²",
    "kWh/m2": "kWh/m²",
    "W/m2": "W/m²",
    "m2 K/W": "m²·K/W",
    "m2*K/W": "m²·K/W",
    "cal/cm2": "cal/cm²",
    "degC": "°C",
    "degF": "°F",
}
_AFTER_NUMBER: Mapping[str, str] = {
    "m2": "m²",
    "cm2": "cm²",
    "mm2": "mm²",
    "ft2": "ft²",
    "in2": "in²",
    "m3": "m³",
    "cm3": "cm³",
    "ft3": "ft³",
    "um": "µm",
    "+-": "±",
}
"""Too short to be sure of anywhere but behind a number."""


def _either(words: Iterable[str]) -> str:
    return "|".join(re.escape(one) for one in sorted(words, key=lambda one: (-len(one), one)))


_UNITS = re.compile(
    rf"(?<![\w/.])(?P<alone>{_either(_ALONE)})(?![\w/])"
    rf"|(?P<number>\d[ \u00a0]?)(?P<after>{_either(_AFTER_NUMBER)})(?!\w|\*| K/W)"
)


def typeset(text: str, own_words: re.Pattern[str] | None = None) -> str:
    """ "0.34 m2 at 12 degC" as "0.34 m² at 12 °C", except within the owner's own words."""
    if own_words is None:
        return _UNITS.sub(_typeset, text)
    parts = own_words.split(text)
    return "".join(part if index % 2 else _UNITS.sub(_typeset, part) for index, part in enumerate(parts))


def _typeset(found: re.Match[str]) -> str:
    if found["alone"]:
        return _ALONE[found["alone"]]
    return found["number"] + _AFTER_NUMBER[found["after"]]


def own_words(results: ResultsDocument) -> re.Pattern[str] | None:
    """The names and notes a document has from its owner, as far as setting units could change them."""
    info, survey = results.property, results.survey
    given = {info.name, info.address, info.client, info.surveyor, survey.notes}
    for record in results.thermograms:
        given |= {record.id, record.title, record.room, record.source}
        for region in record.regions:
            given |= {region.name, region.shows, region.room, region.material}
    given |= {one for one in results.conditions.values() if isinstance(one, str)}
    at_risk = [one for one in given if one and typeset(f"1 {one}") != f"1 {one}"]
    return re.compile(f"({_either(at_risk)})") if at_risk else None


_FIGURE = re.compile(r"(?<![\w.])(?<!table )(?<!Tabelle )([+\-\u2212]?\d+)\.(\d+)(?!\.?\d)")
_NUMBER_FIRST = re.compile(r"[+\-\u2212±]?\d")
LONGEST_FIGURE = 40
_QUOTED = re.compile(r"(\"[^\"]*\"|“[^”]*”|„[^“]*“)")
_RANGE = re.compile(r"(?<=\d) to (?=[+\-\u2212]?\d)")


def point_numerals(text: str, names: Mapping[str, Any]) -> str:
    """Decimal signs within a translated sentence; what stands in quotation marks is a name and stays as it is."""
    if names["decimal"] == ".":
        return text
    parts = _QUOTED.split(_RANGE.sub(f" {names['words'].get('to', 'to')} ", text))
    return "".join(part if at % 2 else _FIGURE.sub(rf"\1{names['decimal']}\2", part) for at, part in enumerate(parts))


def figures(text: str, names: Mapping[str, Any]) -> str:
    """A short text that starts with a number, as numerals; other English as it is."""
    return numerals(text, names) if len(text) <= LONGEST_FIGURE and _NUMBER_FIRST.match(text) else text


def numerals(text: str, names: Mapping[str, Any]) -> str:
    """Numbers with their units in another language; `names` is the part "numbers" of its sentences."""
    if names["decimal"] != ".":
        text = re.sub(r"(?<=\d),(?=\d{3})", THIN, text)
        text = re.sub(r"(?<=\d)\.(?=\d)", names["decimal"], text)
    for english, word in names["words"].items():
        if english != word:
            text = re.sub(rf"(?<!\w){re.escape(english)}(?!\w)", word, text)
    return text
