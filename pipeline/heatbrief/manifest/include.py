"""`include:` merges another file under this one: own entries win, mappings merge, lists replace."""

from __future__ import annotations

import os
from pathlib import Path, PurePosixPath, PureWindowsPath

from heatbrief.manifest.nodes import CONTROL, Node, Problems, Scalar, Table, is_absent, shown
from heatbrief.manifest.reader import read_yaml

MAX_INCLUDES = 8
SUFFIXES = (".yaml", ".yml")


def read_with_includes(path: Path, problems: Problems, shared: list[Table] | None = None) -> Table | None:
    """The tree of a manifest with everything it includes, or None after adding what is wrong.

    shared  gets the tree of every included file as it stands there, nearest first
    """
    return _read(path, str(path), problems, (), [] if shared is None else shared)


def _read(path: Path, file: str, problems: Problems, above: tuple[Path, ...], shared: list[Table]) -> Table | None:
    tree = read_yaml(path, problems, file)
    if tree is None:
        return None
    if not isinstance(tree, Table):
        problems.add(tree, "wrong-type", "a manifest is a mapping of keys to values", "Start with `format: 1`.")
        return None
    if above:
        shared.append(tree)
    named = tree.get("include")
    if named is None or is_absent(named):
        return tree
    other = _included(named, path, problems, (*above, path.resolve()))
    if other is None:
        return tree
    below = _read(other, os.path.normpath(other), problems, (*above, path.resolve()), shared)
    return tree if below is None else merged(tree, below)


def _included(named: Node, path: Path, problems: Problems, above: tuple[Path, ...]) -> Path | None:
    if not isinstance(named, Scalar):
        problems.add(named, "wrong-type", "include must be the path of a file", "Write include: ../firm.yaml.")
        return None
    text = named.text
    if CONTROL.search(text) or "\\" in text or PurePosixPath(text).is_absolute() or PureWindowsPath(text).drive:
        problems.add(
            named,
            "include-path",
            f"{shown(text)} is not a path from this file",
            "Write a relative path with '/', such as ../firm.yaml.",
        )
        return None
    if not text.lower().endswith(SUFFIXES):
        problems.add(named, "include-path", f"{shown(text)} is not a .yaml file", "Include only .yaml or .yml files.")
        return None
    if len(above) > MAX_INCLUDES:
        problems.add(
            named,
            "include-depth",
            f"files include each other more than {MAX_INCLUDES} deep",
            "Put the shared entries in one file.",
        )
        return None
    other = path.parent / text
    try:
        resolved = other.resolve()
        exists = resolved.is_file()
    except (OSError, RuntimeError, ValueError):
        resolved, exists = other, False
    if resolved in above:
        problems.add(
            named, "include-cycle", f"{shown(text)} includes this file again", "Remove one of the two includes."
        )
        return None
    if not exists:
        problems.add(
            named,
            "include-missing",
            f"{shown(text)} does not exist",
            f"Check the path; it is read from the folder of {path.name}.",
        )
        return None
    return other


def merged(own: Table, below: Table) -> Table:
    """`own` over `below`; every node keeps the place it came from."""
    entries = dict(own.entries)
    for key, (key_node, value) in below.entries.items():
        mine = entries.get(key)
        if mine is None:
            if key != "include":
                entries[key] = (key_node, value)
        elif isinstance(mine[1], Table) and isinstance(value, Table):
            entries[key] = (mine[0], merged(mine[1], value))
    return Table(own.file, own.line, own.column, entries)
