"""YAML text to a tree with positions. Values stay as they were written: their meaning depends on where they stand."""

from __future__ import annotations

import re
import stat
from pathlib import Path
from typing import Any

import yaml

from heatbrief.manifest.nodes import CONTROL, Items, Node, Problems, Scalar, Table, shown

MAX_BYTES = 5_000_000
MAX_DEPTH = 50
MAX_NODES = 1_000_000
MAX_ALIAS_NODES = 10_000
"""Nodes that aliases may add to a file in all."""

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

_REMEDIES = (
    ("cannot start any token", "Put the value in double quotes, or remove the character."),
    ("mapping values are not allowed", "Put a text that holds ': ' in quotes, or check the indentation of this line."),
    ("could not find expected ':'", "Check that this line has the form 'key: value' and that quotes are closed."),
    ("expected ',' or", "Close the bracket, or put a comma between the values."),
    ("expected <block end>", "Check the indentation: entries of one list or mapping start in the same column."),
    ("did not find expected key", "Check the indentation: entries of one list or mapping start in the same column."),
    ("while scanning a quoted scalar", "Close the quotes."),
    ("undefined alias", "Write the value out, or name an anchor (&name) that stands above."),
)


def read_yaml(path: Path, problems: Problems, file: str | None = None) -> Node | None:
    """The tree of a file, or None after adding what is wrong. `file` is the name used in problems."""
    file = str(path) if file is None else file
    start = Node(file, 1, 1)
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            problems.add(start, "not-a-file", "this is not a file", "Name a YAML file.")
            return None
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        problems.add(start, "cannot-read", f"the file cannot be read: {reason}", "Check the name and the permissions.")
        return None
    if len(data) > MAX_BYTES:
        problems.add(
            start,
            "file-too-large",
            f"the file is larger than {MAX_BYTES // 1_000_000} MB",
            "Give facts shared by many pictures once, under `defaults:`.",
        )
        return None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = error.start - (data.rfind(b"\n", 0, error.start) + 1) + 1
        problems.add(Node(file, line, column), "not-utf8", "the file is not UTF-8 text", "Save it as UTF-8.")
        return None
    return parse_yaml(text, file, problems)


