"""Single values: text, numbers, choices and quantities, each read by the type that is wanted at its place."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heatbrief.manifest.names import nearest
from heatbrief.manifest.nodes import CONTROL, Node, Scalar, described, shown
from heatbrief.manifest.units import NUMBER, QuantityError, parse_price, parse_quantity
from heatbrief.model.quantity import Quantity
from heatbrief.model.settings import SettingSpec

if TYPE_CHECKING:
    from heatbrief.manifest.bind import Binder

BROKEN: Any = type("Broken", (), {"__repr__": lambda self: "BROKEN"})()
"""Stands for a value that could not be read; the problem has been added."""

ABSOLUTE_ZERO = -273.15
TEXT_LIMIT = 2_000
NOTES_LIMIT = 20_000

UNKNOWN = {"material": "unknown-material", "domain": "unknown-domain", "language": "unknown-language"}
"""Kind of name -> code of the problem when there is none of that name."""
NOUNS = {"domain": "kind of inspection"}
"""Kind of name -> what people call it, where that is another word."""

Bind = Callable[["Binder", Node, str], Any]

_FLOAT = re.compile(NUMBER)
_INT = re.compile(r"[-+]?(?:0|[1-9]\d{0,14})")
_SPECIAL = re.compile(r"[-+]?\.(?:nan|inf)", re.IGNORECASE)


def wrong_type(binder: Binder, node: Node, name: str, wanted: str, remedy: str = "") -> Any:
    """Add the problem that something else is wanted here."""
    binder.problems.add(node, "wrong-type", f"{name} must be {wanted}, got {described(node)}", remedy)
    return BROKEN


def bind_text(spec: SettingSpec, name: str) -> Bind:
    """Text as it was written, whatever YAML would make of it."""
    notes = name == "notes"

    def bind(binder: Binder, node: Node, name: str) -> Any:
        if not isinstance(node, Scalar):
            return wrong_type(
                binder, node, name, "text", f'Write it in quotes, such as {name}: "{spec.example or "…"}".'
            )
        text = checked_text(binder, node, name, notes)
        if text is not BROKEN and spec.names and text:
            known = binder.known.get(spec.names)
            if known is not None and not known.accepts(text):
                code = UNKNOWN.get(spec.names, "unknown-name")
                binder.problems.add(
                    node, code, f"{shown(text)} is not a known {NOUNS.get(spec.names, spec.names)}", known.remedy(text)
                )
                return BROKEN
        return text

    return bind


def checked_text(binder: Binder, node: Scalar, name: str, notes: bool = False) -> Any:
    """The text of a scalar, if it is neither too long nor holds control characters."""
    text, most = node.text, NOTES_LIMIT if notes else TEXT_LIMIT
    if len(text) > most:
        binder.problems.add(
            node, "text-too-long", f"{name} has {len(text)} characters; at most {most} are allowed", "Shorten it."
        )
        return BROKEN
    found = CONTROL.search(text) if not text.isprintable() else None
    if found or (not notes and ("\n" in text.strip("\n") or "\t" in text)):
        character = found.group() if found else "\n" if "\n" in text else "\t"
        binder.problems.add(
            node,
            "control-character",
            f"{name} holds a control character, {character!a}",
            "Remove it." if found else "Write it on one line, without tabs.",
        )
        return BROKEN
    return text if notes else text.strip("\n")


def _limits(spec: SettingSpec, percent: bool) -> str:
    """What a number may be, in the unit of its field; a share that was written in per cent, in per cent."""
    unit = " %" if percent else "" if spec.unit in (None, "1") else f" {spec.unit}"
    low, high = (None if one is None else one * (100 if percent else 1) for one in (spec.low, spec.high))
    if low is not None and high is not None:
        return f"from {low:g} to {high:g}{unit}"
    if high is not None:
        return f"above 0 and at most {high:g}{unit}" if spec.positive else f"at most {high:g}{unit}"
    return "above 0" if spec.positive else f"at least {low:.6g}{unit}" if low is not None else "finite"


def _within(binder: Binder, node: Node, name: str, value: float, spec: SettingSpec) -> bool:
    good = (
        (spec.low is None or value >= spec.low)
        and (spec.high is None or value <= spec.high)
        and (not spec.positive or value > 0)
    )
    if not good:
        percent = spec.unit == "1" and isinstance(node, Scalar) and node.text.rstrip().endswith("%")
        binder.problems.add(
            node,
            "out-of-range",
            f"{name} must be {_limits(spec, percent)}, got {described(node)}",
            "Check the number and its unit.",
        )
    return good


def bind_quantity(spec: SettingSpec, name: str) -> Bind:
    """A Quantity in the unit of the field; without a unit in the declaration it is a price."""
    unit = spec.unit
    if unit == "degC" and spec.low is None:
        spec = replace(spec, low=ABSOLUTE_ZERO)
    low = -math.inf if spec.low is None else spec.low
    low = max(low, 0.0) if spec.positive else low
    high = math.inf if spec.high is None else spec.high

    def bind(binder: Binder, node: Node, name: str) -> Any:
        if not isinstance(node, Scalar):
            example = spec.example or (f"1 {unit}" if unit else "0.16 USD/kWh")
            return wrong_type(binder, node, name, "a number with a unit", f'Write one value, such as "{example}".')
        try:
            found = parse_price(node.text, binder.currency) if unit is None else parse_quantity(node.text, unit)
        except QuantityError as error:
            binder.problems.add(node, "bad-quantity", f"{name}: {error.message}", error.remedy)
            return BROKEN
        if not _within(binder, node, name, found.value, spec):
            return BROKEN
        if found.low < low or found.high > high:  # bounds beyond what can be are cut
            return Quantity(
                found.value, found.unit, max(found.low, low), min(found.high, high), found.coverage, found.method
            )
        return found

    return bind


def bind_float(spec: SettingSpec, name: str) -> Bind:
    """A number; with a unit in the declaration, the value of a quantity in that unit."""
    if spec.unit is not None:
        quantity = bind_quantity(spec, name)

        def bind_with_unit(binder: Binder, node: Node, name: str) -> Any:
            found = quantity(binder, node, name)
            return found if found is BROKEN else found.value

        return bind_with_unit

    def bind(binder: Binder, node: Node, name: str) -> Any:
        if not isinstance(node, Scalar) or not node.plain or not _FLOAT.fullmatch(node.text) or len(node.text) > 40:
            remedy = (
                "Write a finite number."
                if isinstance(node, Scalar) and _SPECIAL.fullmatch(node.text)
                else _number_remedy(node)
            )
            return wrong_type(binder, node, name, "a number", remedy)
        value = float(node.text)
        if not math.isfinite(value):
            return wrong_type(binder, node, name, "a finite number", "Write a smaller number.")
        return value if _within(binder, node, name, value, spec) else BROKEN

    return bind


def bind_int(spec: SettingSpec, name: str) -> Bind:
    """A whole number, decimal, without leading zeros."""

    def bind(binder: Binder, node: Node, name: str) -> Any:
        if not isinstance(node, Scalar) or not node.plain or not _INT.fullmatch(node.text):
            return wrong_type(binder, node, name, "a whole number", _number_remedy(node))
        value = int(node.text)
        return value if _within(binder, node, name, value, spec) else BROKEN

    return bind


def _number_remedy(node: Node) -> str:
    if isinstance(node, Scalar) and not node.plain and _FLOAT.fullmatch(node.text):
        return "Write it without quotes."
    if isinstance(node, Scalar) and re.fullmatch(r"[-+]?0\d+", node.text):
        return "Write it without leading zeros."
    return "Write digits, with a point for decimals and no unit."


def bind_bool(spec: SettingSpec, name: str) -> Bind:
    """true or false."""

    def bind(binder: Binder, node: Node, name: str) -> Any:
        word = node.text.lower() if isinstance(node, Scalar) and node.plain else ""
        if word in ("true", "false"):
            return word == "true"
        meant = {"yes": "true", "on": "true", "no": "false", "off": "false"}.get(word)
        return wrong_type(
            binder, node, name, "true or false", f"Write {meant}." if meant else "Write true or false, without quotes."
        )

    return bind


def bind_choice(choices: tuple[Any, ...], name: str) -> Bind:
    """One of the values of a Literal."""
    by_text = {str(choice).lower() if isinstance(choice, bool) else str(choice): choice for choice in choices}

    def bind(binder: Binder, node: Node, name: str) -> Any:
        listed = ", ".join(by_text)
        if not isinstance(node, Scalar):
            return wrong_type(binder, node, name, f"one of: {listed}")
        choice = by_text.get(node.text, BROKEN)
        if choice is BROKEN or (not isinstance(choice, str) and not node.plain):
            near = None if binder.problems.many else nearest(node.text, by_text)
            binder.problems.add(
                node,
                "unknown-choice",
                f"{name} must be {'one of: ' if len(by_text) > 1 else ''}{listed}; got {described(node)}",
                f"Did you mean {near}?" if near else f"Write {'one of: ' if len(by_text) > 1 else ''}{listed}.",
            )
            return BROKEN
        return choice

    return bind


def bind_path(spec: SettingSpec, name: str) -> Bind:
    """A path that stays below the folder of the manifest."""
    text = bind_text(spec, name)

    def bind(binder: Binder, node: Node, name: str) -> Any:
        found = text(binder, node, name)
        if found is BROKEN or not binder.path_is_safe(node, name, found):
            return BROKEN
        return Path(found)

    return bind
