"""Where the files of one property lie below the output folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from heatbrief.store.cache import Cache
from heatbrief.store.files import ObjectStore
from heatbrief.store.lock import Lock


@dataclass(frozen=True)
class Folders:
    """Where one property's files go below the output folder."""

    out: Path
    slug: str

    @property
    def published(self) -> Path:
        """Published: results.json, tables, objects, site."""
        return self.out / self.slug

    @property
    def work(self) -> Path:
        """Not published: the cache and the exact arrays."""
        return self.out / ".heatbrief" / self.slug

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
        return self.work / "watch"

    @property
    def arrays(self) -> ObjectStore:
        """Exact arrays for later steps."""
        return ObjectStore(self.work / "objects")

    @property
    def objects(self) -> ObjectStore:
        """Published pictures."""
        return ObjectStore(self.published / "objects")
