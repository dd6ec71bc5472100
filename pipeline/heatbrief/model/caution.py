"""What can hurt somebody, in neutral words, with figures and whom to ask."""

from __future__ import annotations

from dataclasses import dataclass

STANDING_LINE = (
    "General information, not instruction. Local codes, licensed trades and equipment manuals take precedence. "
    "If in doubt, stop, keep people away and call the proper service."
)


@dataclass(frozen=True)
class Figure:
    """A published figure inside a caution, with its mark: seen, memory, computed or common practice."""

    text: str
    source: str
    mark: str


@dataclass(frozen=True)
class Caution:
    """A caution text offered by a plugin.

    key      "<domain>.<what>"
    applies  when it applies, in words
    points   short sentences: what not to do, what to do instead
    defer    the rules and the people that take precedence
    """

    key: str
    title: str
    applies: str
    points: tuple[str, ...]
    figures: tuple[Figure, ...] = ()
    defer: tuple[str, ...] = ()
