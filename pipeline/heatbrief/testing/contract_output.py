"""What a step's output must look like: units, bounds, keys, words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from heatbrief.api import Step, StepOutput
from heatbrief.model.estimate import Estimate
from heatbrief.model.finding import URGENCIES, VERDICTS, Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.thermogram import Thermogram
from heatbrief.registry import Registry

Fault = tuple[str, str]
TEMPERATURES = ("K", "degC", "K/min", "K/h", "K/s")
UNITS = frozenset(
    [
        "1",
        "K",
        "degC",
        "s",
        "min",
        "h",
        "d",
        "a",
        "m",
        "mm",
        "cm",
        "m2",
        "m3",
        "L",
        "g",
        "kg",
        "kg/m3",
        "W",
        "kW",
        "J",
        "kWh",
        "MJ",
        "Pa",
        "hPa",
        "kPa",
        "bar",
        "A",
        "V",
        "ohm",
        "mohm",
        "px",
        "count",
        "deg",
        "um",
        "mK",
        "Hz",
        "lx",
        "ft",
        "in",
        "percent",
    ]
)
"""Units from which those of quantities are built, with "/" and "*"; currencies by their three letters."""
_CURRENCY = re.compile(r"[A-Z]{3}")
_POWER = re.compile(r"(.*[A-Za-z])(-?\d)?$")


def output_faults(step: Step, subject: Any, output: StepOutput, plugins: Registry) -> Iterable[Fault]:
    """Rule and message of everything that is wrong with an output."""
    members = subject if isinstance(subject, tuple) else (subject,)
    pictures = {one.id: one for one in members if isinstance(one, Thermogram)}
    ids = [one.id for one in output.findings] + [one.id for one in output.estimates]
    for twice in sorted({one for one in ids if ids.count(one) > 1}):
        yield "identifiers", f"two results are called {twice!r}"
    for finding in output.findings:
        yield from _finding(step, finding, pictures, plugins)
    for estimate in output.estimates:
        yield from _estimate(estimate, {one.id for one in members if isinstance(one, Finding)} | {""}, plugins)


def _finding(step: Step, one: Finding, pictures: Mapping[str, Thermogram], plugins: Registry) -> Iterable[Fault]:
    if one.check != step.name or one.domain not in plugins.domains:
        yield "names", f"a finding names check {one.check!r} and domain {one.domain!r}"
    if pictures and one.thermogram not in pictures:
        yield "names", f"a finding is on {one.thermogram!r}, which the step was not given"
    if one.verdict not in VERDICTS or one.urgency not in URGENCIES or not 0.0 < one.probability < 1.0:
        yield "verdict", f"{one.verdict!r}, {one.urgency!r} with probability {one.probability!r}"
    if not one.title.strip() or not one.summary.strip():
        yield "words", "a finding without a title or a summary"
    if one.verdict == "normal" and one.actions:
        yield "verdict", "a normal finding asks for actions"
    yield from missing_keys(
        f"finding {one.id}",
        plugins,
        actions=one.actions,
        cautions=one.cautions,
        sources=(*one.sources, *(gate.source for gate in one.gates if gate.source)),
    )
    yield from _quantities(one.measured)
    picture = pictures.get(one.thermogram)
    if picture is not None and picture.scale == "unscaled":
        warm = [name for name, quantity in one.measured.items() if quantity.unit in TEMPERATURES]
        if warm:
            yield "no temperature without a scale", f"{', '.join(warm)} of a picture without a scale"


def _estimate(one: Estimate, findings: set[str], plugins: Registry) -> Iterable[Fault]:
    if one.finding not in findings:
        yield "names", f"an estimate belongs to {one.finding!r}, which is no finding it was given"
    yield from missing_keys(f"estimate {one.id}", plugins, sources=one.sources)
    yield from _quantities(one.quantities)


def _quantities(named: Mapping[str, Any]) -> Iterable[Fault]:
    for name, quantity in named.items():
        if not isinstance(quantity, Quantity):
            yield "bounds", f"{name} is {type(quantity).__name__}, not a Quantity"
        elif not known_unit(quantity.unit):
            yield "units", f"{name} has unit {quantity.unit!r}"
        elif (
            name == "contrast" and quantity.unit in ("K", "count") and quantity.low == quantity.high and quantity.value
        ):
            yield "bounds", "the contrast has no bounds"


def missing_keys(where: str, plugins: Registry, **keys: Iterable[str]) -> Iterable[Fault]:
    """Actions, cautions and sources that are referred to and that no installed plugin offers."""
    for kind, wanted in keys.items():
        for key in dict.fromkeys(wanted):
            if key not in getattr(plugins, kind):
                yield "keys", f"{where} refers to {key!r}, and no installed plugin offers {kind} of that name"


def known_unit(unit: str) -> bool:
    """True for units that results may have, such as "W/m2/K" or "USD/a"."""
    parts = [part for part in re.split(r"[/*· ()]", unit) if part]
    return bool(parts) and all(_known(part) for part in parts)


def _known(part: str) -> bool:
    if part in UNITS or _CURRENCY.fullmatch(part):
        return True
    match = _POWER.match(part)
    return match is not None and match[1] in UNITS
