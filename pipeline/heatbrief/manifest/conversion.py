"""Straight lines between units. Common units stand in a table; pint, which knows the rest, is loaded when
a text needs it."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any, NamedTuple

from heatbrief.manifest.lines import COMMON
from heatbrief.manifest.nodes import shown


class QuantityError(ValueError):
    """A text is not the quantity that is wanted. `dimension`: the unit may be known, but has another dimension."""

    def __init__(self, message: str, remedy: str = "", dimension: bool = False) -> None:
        self.message, self.remedy, self.dimension = message, remedy, dimension
        super().__init__(f"{message}. {remedy}" if remedy else message)


class Line(NamedTuple):
    """value in the wanted unit = (value + shift) * factor / divisor"""

    shift: float = 0.0
    factor: float = 1.0
    divisor: float = 1.0

    def apply(self, value: float) -> float:
        """Convert a number."""
        return (value + self.shift) * self.factor / self.divisor

    def undo(self, value: float) -> float:
        """Convert back."""
        return value * self.divisor / self.factor - self.shift


SAME = Line()

_TEMPERATURES = {"degC": SAME, "degF": Line(-32.0, 1.0, 1.8), "K": Line(-273.15), "degR": Line(-491.67, 1.0, 1.8)}
_DIFFERENCES = {"degC": SAME, "K": SAME, "degF": Line(0.0, 1.0, 1.8), "degR": Line(0.0, 1.0, 1.8)}
_SHARES = {
    "": SAME,
    "1": SAME,
    "%": Line(0.0, 1.0, 100.0),
    "percent": Line(0.0, 1.0, 100.0),
    "‰": Line(0.0, 1.0, 1000.0),
}
_ANGLES = frozenset(("deg", "degree", "degrees", "rad", "mrad", "arcmin", "arcsec"))

_SPELT = {
    "°C": "degC",
    "℃": "degC",
    "°F": "degF",
    "℉": "degF",
    "°R": "degR",
    "°": "deg",
    "kelvin": "K",
    "celsius": "degC",
    "fahrenheit": "degF",
    "delta_degC": "K",
    "delta_degF": "degF",
    "F": "F",
    "mo": "month",
    "hours": "h",
    "hour": "h",
    "sqft": "ft**2",
    "sqm": "m**2",
    "CFM": "cfm",
    "BTU": "Btu",
    "MMBtu": "MMBTU",
    "µm": "um",
    "μm": "um",
    "ltr": "L",
}
_DEFINED = (
    "MCF = 1000 * foot ** 3",
    "CCF = 100 * foot ** 3",
    "cfm = foot ** 3 / minute",
    "gpm = gallon / minute",
    "lpm = liter / minute",
    "ach = 1 / hour",
    "MMBTU = 1000000 * british_thermal_unit",
    "inwc = inch_H2O",
)
NOT_MONEY = frozenset(
    ("BTU", "CFM", "CCF", "MCF", "GPM", "LPM", "ACH", "RPM", "PPM", "PSI", "MPH", "KWH", "LBS", "NAN", "INF")
)

CURRENCY_SIGNS = "$€£¥"

_MONEY = re.compile(r"([A-Z]{3})(?![A-Za-z])\s*(?:(?:/|\bper\b)\s*(.+))?")
_DEGREES = re.compile(r"(?:\bdeg(?:ree)?s?\.?|°)\s*([CFR])\b")
_SUPERSCRIPT = str.maketrans({"²": "2", "³": "3", "⁻": "-", "¹": "1"})
_TOKEN = re.compile(
    r"\s*(?:(?P<water>(?:in|mm|cm)\s?H2O|inHg)|"
    r"(?P<name>[A-Za-zµμΩ°℃℉%‰_]{1,40})(?:(?:\^|\*\*)?(?P<power>-?[1-9])(?!\d))?"
    r"|(?P<one>1(?=\s*/))|(?P<sign>[/*·⋅()]))"
)


def absolute(unit: str) -> bool:
    """True when the unit is one of temperature as such, not of a difference."""
    return unit == "degC"


def split_money(unit: str) -> tuple[str, str] | None:
    """("USD", "kWh") for "USD/kWh", ("USD", "") for "USD", None when no currency stands first."""
    found = _MONEY.fullmatch(unit.strip())
    if not found or found[1] in NOT_MONEY:
        return None
    return found[1], (found[2] or "").strip()


@lru_cache(maxsize=4096)
def conversion(unit: str, wanted: str) -> Line:
    """The line from one unit to another. Raises QuantityError for unknown units and wrong dimensions."""
    if unit == wanted:
        return SAME
    if wanted in ("1", ""):
        return _from_table(unit.strip(), wanted, _SHARES, "a plain number or a percentage")
    ours, theirs = split_money(unit), split_money(wanted)
    if ours or theirs:
        if ours is None or theirs is None or ours[0] != theirs[0] or bool(ours[1]) != bool(theirs[1]):
            raise _wrong(unit, wanted)
        inner = conversion(ours[1], theirs[1]) if ours[1] else SAME
        return Line(0.0, inner.divisor, inner.factor)
    name = normalised(unit)
    common = COMMON.get(normalised(wanted), {}).get(name)
    if common is not None:
        return Line(0.0, *common)
    if wanted == "degC":
        return _from_table(name, wanted, _TEMPERATURES, "a temperature", written=unit)
    if wanted == "K":
        found = _DIFFERENCES.get(name)
        return found if found is not None else _by_pint(unit, name, wanted)
    return _by_pint(unit, name, wanted)


def of_other_dimension(unit: str, wanted: str) -> bool:
    """True for two common units that do not convert into each other; False does not say that they do."""
    name, lines = normalised(unit), COMMON.get(normalised(wanted))
    return lines is not None and name not in lines and any(name in one for one in COMMON.values())


def _from_table(unit: str, wanted: str, table: dict[str, Line], noun: str, written: str = "") -> Line:
    found = table.get(unit)
    if found is None:
        written = written or unit
        remedy = f'Write "deg{unit}".' if unit in ("C", "F", "R") and wanted == "degC" else f"Write {_choices(table)}."
        raise QuantityError(f"{shown(written)} {_kind_of(written)}, but {noun} is wanted", remedy, dimension=True)
    return found


def _choices(table: dict[str, Line]) -> str:
    return "degC, degF or K" if "degF" in table else "a number such as 0.45, or a percentage such as 45 %"


def _kind_of(unit: str) -> str:
    if any(one in unit for one in CURRENCY_SIGNS):
        return "has a currency sign instead of three letters"
    try:
        return f"is {dimension_of(normalised(unit))}"
    except QuantityError:
        return "is not a known unit"


@lru_cache(maxsize=4096)
def normalised(unit: str) -> str:
    """A unit in the form that pint reads: names, powers, "*", "/" and brackets, nothing else. Raises QuantityError."""
    text = _DEGREES.sub(r"deg\1", unit.strip()).translate(_SUPERSCRIPT)
    if len(text) > 60:
        raise QuantityError("the unit is too long", "Write a unit such as m, kWh or W/(m2 K).")
    if any(one in text for one in CURRENCY_SIGNS):
        raise QuantityError(
            f"{shown(unit)} has a currency sign", "Write the currency as three letters, such as USD/kWh."
        )
    pieces, position, names, divided = [], 0, 0, False
    while position < len(text):
        found = _TOKEN.match(text, position)
        if not found or (found.end() == position):
            raise QuantityError(f"{shown(unit)} is not a known unit", "Write a unit such as m, degC, kWh or W/(m2 K).")
        position = found.end()
        if found["sign"]:
            sign = "*" if found["sign"] in "·⋅" else found["sign"]
            divided = divided if sign in "()" else sign == "/"
            pieces.append(sign)
            continue
        if pieces and pieces[-1] not in ("*", "/", "("):
            if divided and "(" not in pieces[_last(pieces, "/") :]:
                raise QuantityError(f"{shown(unit)} can be read in two ways", "Use brackets, such as W/(m2 K).")
            pieces.append("*")
        names += 1
        name = found["water"].replace(" ", "").replace("inH2O", "inch_H2O") if found["water"] else found["name"] or "1"
        name = _SPELT.get(name, name)
        pieces.append(name + (f"**{found['power']}" if found["power"] else ""))
    if names > 8:
        raise QuantityError("the unit has too many parts", "Write a unit such as m, kWh or W/(m2 K).")
    compound = len(pieces) > 1
    pieces = [{"degC": "K", "degF": "delta_degF"}.get(one, one) for one in pieces] if compound else pieces
    return "".join(pieces).strip()


def _last(pieces: list[str], sign: str) -> int:
    return len(pieces) - 1 - pieces[::-1].index(sign)


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(on_redefinition="ignore")
    for line in _DEFINED:
        registry.define(line)
    return registry


@lru_cache(maxsize=4096)
def _unit(name: str, written: str) -> Any:
    try:
        return _registry().parse_units(name)
    except Exception as error:  # pint raises its own, tokenize's and Python's errors
        raise QuantityError(
            f"{shown(written)} is not a known unit", "Write a unit such as m, ft, degC, kWh or W/(m2 K)."
        ) from error


def _by_pint(unit: str, name: str, wanted: str) -> Line:
    target = _unit(normalised(wanted), wanted)
    source = _unit("K" if name == "degC" and wanted == "K" else name, unit)
    plain = not source.dimensionality
    if source.dimensionality != target.dimensionality or (
        plain and ((name in _ANGLES) != (normalised(wanted) in _ANGLES))
    ):
        raise _wrong(unit, wanted)
    factor = float(_registry().convert(1.0, source, target))  # the last digit of pint's product is rounding
    inverse = 1.0 / factor
    whole = round(inverse)
    if factor < 1 and whole and abs(inverse - whole) < 1e-9 * inverse:
        return Line(0.0, 1.0, float(whole))
    return Line(0.0, float(f"{factor:.15g}"))


def _wrong(unit: str, wanted: str) -> QuantityError:
    kind = _kind_of(unit) if split_money(unit) is None else "is money"
    noun = dimension_of(normalised(wanted)) if split_money(wanted) is None else "a price"
    return QuantityError(
        f"{shown(unit)} {kind}, but {noun} is wanted ({wanted})",
        f"Write it in {wanted}, or a unit that converts to it.",
        dimension=True,
    )


_DIMENSIONS = (
    ("degC", "a temperature"),
    ("m", "a length"),
    ("m**2", "an area"),
    ("m**3", "a volume"),
    ("s", "a time"),
    ("kg", "a mass"),
    ("m/s", "a speed"),
    ("W", "a power"),
    ("J", "an energy"),
    ("Pa", "a pressure"),
    ("A", "an electric current"),
    ("V", "a voltage"),
    ("m**3/s", "a volume flow"),
    ("kg/s", "a mass flow"),
    ("W/(m**2*K)", "a thermal transmittance"),
    ("m**2*K/W", "a thermal resistance"),
    ("W/m**2", "a heat flux"),
    ("W/(m*K)", "a thermal conductivity"),
    ("ohm", "an electric resistance"),
    ("K/W", "a thermal resistance per part"),
    ("1/h", "a rate"),
    ("W/K", "a heat loss coefficient"),
)


def dimension_of(name: str) -> str:
    """The dimension of a unit in words, such as "a length". Raises QuantityError for an unknown unit."""
    if name in ("", "1", "%", "percent", "‰"):
        return "a plain number"
    if name in _ANGLES:
        return "an angle"
    found = _unit(name, name)
    for known, noun in _DIMENSIONS:
        if _unit(known, known).dimensionality == found.dimensionality:
            return noun
    return f"of the dimension {found.dimensionality}" if found.dimensionality else "a plain number"