def parse_yaml(text: str, file: str, problems: Problems) -> Node | None:
    """The tree of a YAML text, or None after adding what is wrong.

    Duplicate keys and tags are reported and skipped; a mistake of syntax ends the reading.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    found = CONTROL.search(text)
    if found:
        place = _place(file, text, found.start())
        problems.add(place, "control-character", f"there is a control character, {found.group()!a}", "Remove it.")
        return None
    builder = _Builder(file, problems)
    try:
        loader = _LOADER(text)
        try:
            while loader.check_event() and builder.take(loader.get_event()):
                pass
        finally:
            loader.dispose()
    except yaml.YAMLError as error:
        _report_syntax(error, text, file, problems)
        return None
    if builder.failed:
        return None
    if builder.root is None or (isinstance(builder.root, Scalar) and not builder.root.text and builder.root.plain):
        problems.add(
            Node(file, 1, 1),
            "file-empty",
            "the file holds nothing",
            "Write a manifest, or let `heatbrief new FOLDER` write one.",
        )
        return None
    return builder.root


def _place(file: str, text: str, index: int) -> Node:
    return Node(file, text.count("\n", 0, index) + 1, index - (text.rfind("\n", 0, index) + 1) + 1)


def _report_syntax(error: yaml.YAMLError, text: str, file: str, problems: Problems) -> None:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    said = " ".join(str(part) for part in (getattr(error, "context", None), getattr(error, "problem", None)) if part)
    place = Node(file, mark.line + 1, mark.column + 1) if mark else Node(file, 1, 1)
    lines = text.split("\n")
    line = lines[place.line - 1] if place.line <= len(lines) else ""
    if "\t" in line[: len(line) - len(line.lstrip())]:
        remedy = "Indent with spaces; YAML does not allow tabs there."
    else:
        remedy = next((remedy for words, remedy in _REMEDIES if words in said), "Correct the YAML at this place.")
    problems.add(place, "yaml-syntax", f"this is not valid YAML: {said or 'cannot be read'}", remedy)


class _Open:
    """A list or mapping that is being read."""

    __slots__ = ("anchor", "before", "height", "key", "node")

    def __init__(self, node: Table | Items, anchor: str | None, before: int) -> None:
        self.node, self.anchor, self.before = node, anchor, before
        self.key: Scalar | None = None
        self.height = 1


class _Builder:
    """Builds the tree from parser events, without recursion."""

    def __init__(self, file: str, problems: Problems) -> None:
        self.file, self.problems = file, problems
        self.root: Node | None = None
        self.failed = False
        self._stack: list[_Open] = []
        self._anchors: dict[str, tuple[Node, int, int] | None] = {}
        self._total = self._from_aliases = self._documents = 0

    def take(self, event: Any) -> bool:
        """Take one event; False ends the reading."""
        kind = type(event)
        if kind is yaml.ScalarEvent:
            mark = event.start_mark
            node = Scalar(self.file, mark.line + 1, mark.column + 1, event.value, not event.style)
            if event.tag is not None:
                self._refuse_tag(event)
            if event.anchor is not None:
                self._anchors[event.anchor] = (node, 1, 1)
            self._total += 1
            if self._total > MAX_NODES:
                self._fail(
                    event,
                    "file-too-large",
                    f"the file holds more than {MAX_NODES} values",
                    "Split the survey into several folders.",
                )
            self._attach(node, 1)
        elif kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
            self._open(event, kind is yaml.MappingStartEvent)
        elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
            self._close()
        elif kind is yaml.AliasEvent:
            self._alias(event)
        elif kind is yaml.DocumentStartEvent:
            self._documents += 1
            if self._documents > 1:
                self._fail(
                    event,
                    "several-documents",
                    "a second document starts here",
                    "Keep one document in the file; remove this '---'.",
                )
        return not self.failed

    def _node_at(self, event: Any) -> Node:
        return Node(self.file, event.start_mark.line + 1, event.start_mark.column + 1)

    def _fail(self, event: Any, code: str, message: str, remedy: str) -> None:
        self.failed = True
        self.problems.add(self._node_at(event), code, message, remedy)

    def _refuse_tag(self, event: Any) -> None:
        tag = re.sub(r"^tag:yaml\.org,2002:", "!!", event.tag)
        self.problems.add(
            self._node_at(event), "yaml-tag", f"the tag {shown(tag)} is not allowed", "Write the value without a tag."
        )

    def _open(self, event: Any, mapping: bool) -> None:
        mark = event.start_mark
        node: Table | Items = (Table if mapping else Items)(self.file, mark.line + 1, mark.column + 1)
        if event.tag is not None:
            self._refuse_tag(event)
        self._attach(node, 0)
        if event.anchor is not None:
            self._anchors[event.anchor] = None
        self._stack.append(_Open(node, event.anchor, self._total))
        self._total += 1
        if len(self._stack) > MAX_DEPTH:
            self._fail(event, "too-deep", f"values are nested more than {MAX_DEPTH} deep", "Flatten this part.")

    def _close(self) -> None:
        done = self._stack.pop()
        if done.anchor is not None:
            self._anchors[done.anchor] = (done.node, self._total - done.before, done.height)
        if self._stack:
            self._stack[-1].height = max(self._stack[-1].height, done.height + 1)

    def _alias(self, event: Any) -> None:
        if event.anchor not in self._anchors:
            self._fail(
                event, "yaml-alias", f"the anchor {shown(event.anchor)} is not defined above", "Write the value out."
            )
            return
        target = self._anchors[event.anchor]
        if target is None:
            self._fail(event, "yaml-alias", f"{shown(event.anchor)} holds itself", "Write the value out.")
            return
        node, size, height = target
        self._total += size
        self._from_aliases += size
        if self._from_aliases > MAX_ALIAS_NODES or len(self._stack) + height > MAX_DEPTH:
            self._fail(
                event, "yaml-alias", "aliases make the file too large", "Write the values out, or use `defaults:`."
            )
            return
        self._attach(node, height)

    def _attach(self, node: Node, height: int) -> None:
        if not self._stack:
            self.root = node
            return
        frame = self._stack[-1]
        frame.height = max(frame.height, height + 1)
        container = frame.node
        if isinstance(container, Items):
            container.items.append(node)
        elif frame.key is None:
            frame.key = self._key(node)
        else:
            key, frame.key = frame.key, None
            known = container.entries.get(key.text)
            if known is None:
                container.entries[key.text] = (key, node)
            elif known[0] is not key:
                self.problems.add(
                    key,
                    "duplicate-key",
                    f"the key {shown(key.text)} stands here for the second time; the first is on line {known[0].line}",
                    "Keep one of them.",
                )

    def _key(self, node: Node) -> Scalar:
        if isinstance(node, Scalar) and not (node.plain and node.text == "<<"):
            return node
        if isinstance(node, Scalar):
            self.problems.add(
                node,
                "yaml-merge",
                "merge keys ('<<') are not read",
                "Use `defaults:` or `include:`, or write the entries out.",
            )
        else:
            self.problems.add(
                node,
                "yaml-key",
                "a list or mapping cannot be a key",
                "Put quotes around a key that starts with a bracket.",
            )
        return Scalar(node.file, node.line, node.column, f"\0{node.line}:{node.column}", True)
