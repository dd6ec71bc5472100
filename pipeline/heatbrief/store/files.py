"""Writing so that nothing half-written is ever seen."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from heatbrief.errors import UserError


def write_atomic(path: Path, data: bytes) -> bool:
    """Write through a temporary neighbour and a rename. Returns False when the file already held these bytes.

    Raises UserError "cannot-write" when the folder or disk refuses.
    """
    try:
        if path.is_file() and path.stat().st_size == len(data) and path.read_bytes() == data:
            return False
        path.parent.mkdir(parents=True, exist_ok=True)
        temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
        try:
            temporary.write_bytes(data)
            os.replace(temporary, path)
        finally:
            temporary.unlink(missing_ok=True)
    except OSError as error:
        raise UserError.single("cannot-write", path, f"could not be written: {error.strerror or error}",
                               "Check the free space and the permissions of the output folder, or choose another with --out.") from error
    return True


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's content, in hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


class ObjectStore:
    """Files named by the SHA-256 of their content."""

    def __init__(self, root: Path):
        self.root = root

    def put(self, data: bytes, suffix: str) -> str:
        """Keep the bytes; returns the object's file name, `<sha256><suffix>`."""
        name = hashlib.sha256(data).hexdigest() + suffix
        path = self.root / name
        if not path.is_file():
            write_atomic(path, data)
        return name

    def path(self, name: str) -> Path:
        """Where an object lies. Names are checked so that a document cannot point outside."""
        if "/" in name or "\\" in name or name.startswith("."):
            raise UserError.single("bad-object-name", name, "is not the name of a stored picture", "The results document was changed; run the survey again.")
        return self.root / name

    def names(self) -> frozenset[str]:
        """Names of all objects that are there."""
        return frozenset(path.name for path in self.root.iterdir()) if self.root.is_dir() else frozenset()

    def keep_only(self, names: set[str]) -> None:
        """Remove every object that is not named."""
        if self.root.is_dir():
            for path in self.root.iterdir():
                if path.name not in names and path.is_file():
                    path.unlink(missing_ok=True)
