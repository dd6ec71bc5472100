"""Where the files of one property lie below the output folder."""

from __future__ import annotations

import secrets
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from heatbrief.store.cache import Cache
from heatbrief.store.files import Objects, ObjectStore
from heatbrief.store.lock import Lock
from heatbrief.store.shared import store_at

HIDDEN = ".heatbrief"
"""Name of the folder with what is not published, below the output folder."""


@dataclass(frozen=True)
class Folders:
    """Where one property's files go below the output folder, and where workers keep objects.

    store  path or fsspec address of storage that all workers share; "" when they share the output folder
    """

    out: Path
    slug: str
    store: str = ""
    token: str = field(default_factory=lambda: secrets.token_hex(8), compare=False, repr=False)

    @property
    def published(self) -> Path:
        """Published: results.json, tables, objects, site."""
        return self.out / self.slug

    @property
    def work(self) -> Path:
        """Not published: the cache and the exact arrays."""
        return self.out / HIDDEN / self.slug

    @property
    def cache(self) -> Cache:
        """The cache of this property."""
        return Cache(self.work / "cache.sqlite")

    @property
    def lock(self) -> Lock:
        """Held by the one run or publication that is at work on this property."""
        return Lock(self.work / "lock")

    @property
    def watch(self) -> Path:
        """Marks of workers that were ended for their time; only there during a run."""
        return Path(tempfile.gettempdir()) / f"heatbrief-{self.token}" if self.store else self.work / "watch"

    @property
    def arrays(self) -> Objects:
        """Exact arrays for later steps."""
        return store_at(self.store, self.slug) if self.store else ObjectStore(self.work / "objects")

    @property
    def made(self) -> Objects:
        """Where workers put pictures to be published: `objects`, or the shared store they are fetched from."""
        return store_at(self.store, self.slug) if self.store else self.objects

    @property
    def objects(self) -> ObjectStore:
        """Published pictures."""
        return ObjectStore(self.published / "objects")
