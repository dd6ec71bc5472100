"""Numbers in sentences, and names in identifiers."""

from __future__ import annotations

import hashlib
import re
import unicodedata

from heatbrief.model.quantity import Quantity

_PLAIN = re.compile(r"[^a-z0-9]+")


def said(quantity: Quantity) -> str:
    """A quantity in words: value and unit, with its bounds when they differ: "12.4 K (11.8 to 13.0 K)"."""
    if quantity.low == quantity.high:
        return number(quantity.value, quantity.unit)
    bounds = f"{figure(quantity.low, quantity.unit)} to {number(quantity.high, quantity.unit)}"
    return f"{number(quantity.value, quantity.unit)} ({bounds})"


def number(value: float, unit: str) -> str:
    """A value with its unit; shares as percent."""
    if unit == "1":
        return f"{100 * value:.0f} %" if 0 <= value <= 2 else figure(value, unit)
    return f"{figure(value, unit)} {unit}"


def figure(value: float, unit: str = "") -> str:
    """Figures worth printing: one decimal for temperatures, two below 1 K, three digits for the rest, no minus zero."""
    if unit == "1" and 0 <= value <= 2:
        return f"{100 * value:.0f}"
    text = (
        f"{value:.1f}"
        if unit == "degC" or (unit == "K" and abs(value) >= 1)
        else f"{value:.2f}"
        if unit == "K"
        else f"{value:.3g}"
    )
    if "." in text and "e" not in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def slug(text: str) -> str:
    """Lower-case letters, digits and hyphens. Names that lose letters on the way get a few figures of their hash, so
    none collide."""
    folded = unicodedata.normalize("NFC", text).casefold()
    plain = _PLAIN.sub("-", unicodedata.normalize("NFKD", folded).encode("ascii", "ignore").decode()).strip("-")
    if any(letter.isalnum() and not letter.isascii() for letter in folded) or not plain:
        mark = hashlib.sha256(folded.encode()).hexdigest()[:6]
        plain = f"{plain}-{mark}" if plain else mark
    return plain
