"""What the shot list asked to note, as fields of a new manifest."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from heatbrief.api.step import FactSpec, Shot


@dataclass(frozen=True)
class Asked:
    """One shot with its facts as they may stand in a manifest: name and example."""

    key: str
    shows: str
    facts: tuple[tuple[str, str], ...]


def asked_of(shots: Iterable[Shot], facts: Mapping[str, FactSpec]) -> tuple[Asked, ...]:
    """The shots with the examples of their facts."""
    return tuple(
        Asked(one.key, one.shows, tuple((name, _example(facts[name])) for name in one.facts if name in facts))
        for one in shots
    )


def asked_lines(file: str, shots: Sequence[Asked]) -> list[str]:
    """Lines of a picture's entry: those of the shot its file is named by, else those of every shot; nothing without shots."""
    if not shots:
        return []
    own = [one for one in shots if _named(file, one)]
    chosen = own[:1] or list(shots)
    lines = [] if own else ["    # Which of these does it show? Keep its lines and delete the others."]
    for one in chosen:
        lines.append(f"    # shows: {one.shows}")
        if one.facts:
            lines.append("    # facts: {" + ", ".join(f"{name}: {example}" for name, example in one.facts) + "}")
    return lines


def _example(fact: FactSpec) -> str:
    text = fact.example or (fact.choices[0] if fact.choices else "1" if fact.unit else "yes")
    return (
        text
        if re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9 ./%_+-]*", text)
        else '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
    )


def _named(file: str, shot: Asked) -> bool:
    """True when the file or its folder is named by the shot, as in `ceiling-1.tiff` or `ceiling/001.tiff`."""
    path = PurePosixPath(file)
    words = {
        word
        for part in (path.stem, path.parent.name)
        for word in [re.sub(r"[-_ ]*\d*$", "", part.casefold().replace("_", "-").replace(" ", "-"))]
    }
    return shot.key.casefold() in words
