"""Conditions that published practices ask for, as gates: passed, failed, or not known, with numbers and what would
help.

Where practices contradict, the default takes the stricter limit; `rule_set` names one practice instead. Two limits
are decisions
marked in `gates.yaml`: load from 40 % (not 75 %) and spots from 3 pixels (not 10); "strictest" takes the strictest
there too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from heatbrief.detect.case import Case
from heatbrief.detect.words import number, said
from heatbrief.errors import StepError
from heatbrief.model.finding import Gate
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import SourceRecord

MARKS = ("seen", "memory", "computed", "common practice")


@dataclass(frozen=True)
class Rule:
    """What one practice asks of one condition. `value` is in the gate's unit; `per_u_value` / U may raise it."""

    gate: str
    purposes: tuple[str, ...]
    rule_set: str
    value: float
    source: str
    mark: str
    decision: bool = False
    per_u_value: float | None = None


@dataclass(frozen=True)
class GateKind:
    """One condition: its title, unit, whether the limit is "at least" or "at most", and what to do about it."""

    name: str
    title: str
    unit: str
    limit: str
    given: str
    remedy: str


@lru_cache(maxsize=1)
def _table() -> Mapping[str, Any]:
    import yaml

    result: Mapping[str, Any] = yaml.load(
        resources.files("heatbrief.detect").joinpath("gates.yaml").read_text(encoding="utf-8"),
        getattr(yaml, "CSafeLoader", yaml.SafeLoader),
    )
    return result


@lru_cache(maxsize=1)
def gate_kinds() -> Mapping[str, GateKind]:
    """Every gate by name."""
    return {name: GateKind(name, **entry) for name, entry in _table()["gates"].items()}


@lru_cache(maxsize=1)
def gate_rules() -> tuple[Rule, ...]:
    """Every limit with the practice that asks for it."""
    return tuple(
        Rule(**{**entry, "purposes": tuple(entry["purposes"]), "value": float(entry["value"])})
        for entry in _table()["rules"]
    )


def gate_sources() -> tuple[SourceRecord, ...]:
    """The practices behind the gates, for a plugin to offer."""
    return tuple(SourceRecord(key, entry["text"], entry["mark"]) for key, entry in sorted(_table()["sources"].items()))


def rule_sets(purpose: str = "") -> tuple[str, ...]:
    """Names that `rule_set` may take, "default" and "strictest" first."""
    names = {
        rule.rule_set for rule in gate_rules() if not purpose or purpose in rule.purposes or "any" in rule.purposes
    }
    return ("default", "strictest", *sorted(names))


def rule_for(gate: str, purpose: str, rule_set: str = "default") -> Rule:
    """The limit that applies. A named practice that says nothing about this gate leaves the default in force.

    Raises StepError for an unknown rule set and ValueError for a gate that no practice asks for with this purpose.
    """
    if rule_set not in rule_sets():
        raise StepError(
            "unknown-rule-set", f"there is no rule set {rule_set!r}", f"Use one of {', '.join(rule_sets(purpose))}."
        )
    kind = gate_kinds().get(gate)
    rules = [rule for rule in gate_rules() if rule.gate == gate and purpose in rule.purposes]
    rules = rules or [rule for rule in gate_rules() if rule.gate == gate and "any" in rule.purposes]
    if kind is None:
        raise ValueError(f"there is no gate {gate!r}; gates: {', '.join(gate_kinds())}")
    if not rules:
        known = sorted({one for rule in gate_rules() if rule.gate == gate for one in rule.purposes})
        raise ValueError(
            f"no practice asks for the gate {gate!r} with the purpose {purpose!r}; with: {', '.join(known)}"
        )
    named = [rule for rule in rules if rule.rule_set == rule_set]
    decided = [rule for rule in rules if rule.decision] if rule_set != "strictest" else []
    asks_more = kind.limit == "at least"
    return min(
        named or decided or rules,
        key=lambda rule: (-rule.value if asks_more else rule.value, MARKS.index(rule.mark), rule.rule_set),
    )


def survey_gates(case: Case, names: Iterable[str]) -> tuple[Gate, ...]:
    """The named gates for a case, in the order asked."""
    return tuple(survey_gate(case, name) for name in names)


