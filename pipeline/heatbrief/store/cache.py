"""The cache of a property's job outcomes and file digests: one SQLite file, written by one process, safe against being killed."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from heatbrief.errors import UserError
from heatbrief.store.files import sha256_of

_SCHEMA = """
CREATE TABLE IF NOT EXISTS jobs (address TEXT PRIMARY KEY, parts TEXT, output TEXT);
CREATE TABLE IF NOT EXISTS files (path TEXT PRIMARY KEY, size INTEGER, changed INTEGER, inode INTEGER, sha256 TEXT);
"""


@dataclass(frozen=True)
class CachedJob:
    """What a job gave the last time. `output` is JSON text."""

    address: str
    parts: Mapping[str, str]
    output: str


class Cache:
    """Reads never change the file; each write is one transaction."""

    def __init__(self, path: Path):
        self.path = path

    def jobs(self) -> dict[str, CachedJob]:
        """Every remembered job by its address."""
        rows = self._read("SELECT address, parts, output FROM jobs")
        return {address: CachedJob(address, json.loads(parts), output) for address, parts, output in rows}

    def remember(self, jobs: Iterable[CachedJob]) -> None:
        """Keep outcomes, replacing older ones at the same address."""
        rows = [(job.address, json.dumps(dict(job.parts), sort_keys=True), job.output) for job in jobs]
        self._write("INSERT OR REPLACE INTO jobs VALUES (?, ?, ?)", rows)

    def forget(self, addresses: Iterable[str]) -> None:
        """Drop outcomes that no plan asks for any more."""
        self._write("DELETE FROM jobs WHERE address = ?", [(address,) for address in addresses])

    def digests(self, paths: Iterable[Path]) -> dict[Path, str]:
        """SHA-256 of each existing file; read anew only when size, time of change or inode differ from the last time."""
        known = {row[0]: row[1:] for row in self._read("SELECT path, size, changed, inode, sha256 FROM files")}
        found: dict[Path, str] = {}
        fresh: list[tuple[str | int, ...]] = []
        for path in paths:
            try:
                state = path.stat()
                mark = (state.st_size, max(state.st_mtime_ns, state.st_ctime_ns), state.st_ino)
                old = known.get(str(path))
                if old is not None and tuple(old[:3]) == mark:
                    found[path] = old[3]
                else:
                    found[path] = sha256_of(path)
                    fresh.append((str(path), *mark, found[path]))
            except OSError:
                continue  # a missing or unreadable file is reported where it is read
        self._fresh = fresh
        return found

    def remember_digests(self) -> None:
        """Keep the digests that `digests` had to compute."""
        self._write("INSERT OR REPLACE INTO files VALUES (?, ?, ?, ?, ?)", getattr(self, "_fresh", []))
        self._fresh = []

    def _read(self, query: str) -> list[tuple]:  # type: ignore[type-arg]
        if not self.path.is_file():
            return []
        try:
            with closing(sqlite3.connect(f"{self.path.resolve().as_uri()}?mode=ro", uri=True, timeout=60)) as connection:
                return connection.execute(query).fetchall()
        except sqlite3.DatabaseError:
            return []  # a damaged cache only costs time: everything is computed again

    def _write(self, query: str, rows: list[tuple]) -> None:  # type: ignore[type-arg]
        if not rows:
            return
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            self._write_once(query, rows)
        except (OSError, sqlite3.OperationalError) as error:
            raise UserError.single("cannot-write", self.path, f"could not be written: {error}",
                                   "Check the free space and the permissions of the output folder, or choose another with --out.") from error
        except sqlite3.DatabaseError:
            self.path.unlink(missing_ok=True)
            self._write_once(query, rows)

    def _write_once(self, query: str, rows: list[tuple]) -> None:  # type: ignore[type-arg]
        with closing(sqlite3.connect(self.path, timeout=60)) as connection, connection:
            connection.executescript(_SCHEMA)
            connection.executemany(query, rows)
