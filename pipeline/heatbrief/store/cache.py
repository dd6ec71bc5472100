"""A property's job outcomes and file digests: one SQLite file, written by one process, safe against being killed."""

from __future__ import annotations

import json
import sqlite3
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from heatbrief.store.files import Mark, mark_of, sha256_of, writing

_SCHEMA = """
CREATE TABLE IF NOT EXISTS jobs (address TEXT PRIMARY KEY, parts TEXT, output TEXT);
CREATE TABLE IF NOT EXISTS digests (
    path TEXT PRIMARY KEY, size INTEGER, changed INTEGER, inode INTEGER, read INTEGER, sha256 TEXT);
DROP TABLE IF EXISTS files;
"""

SETTLED_NS = 2_000_000_000
"""A file that was changed less than this before it was read [ns] is read again next time: it may be written again in
the same tick of its file system's clock (2 s is the longest in use). A clock that was set back only costs reading."""


FEW, THREADS = 8, 4
"""More files than `FEW` are read by `THREADS` threads; most of the work is done outside the interpreter's lock."""


@dataclass(frozen=True)
class CachedJob:
    """What a job gave the last time. `output` is JSON text."""

    address: str
    parts: Mapping[str, str]
    output: str


class Cache:
    """Reads never change the file; each write is one transaction."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.marks: dict[Path, Mark | None] = {}
        self._fresh: list[tuple[str | int, ...]] = []

    def jobs(self) -> dict[str, CachedJob]:
        """Every remembered job by its address."""
        rows = self._read("SELECT address, parts, output FROM jobs")
        parts = json.loads(f"[{','.join(row[1] for row in rows)}]")  # at once, which is much quicker
        return {row[0]: CachedJob(row[0], named, row[2]) for row, named in zip(rows, parts, strict=True)}

    def remember(self, jobs: Iterable[CachedJob]) -> None:
        """Keep outcomes, replacing older ones at the same address."""
        rows = [(job.address, json.dumps(dict(job.parts), sort_keys=True), job.output) for job in jobs]
        self._write("INSERT OR REPLACE INTO jobs VALUES (?, ?, ?)", rows)

    def forget(self, addresses: Iterable[str]) -> None:
        """Drop outcomes that no plan asks for any more."""
        self._write("DELETE FROM jobs WHERE address = ?", [(address,) for address in addresses])

    def digests(self, paths: Iterable[Path]) -> dict[Path, str]:
        """SHA-256 of each existing file; read anew only when size, time of change or inode differ from the last time.

        `marks` tells afterwards what each file was like then.
        """
        known = {row[0]: row[1:] for row in self._read("SELECT path, size, changed, inode, read, sha256 FROM digests")}
        found: dict[Path, str] = {}
        unknown: list[tuple[Path, Mark, int]] = []
        self.marks = {}
        for path in dict.fromkeys(paths):
            mark, now = mark_of(path), time.time_ns()
            self.marks[path] = mark
            if mark is None:
                continue  # a missing or unreadable file is reported where it is read
            old = known.get(str(path))
            if old is not None and tuple(old[:3]) == mark and mark[1] + SETTLED_NS < old[3]:
                found[path] = old[4]
            else:
                unknown.append((path, mark, now))
        read = list(zip(unknown, _digests([path for path, _, _ in unknown]), strict=True))
        found |= {path: digest for (path, _, _), digest in read if digest}
        self._fresh = [(str(path), *mark, now, digest) for (path, mark, now), digest in read if digest]
        return found

    def remember_digests(self) -> None:
        """Keep the digests that `digests` had to compute."""
        self._write("INSERT OR REPLACE INTO digests VALUES (?, ?, ?, ?, ?, ?)", self._fresh)
        self._fresh = []

    def _read(self, query: str) -> list[tuple[Any, ...]]:
        if not self.path.is_file():
            return []
        try:
            with closing(
                sqlite3.connect(f"{self.path.resolve().as_uri()}?mode=ro", uri=True, timeout=60)
            ) as connection:
                return connection.execute(query).fetchall()
        except sqlite3.DatabaseError:
            return []  # a damaged cache only costs time: everything is computed again

    def _write(self, query: str, rows: list[tuple[Any, ...]]) -> None:
        if not rows:
            return
        with writing(self.path):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            try:
                try:
                    self._write_once(query, rows)
                except sqlite3.OperationalError:
                    raise
                except sqlite3.DatabaseError:  # a damaged file; what it held is computed again
                    self.path.unlink(missing_ok=True)
                    self._write_once(query, rows)
            except sqlite3.Error as error:
                raise OSError(str(error)) from error

    def _write_once(self, query: str, rows: list[tuple[Any, ...]]) -> None:
        with closing(sqlite3.connect(self.path, timeout=60)) as connection, connection:
            connection.executescript(_SCHEMA)
            connection.executemany(query, rows)


def _digests(paths: Sequence[Path]) -> Iterator[str]:
    """The digest of each file, "" where it cannot be read; many are read by several threads."""
    if len(paths) <= FEW:
        yield from map(_digest, paths)
        return
    with ThreadPoolExecutor(THREADS) as pool:
        yield from pool.map(_digest, paths)


def _digest(path: Path) -> str:
    try:
        return sha256_of(path)
    except OSError:
        return ""