def survey_gate(case: Case, name: str) -> Gate:
    """One gate. It passes or fails only when the whole interval of the given value does; else it is not known."""
    rule, kind = rule_for(name, case.purpose, case.rule_set), gate_kinds()[name]
    limit = _limit(case, rule)
    asked = (
        f"{kind.limit} {number(limit, kind.unit)}"
        if not (name == "sun" and limit == 0)
        else "no sun on the surface now"
    )
    asked += f" ({rule.rule_set})"
    remedy = (
        kind.remedy.format(limit=number(limit, kind.unit))
        if not (name == "sun" and limit == 0)
        else ("Survey with no sun on the surface and give `sun`.")
    )
    passed, given = _sun(case, limit) if name == "sun" else _compared(_GIVEN[name](case), kind, limit)
    reason = f"asked: {asked}; given: {given or 'nothing about ' + kind.given}"
    reason += _remark(case, name, passed)
    return Gate(kind.title, passed, reason, rule.source, "" if passed else remedy)


def _limit(case: Case, rule: Rule) -> float:
    """The rule's limit, raised to per_u_value / U when the heat transfer coefficient of the part is known (EN
    13187)."""
    u_value = case.number("u_value")
    if rule.per_u_value is None or not u_value:
        return rule.value
    return max(rule.value, rule.per_u_value / u_value)


def _compared(value: Quantity | None, kind: GateKind, limit: float) -> tuple[bool | None, str]:
    if value is None:
        return None, ""
    low_ok, high_ok = (
        (value.low >= limit, value.high >= limit)
        if kind.limit == "at least"
        else (value.high <= limit, value.low <= limit)
    )
    return (True if low_ok else None if high_ok else False), said(value)


def _sun(case: Case, limit: float) -> tuple[bool | None, str]:
    sun, hours = case.conditions.sun, case.conditions.hours_without_sun
    if sun in ("direct", "low"):
        return False, f"{sun} sun on the surface"
    if hours is None:
        return (
            True if sun == "none" and limit == 0 else None
        ), "no sun now, the time without it not given" if sun == "none" else ""
    passed, given = _compared(hours, gate_kinds()["sun"], limit)
    return passed, f"{given} without sun"


def _remark(case: Case, name: str, passed: bool | None) -> str:
    """What the reader should know even when the gate passes."""
    if name == "load" and passed:
        share = _load(case)
        return "; low load, an extrapolation to full load is wide" if share and share.value < 0.5 else ""
    if name == "spot" and passed and case.area is not None and case.area.width < 10:
        return "; below 10 pixels a temperature still reads somewhat toward its surroundings"
    return ""


def _difference(case: Case) -> Quantity | None:
    given = case.conditions.difference
    return None if given is None else _magnitude(given)


def _magnitude(given: Quantity) -> Quantity:
    low, high = max(given.low, -given.high, 0.0), max(-given.low, given.high)
    return Quantity(abs(given.value), given.unit, low, high, given.coverage, given.method)


def _load(case: Case) -> Quantity | None:
    share = case.number("load share")
    if share is None:
        load, rated = case.number("load"), case.number("rated")
        share = load / rated if load is not None and rated is not None and rated > 0 else None
    return None if share is None or share < 0 else Quantity.exact(share, "1", "load over rating")


def _spot(case: Case) -> Quantity | None:
    if case.area is not None:
        return case.area.across
    sides = case.subject.shape
    if case.region is not None:
        x0, y0, x1, y1 = case.region.bounding_box(*case.subject.shape)
        sides = (x1 - x0, y1 - y0)
    return Quantity.exact(min(sides), "px", "least side of the region")


def _emissivity(case: Case) -> Quantity | None:
    return None if case.emissivity is None else Quantity.exact(case.emissivity, "1", "emissivity")


def _pressure(case: Case) -> Quantity | None:
    given = case.conditions.pressure_difference
    return None if given is None else _magnitude(given)


_GIVEN: Mapping[str, Callable[[Case], Quantity | None]] = {
    "difference": _difference,
    "steady": lambda case: case.conditions.hours_steady,
    "wind": lambda case: case.conditions.wind,
    "rain": lambda case: case.conditions.hours_without_rain,
    "load": _load,
    "spot": _spot,
    "emissivity": _emissivity,
    "angle": lambda case: case.view.tilt,
    "pressure": _pressure,
    "humidity": lambda case: case.conditions.humidity,
}
