"""A run that finds everything as the last one left it says the same words again, without working them out.

What the words of a run depend on is not listed by hand: it is every file that the process read, every folder it listed and
every module it loaded, besides the pictures. A run that had nothing to do notes what they all looked like.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from heatbrief import __version__
from heatbrief.store.cache import SETTLED_NS
from heatbrief.store.files import Mark, mark_of, write_atomic
from heatbrief.store.folders import HIDDEN, Folders

FORMAT = 1
FILE = "again.json"
_NO_FILES = ("/proc/", "/sys/", "/dev/")
_WRITING = os.O_WRONLY | os.O_RDWR
_read: set[str] | None = None
"""Paths of files that were read and folders that were listed since somebody wanted to know."""


@dataclass(frozen=True)
class Said:
    """The last words of a run, its exit code, and the short names of its properties."""

    text: str
    code: int
    slugs: tuple[str, ...]


@dataclass(frozen=True)
class Asked:
    """What a run was asked for. From the moment it is made, what this process reads is noted."""

    surveys: tuple[Path, ...]
    out: Path
    level: str | None
    begun: int = field(default_factory=time.time_ns)

    def __post_init__(self) -> None:
        _listen()

    @property
    def memory(self) -> Path:
        """Where the last words are kept."""
        return self.out / HIDDEN / FILE

    def plain(self) -> list[Any]:
        """All that differs where another answer may be expected, as JSON can hold it."""
        named = {name: value for name, value in os.environ.items() if name.startswith("HEATBRIEF")}
        here = [os.getcwd(), [str(one) for one in self.surveys], str(self.out), self.level, named]
        return [FORMAT, __version__, sys.version, sys.executable, sys.path, *here]


def last_words(asked: Asked) -> Said | None:
    """What the last run said, if nothing that it read and nothing that it published has changed since.

    Raises UserError "run-at-work" while another run is at work on one of the properties.
    """
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError), ExitStack() as held:
        kept = json.loads(asked.memory.read_bytes())
        if kept["asked"] != asked.plain() or kept["inputs"] != _state(_marks(kept["paths"])):
            return None
        said = Said(str(kept["said"]), int(kept["code"]), tuple(map(str, kept["slugs"])))
        for slug in said.slugs:
            held.enter_context(Folders(asked.out, slug).lock)
        return said if kept["outputs"] == _state(_published(asked.out, said.slugs)) else None
    return None


def remember(asked: Asked, said: Said, inputs: Iterable[Path]) -> None:
    """Keep the words of a run that had nothing to do, unless something was changed so late that it may change unseen.

    inputs  files of the surveys that may not have been opened, or are not there
    """
    paths = sorted({*_loaded(), *_opened(asked.out, said.slugs), *_with_folders(inputs)})
    marks, published = list(_marks(paths)), list(_published(asked.out, said.slugs))
    newest = max([mark[1] for mark in marks if mark is not None] + [changed for _, changed, _ in published])
    if newest + SETTLED_NS >= asked.begun:
        return
    kept = {
        "asked": asked.plain(),
        "paths": paths,
        "inputs": _state(marks),
        "outputs": _state(published),
        "said": said.text,
        "code": said.code,
        "slugs": said.slugs,
    }
    write_atomic(asked.memory, json.dumps(kept).encode("ascii"))


def _listen() -> None:
    """Begin to note what this process reads."""
    global _read
    if _read is None:
        _read = set()
        sys.addaudithook(_hear)


def _hear(event: str, given: Sequence[Any]) -> None:
    """Called by the interpreter for all that it does; what this raised would stop it."""
    if event in ("open", "os.listdir", "os.scandir") and _read is not None and given:
        path, flags = given[0], given[2] if len(given) > 2 else 0
        if isinstance(path, (str, bytes, os.PathLike)) and not (isinstance(flags, int) and flags & _WRITING):
            _read.add(os.fsdecode(path))


def _opened(out: Path, slugs: Iterable[str]) -> Iterator[str]:
    """What was read besides what earlier runs left, compiled modules and the system's own tables."""
    ours = tuple(os.path.join(os.path.abspath(out / one), "") for one in (HIDDEN, *slugs))
    for path in map(os.path.abspath, _read or ()):
        if not path.endswith(".pyc") and not f"{path}{os.sep}".startswith((*ours, *_NO_FILES)):
            yield path


def _loaded() -> Iterator[str]:
    for module in list(sys.modules.values()):
        file = getattr(module, "__file__", None)
        if isinstance(file, str):
            yield os.path.abspath(file)


def _with_folders(inputs: Iterable[Path]) -> Iterator[str]:
    """Files of surveys and the folders they lie in, where others may come to lie beside them."""
    for path in map(os.path.abspath, inputs):
        yield path
        yield os.path.dirname(path)


def _marks(paths: Iterable[str]) -> Iterator[Mark | None]:
    return map(mark_of, paths)


def _published(out: Path, slugs: Iterable[str]) -> Iterator[tuple[int, int, str]]:
    """Size, time of the last change and path of everything published for these properties."""
    folders = [os.path.join(out, one) for one in sorted(slugs)]
    page = mark_of(out / "index.html")
    yield (0, 0, "") if page is None else (*page[:2], "index.html")
    while folders:
        with os.scandir(folders.pop()) as entries:
            for entry in sorted(entries, key=lambda one: one.name):
                state = entry.stat(follow_symlinks=False)
                yield state.st_size, max(state.st_mtime_ns, state.st_ctime_ns), entry.path
                if entry.is_dir(follow_symlinks=False):
                    folders.append(entry.path)


def _state(marks: Iterable[Any]) -> str:
    return hashlib.sha256(repr(list(marks)).encode("utf-8", "backslashreplace")).hexdigest()
