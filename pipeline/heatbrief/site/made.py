"""What an earlier build of a site left: each file by a key of everything it was made of, taken over while it is unchanged."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import stat
from collections.abc import Callable
from dataclasses import fields, replace
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from heatbrief.site.pictures import Drawn
from heatbrief.store.files import write_atomic

FORMAT = 1
FILE = "site.json"
LIBRARIES = ("mkdocs", "jinja2", "numpy", "pillow", "imagecodecs", "isal")
"""Other versions of these may write other bytes for the same thing."""
_FACTS = tuple(one.name for one in fields(Drawn) if one.name not in ("path", "data"))


def key_of(*parts: object) -> str:
    """Digest of plain values; equal values in equal order give equal keys."""
    return hashlib.sha256("\0".join(map(repr, parts)).encode("utf-8", "backslashreplace")).hexdigest()[:32]


def libraries() -> str:
    """Versions of the libraries whose output is remembered."""
    found = []
    for name in LIBRARIES:
        with contextlib.suppress(PackageNotFoundError):
            found.append(f"{name} {version(name)}")
    return ", ".join(found)


class Made:
    """The files of the site at `site` as `memory` knows them, and those of the new one below `folder`.

    code  digest of theme, sentences and code; nothing made by other code is taken over
    A file is taken over by a hard link, or a copy where there are none, so that the old site stays whole.
    """

    def __init__(self, folder: Path, site: Path | None = None, memory: Path | None = None, code: str = "") -> None:
        self.folder, self.site, self.memory = folder, site, memory
        self.code = f"{code} {libraries()}" if memory else ""
        kept = _read(memory, self.code) if memory else {}
        self.pages: dict[str, Any] = kept.get("pages", {})
        self._old: dict[str, list[Any]] = kept.get("files", {})
        self._new: dict[str, tuple[str, Any]] = {}
        self._folders: set[str] = set()

    def facts(self, key: str) -> Any:
        """What was remembered with a file, or None."""
        entry = self._old.get(key)
        return None if entry is None else entry[3]

    def take(self, key: str, path: str) -> bool:
        """Put the file that was made of `key` at `path` of the new site. False when there is none, or it was changed."""
        entry = self._old.get(key)
        if entry is None or self.site is None:
            return False
        source, target = f"{self.site}/{entry[0]}", f"{self.folder}/{path}"
        try:
            if not _as_written(source, entry):
                return False
            self._ready(os.path.dirname(target))
            _link(source, target)
        except OSError:
            return False
        self._new[path] = (key, entry[3])
        return True

    def put(self, key: str, path: str, data: bytes, facts: Any = None) -> None:
        """Write a new file and note what it was made of."""
        target = f"{self.folder}/{path}"
        self._ready(os.path.dirname(target))
        with open(target, "wb") as stream:
            stream.write(data)
        self.note(key, path, facts)

    def note(self, key: str, path: str, facts: Any = None) -> None:
        """Note what a file was made of that somebody else writes."""
        self._new[path] = (key, facts)

    def file(self, key: str, path: str, make: Callable[[], bytes]) -> None:
        """A file of the new site, taken over or made."""
        if not self.take(key, path):
            self.put(key, path, make())

    def drawn(self, key: str, path: str, make: Callable[[], Drawn | None]) -> Drawn | None:
        """A picture of the new site without its bytes, taken over or drawn; None when it cannot be drawn."""
        if self.take(key, path):
            given = dict(zip(_FACTS, self.facts(key), strict=True))
            return Drawn(path, b"", **{**given, "box": tuple(given["box"])})
        one = make()
        if one is None:
            return None
        self.put(key, path, one.data, [getattr(one, name) for name in _FACTS])
        return replace(one, data=b"")

    def _ready(self, folder: str) -> None:
        if folder not in self._folders:
            os.makedirs(folder, exist_ok=True)
            self._folders.add(folder)

    def save(self, pages: dict[str, Any]) -> None:
        """Remember the new site, which now lies at `site`. What cannot be remembered is made again."""
        if self.memory is None or self.site is None:
            return
        files = {}
        for path, (key, facts) in self._new.items():
            with contextlib.suppress(OSError):
                state = os.lstat(f"{self.site}/{path}")
                files[key] = [path, state.st_size, state.st_mtime_ns, facts]
        kept = {"format": FORMAT, "code": self.code, "files": files, "pages": pages}
        write_atomic(self.memory, json.dumps(kept, separators=(",", ":")).encode("ascii"))


def stands(site: Path, memory: Path) -> bool:
    """Whether every remembered file lies in the site as it was written; True when nothing is remembered."""
    try:
        files = json.loads(memory.read_bytes())["files"].values()
        return all(_as_written(f"{site}/{entry[0]}", entry) for entry in files)
    except FileNotFoundError:
        return not memory.is_file()
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return False  # a damaged memory


def _as_written(file: str, entry: list[Any]) -> bool:
    """Whether a file is the one that was remembered. Raises OSError when there is none."""
    state = os.lstat(file)
    return stat.S_ISREG(state.st_mode) and [state.st_size, state.st_mtime_ns] == entry[1:3]


def _read(memory: Path, code: str) -> dict[str, Any]:
    with contextlib.suppress(OSError, ValueError):
        kept = json.loads(memory.read_bytes())
        if isinstance(kept, dict) and (kept.get("format"), kept.get("code")) == (FORMAT, code):
            return kept
    return {}


def _link(source: str, target: str) -> None:
    try:
        os.link(source, target, follow_symlinks=False)
    except OSError:
        shutil.copy2(source, target, follow_symlinks=False)
