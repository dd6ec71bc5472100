"""Which settings came from which file, where a manifest includes files of shared settings."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePath

from heatbrief.manifest.nodes import Node, Table, is_absent, printable
from heatbrief.model.results import SettingOrigin, SharedFile

MOST_ORIGINS = 400
_OF_ONE_FILE = frozenset({"include", "format"})


def shared_files(manifest: Path, shared: Sequence[Table]) -> tuple[SharedFile, ...]:
    """The included files with their digests, nearest first. A file that is gone meanwhile has none."""
    return tuple(SharedFile(_shown(one.file, manifest), _digest(Path(one.file))) for one in shared)


def origins_of(manifest: Path, tree: Table, shared: Sequence[Table]) -> tuple[SettingOrigin, ...]:
    """For every setting that an included file has: whose value holds, and whose it replaced. Sorted by setting.

    tree  everything merged; its nodes know the file they stand in
    """
    if not shared:
        return ()
    holds = {name: node.file for name, node in _settings(tree)}
    has: dict[str, list[str]] = {}
    for one in shared:
        for name, _ in _settings(one):
            has.setdefault(name, []).append(one.file)
    rows = []
    for name in sorted(has):
        winner = holds.get(name) or next((holds[up] for up in _above(name) if up in holds), str(manifest))
        over = tuple(_shown(file, manifest) for file in has[name] if file != winner)
        rows.append(SettingOrigin(printable(name), _shown(winner, manifest), over))
    return tuple(rows[:MOST_ORIGINS])


def _settings(table: Table, above: str = "") -> Iterator[tuple[str, Node]]:
    """Every value that is no mapping, with its dotted name; a list is one value."""
    for key, (_, node) in table.entries.items():
        name = f"{above}.{key}" if above else key
        if isinstance(node, Table):
            yield from _settings(node, name)
        elif name not in _OF_ONE_FILE and not is_absent(node):
            yield name, node


def _above(name: str) -> Iterator[str]:
    while "." in name:
        name = name.rpartition(".")[0]
        yield name


def _shown(file: str, manifest: Path) -> str:
    """A file relative to the survey folder, so that results do not depend on where a run is started."""
    return printable(PurePath(os.path.relpath(file, manifest.parent)).as_posix())


def _digest(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
