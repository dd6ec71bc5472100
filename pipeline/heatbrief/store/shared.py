"""Objects on storage that several machines share: a folder, or an address that fsspec understands."""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from heatbrief.errors import UserError
from heatbrief.store.files import Objects, ObjectStore, checked_name

_ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]+(?:://|::)")


def store_at(address: str, slug: str) -> Objects:
    """The objects of one property on shared storage.

    address  a path, or an fsspec address such as s3://bucket/heatbrief
    """
    if not _ADDRESS.match(address):
        return ObjectStore(Path(address).absolute() / slug)
    return SharedStore(address.rstrip("/"), slug)


def check_store(address: str) -> None:
    """Raise UserError "store-unusable" when the address cannot be used from here."""
    if address and _ADDRESS.match(address):
        SharedStore(address.rstrip("/"), "").names()


def public(address: str) -> str:
    """An address for messages and logs, without what gives access."""
    return re.sub(r"//[^/@]*@", "//", address).partition("?")[0]


@dataclass(frozen=True)
class SharedStore:
    """Objects below an fsspec address. Goes to workers as text; each opens the storage with its own rights.

    Storage of this kind may show an object that is still being written: an object counts only when it has its whole
    length, and what is read must have the digest that its name says.
    """

    address: str
    slug: str

    def put(self, data: bytes, suffix: str) -> str:
        """Keep the bytes; returns the object's name, `<sha256><suffix>`. Raises UserError "store-unusable"."""
        name = hashlib.sha256(data).hexdigest() + suffix
        with self._using() as (system, root):
            path = f"{root}/{name}"
            try:
                whole = system.size(path) == len(data)
            except FileNotFoundError:
                whole = False
            if not whole:
                system.makedirs(root, exist_ok=True)
                system.pipe_file(path, data)
        return name

    def open(self, name: str) -> BinaryIO:
        """The bytes of an object. Raises OSError or ValueError when it is gone or damaged."""
        with self._using() as (system, root):
            data = system.cat_file(f"{root}/{checked_name(name)}")
        if not name.startswith(hashlib.sha256(data).hexdigest()):
            raise ValueError(f"the object {name} is damaged")
        return io.BytesIO(data)

    def names(self) -> frozenset[str]:
        """Names of all objects that are there."""
        with self._using() as (system, root):
            try:
                system.invalidate_cache(root)
                return frozenset(path.rpartition("/")[2] for path in system.ls(root, detail=False))
            except FileNotFoundError:
                return frozenset()

    def keep_only(self, names: set[str]) -> None:
        """Remove every object that is not named. Raises UserError "store-unusable"."""
        for name in sorted(self.names() - names):
            with self._using() as (system, root):
                system.rm_file(f"{root}/{name}")

    @contextmanager
    def _using(self) -> Iterator[tuple[Any, str]]:
        """(file system, root); whatever a storage says, except that an object is not there, becomes UserError."""
        try:
            from fsspec.core import url_to_fs

            system, root = url_to_fs(f"{self.address}/{self.slug}")
            yield system, root.rstrip("/")
        except FileNotFoundError:
            raise
        except ImportError as error:
            raise self._unusable(
                f"a package is not installed: {error}",
                "Install fsspec and its package for this kind of storage on every machine, such as "
                "`pip install 'heatbrief[cluster]' s3fs`, or give --store a path.",
            ) from error
        except Exception as error:  # each kind of storage has errors of its own
            raise self._unusable(
                f"the storage cannot be used: {type(error).__name__}: {str(error)[:200]}",
                "Correct the address, and look whether this machine and every worker may read and write there.",
            ) from error

    def _unusable(self, message: str, remedy: str) -> UserError:
        return UserError.single("store-unusable", public(self.address), message.replace(self.address, "it"), remedy)
