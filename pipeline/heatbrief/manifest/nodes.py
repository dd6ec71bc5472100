"""A YAML tree that remembers where everything stood, and the list of problems found in it."""

from __future__ import annotations

import re
from collections.abc import Iterator

from heatbrief.errors import Problem, UserError

PROBLEM_LIMIT = 500
"""A file with more mistakes than this is not the file that was meant; the rest is not looked for."""

MANY = 50

MESSAGE_LIMIT = 1_000

CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]")
"""Control characters and characters that reorder or break text; newline and tab are judged where they stand."""

_ABSENT = frozenset(("", "~", "null"))


class Node:
    """Anything in the tree. `line` and `column` count from 1."""

    __slots__ = ("column", "file", "line")

    def __init__(self, file: str, line: int, column: int) -> None:
        self.file, self.line, self.column = file, line, column

    @property
    def where(self) -> str:
        """file:line:column"""
        return f"{self.file}:{self.line}:{self.column}"


class Scalar(Node):
    """A single value as it was written. `plain` is False when it stood in quotes or in a block."""

    __slots__ = ("plain", "text")

    def __init__(self, file: str, line: int, column: int, text: str, plain: bool) -> None:
        self.file, self.line, self.column, self.text, self.plain = file, line, column, text, plain


class Items(Node):
    """A list."""

    __slots__ = ("items",)

    def __init__(self, file: str, line: int, column: int, items: list[Node] | None = None) -> None:
        self.file, self.line, self.column = file, line, column
        self.items: list[Node] = [] if items is None else items

    def __iter__(self) -> Iterator[Node]:
        return iter(self.items)


class Table(Node):
    """A mapping: key text -> (key, value)."""

    __slots__ = ("entries",)

    def __init__(
        self, file: str, line: int, column: int, entries: dict[str, tuple[Scalar, Node]] | None = None
    ) -> None:
        self.file, self.line, self.column = file, line, column
        self.entries: dict[str, tuple[Scalar, Node]] = {} if entries is None else entries

    def get(self, key: str) -> Node | None:
        """The value of a key, or None."""
        found = self.entries.get(key)
        return None if found is None else found[1]

    def at(self, *keys: str) -> Node:
        """The value of the first of the keys that is there, else the table itself: a place for a problem."""
        return next((self.entries[key][1] for key in keys if key in self.entries), self)


def is_absent(node: Node | None) -> bool:
    """True for a key with nothing after it, and for null."""
    return node is None or (isinstance(node, Scalar) and node.plain and node.text in _ABSENT)


def shown(text: str, most: int = 60) -> str:
    """Text in quotes for a message: shortened, and safe to print on a terminal."""
    return f"'{printable(text if len(text) <= most else text[: most - 1] + '…')}'"


def printable(text: str) -> str:
    """Text with everything escaped that could change what a terminal shows."""
    if text.isprintable():
        return text
    return "".join(one if one.isprintable() else one.encode("unicode_escape").decode("ascii") for one in text)


def described(node: Node) -> str:
    """What kind of thing a node is, for 'got ...' in a message."""
    if isinstance(node, Items):
        return "a list"
    if isinstance(node, Table):
        return "a mapping"
    assert isinstance(node, Scalar)
    if is_absent(node):
        return "nothing"
    return shown(node.text) if node.plain else f"the text {shown(node.text)}"


class TooManyProblems(Exception):
    """The list of problems is full; looking on would only take time."""


class Problems:
    """Collects what is wrong, so that everything is reported at once and in the order of the file."""

    def __init__(self, limit: int | None = PROBLEM_LIMIT) -> None:
        self._found: dict[tuple[str, int, int, str, str], tuple[int, Problem]] = {}
        self._files: dict[str, int] = {}
        self._limit = limit

    def __len__(self) -> int:
        return len(self._found)

    @property
    def many(self) -> bool:
        """True when there are so many problems that searching for the nearest name is not worth its time."""
        return len(self._found) >= MANY

    def add(self, node: Node, code: str, message: str, remedy: str = "") -> None:
        """Report a problem at the place of a node. The same one at the same place counts once.

        Raises TooManyProblems beyond the limit.
        """
        key = (node.file, node.line, node.column, code, message)
        if key in self._found:
            return
        if len(self._found) == self._limit:
            raise TooManyProblems
        order = self._files.setdefault(node.file, len(self._files))
        self._found[key] = (
            order,
            Problem(printable(node.where), code, printable(message[:MESSAGE_LIMIT]), printable(remedy[:MESSAGE_LIMIT])),
        )

    def sorted(self) -> tuple[Problem, ...]:
        """By file in the order they were read, then by line and column."""
        keyed = sorted(self._found.items(), key=lambda item: (item[1][0], *item[0][1:]))
        problems = [problem for _, (_, problem) in keyed]
        if len(problems) == self._limit:
            file = printable(next(iter(self._files)))
            problems.append(
                Problem(file, "too-many-problems", "there may be more problems", "Correct these and check again.")
            )
        return tuple(problems)

    def stop_if_any(self) -> None:
        """Raise UserError with everything found."""
        if self._found:
            raise UserError(self.sorted())
