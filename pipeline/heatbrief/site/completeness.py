"""Which items that published practices ask of a report are given in the results, in part, or not at all."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Literal

from heatbrief_site import resource

from heatbrief.model.results import ResultsDocument, ThermogramRecord
from heatbrief.site.context import Data, Site
from heatbrief.site.words import plain_yaml

State = Literal["given", "partly", "missing"]
DOMAIN = "envelope"
"""The practices are about surveys of building envelopes."""


@functools.cache
def report_items() -> tuple[Mapping[str, Any], ...]:
    """The items in their order, each with the practices that ask for it and our mark."""
    return tuple(plain_yaml(resource("data/report_items.yaml").read_text("utf-8"))["items"])


def completeness(site: Site) -> Data | None:
    """The items as table rows with counts; None when no building envelope was inspected."""
    if DOMAIN not in site.results.survey.inspected:
        return None
    words, rows = site.words, []
    for item in report_items():
        state = CHECKS[item["id"]](site.results)
        rows.append(
            {
                "text": words.say(f"completeness.items.{item['id']}"),
                "state": {"given": "passed", "partly": "unknown", "missing": "failed"}[state],
                "word": words.say(f"completeness.{state}"),
                "asked": _asked(site, item["asked"]),
            }
        )
    states = [CHECKS[item["id"]](site.results) for item in report_items()]
    lead = words.say(
        "completeness.lead",
        given=states.count("given"),
        partly=states.count("partly"),
        missing=states.count("missing"),
        all=len(states),
    )
    return {"rows": rows, "lead": lead}


def _asked(site: Site, asked: Mapping[str, str]) -> list[Data]:
    """Practices by our mark, so that each mark is said once."""
    say = site.words.say
    return [
        {
            "mark": say(f"completeness.marks.{mark}"),
            "practices": ", ".join(say(f"completeness.practices.{key}") for key, own in asked.items() if own == mark),
        }
        for mark in dict.fromkeys(asked.values())
    ]


def _of(*facts: object) -> State:
    """Given when all facts are there, partly when some are."""
    known = [bool(one) for one in facts]
    return "given" if all(known) else "partly" if any(known) else "missing"


def _at_most_partly(*facts: object) -> State:
    """For items of which heatbrief records only a part."""
    return "partly" if any(facts) else "missing"


def _analysed(results: ResultsDocument) -> list[ThermogramRecord]:
    return [one for one in results.thermograms if one.status == "analysed"]


def _each(results: ResultsDocument, has: Callable[[ThermogramRecord], object]) -> State:
    return _of(*(has(one) for one in _analysed(results))) if _analysed(results) else "missing"


def _conditions(results: ResultsDocument, *names: str) -> State:
    """Conditions of the survey, or of every analysed picture."""
    return _of(*(_condition(results, name) for name in names))


def _condition(results: ResultsDocument, name: str) -> bool:
    records = _analysed(results)
    return name in results.conditions or bool(records and all(name in one.conditions for one in records))


def _any_condition(results: ResultsDocument, name: str) -> bool:
    return name in results.conditions or any(name in one.conditions for one in results.thermograms)


def _open(results: ResultsDocument) -> Iterable[Any]:
    return [one for one in results.findings if one.verdict in ("defect", "suspect")]


CHECKS: Mapping[str, Callable[[ResultsDocument], State]] = {
    "standard": lambda results: "missing",
    "client": lambda results: _of(results.property.client, results.property.address),
    "surveyor": lambda results: _at_most_partly(results.property.surveyor, results.survey.date),
    "construction": lambda results: _at_most_partly(
        *(region.material for one in results.thermograms for region in one.regions)
    ),
    "moments": lambda results: _each(results, lambda one: one.taken),
    "air": lambda results: _conditions(results, "inside_air", "outside_air"),
    "outside_before": lambda results: _at_most_partly(_condition(results, "outside_air")),
    "sun": lambda results: _conditions(results, "sun", "hours_without_sun"),
    "rain": lambda results: _conditions(results, "hours_without_rain"),
    "wind": lambda results: _at_most_partly(_condition(results, "wind")),
    "pressure": lambda results: _of(_any_condition(results, "pressure_difference")),
    "orientation": lambda results: "missing",
    "emissivity": lambda results: _each(results, lambda one: "emissivity" in one.settings),
    "reflected": lambda results: _each(results, lambda one: "reflected" in {*one.settings, *results.conditions}),
    "instrument": lambda results: _at_most_partly(*(one.settings.get("band") for one in results.thermograms)),
    "positions": lambda results: _at_most_partly(*(one.visible or one.room for one in results.thermograms)),
    "pictures": lambda results: _each(results, lambda one: one.array is not None and one.visible),
    "parts": lambda results: _of(results.thermograms),
    "defects": lambda results: _of(
        True, *(one.outline is not None and (one.room or one.region) for one in _open(results))
    ),
    "reasons": lambda results: _of(True, *(one.rivals or one.gates for one in _open(results))),
    "supplementary": lambda results: "missing",
    "influences": lambda results: _of(_condition(results, "hours_steady"), results.survey.notes),
    "deviations": lambda results: "missing",
    "limits": lambda results: "given",
    "grade": lambda results: "missing",
    "further": lambda results: _of(
        any(one.kind == "check" for one in results.plan) or any(one.next_time for one in results.findings)
    ),
    "priority": lambda results: "given",
}
"""Item -> what the results hold of it. What heatbrief has no place for is missing: the owner adds it on paper."""
