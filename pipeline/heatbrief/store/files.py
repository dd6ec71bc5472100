"""Writing so that nothing half-written is ever seen."""

from __future__ import annotations

import ctypes
import errno
import hashlib
import os
import re
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO, Protocol

from heatbrief.errors import UserError

Mark = tuple[int, int, int]
"""Size in bytes, time of the last change [ns] and inode of a file."""


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Turn what the system says about `path` into UserError "cannot-write"."""
    try:
        yield
    except OSError as error:
        raise UserError.single(
            "cannot-write",
            path,
            f"could not be written: {error.strerror or error}",
            "Check the free space and the permissions of the output folder, or choose another with --out.",
        ) from error


def write_atomic(path: Path, data: bytes) -> bool:
    """Write through a temporary neighbour and a rename. Returns False when the file already held these bytes.

    Raises UserError "cannot-write" when the folder or disk refuses.
    """
    with writing(path):
        if path.is_file() and path.stat().st_size == len(data) and path.read_bytes() == data:
            return False
        _put_in_place(path, data)
    return True


def _put_in_place(path: Path, data: bytes) -> None:
    temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        try:
            temporary.write_bytes(data)
        except FileNotFoundError:  # the folder is made when it is missed, which spares a question for each file
            path.parent.mkdir(parents=True, exist_ok=True)
            temporary.write_bytes(data)
        os.replace(temporary, path)
    except BaseException:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise


def swap_folder(built: Path, out: Path) -> None:
    """Put a new folder in the place of an old one in one step, then remove the old one. Raises OSError.

    Where the system cannot exchange two folders, `out` is missing for a moment, but is never half of each.
    """
    old = built
    if not out.exists():
        built.rename(out)
        return
    if not _exchange(built, out):
        old = out.with_name(f"{out.name}.old-{os.getpid()}")
        out.rename(old)
        try:
            built.rename(out)
        except OSError:
            old.rename(out)
            raise
    shutil.rmtree(old, ignore_errors=True)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders by one system call; False where there is none."""
    if not sys.platform.startswith("linux"):
        return False
    here, exchange = -100, 2  # AT_FDCWD and RENAME_EXCHANGE of renameat2(2)
    try:
        call = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):
        return False
    if call(here, os.fsencode(one), here, os.fsencode(other), exchange) == 0:
        return True
    if ctypes.get_errno() in (errno.ENOSYS, errno.EINVAL, errno.EPERM, errno.EOPNOTSUPP):
        return False
    raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()), str(other))


_LEFT = re.compile(r"\..+\.\d+\.part|\.lock\..+\.(part|old)|.+\.(tmp|old)-\d+")


def sweep(folder: Path) -> None:
    """Remove what killed runs left unfinished in a folder. Only for the holder of its lock."""
    with suppress(OSError):
        for path in folder.iterdir():
            if _LEFT.fullmatch(path.name) and not path.is_symlink():
                if path.is_dir():
                    shutil.rmtree(path, ignore_errors=True)
                else:
                    path.unlink(missing_ok=True)


def mark_of(path: Path | str) -> Mark | None:
    """What tells cheaply whether a file was changed; None when it is not there."""
    try:
        state = os.stat(path)
    except OSError:
        return None
    return state.st_size, max(state.st_mtime_ns, state.st_ctime_ns), state.st_ino


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's content, in hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def checked_name(name: str) -> str:
    """The name of an object; UserError "bad-object-name" for one that could point elsewhere."""
    if "/" in name or "\\" in name or name.startswith("."):
        raise UserError.single(
            "bad-object-name",
            name,
            "is not the name of a stored picture",
            "The results document was changed; run the survey again.",
        )
    return name


class Objects(Protocol):
    """Objects named by the SHA-256 of their content, wherever they lie."""

    def put(self, data: bytes, suffix: str) -> str:
        """Keep the bytes; returns the object's name, `<sha256><suffix>`."""

    def open(self, name: str) -> BinaryIO:
        """The bytes of an object. Raises OSError or ValueError when it is gone or damaged."""

    def names(self) -> frozenset[str]:
        """Names of all objects that are there."""

    def keep_only(self, names: set[str]) -> None:
        """Remove every object that is not named."""


class ObjectStore:
    """Objects as files of one folder."""

    def __init__(self, root: Path) -> None:
        self.root = root

    def put(self, data: bytes, suffix: str) -> str:
        """Keep the bytes; returns the object's file name, `<sha256><suffix>`."""
        name = hashlib.sha256(data).hexdigest() + suffix
        path = self.root / name
        if not path.is_file():
            with writing(path):
                _put_in_place(path, data)
        return name

    def path(self, name: str) -> Path:
        """Where an object lies. Names are checked so that a document cannot point outside."""
        return self.root / checked_name(name)

    def open(self, name: str) -> BinaryIO:
        """The bytes of an object. Raises OSError when it is gone."""
        return self.path(name).open("rb")

    def names(self) -> frozenset[str]:
        """Names of all objects that are there."""
        return frozenset(os.listdir(self.root)) if self.root.is_dir() else frozenset()

    def keep_only(self, names: set[str]) -> None:
        """Remove every object that is not named. Raises UserError "cannot-write" when the folder refuses."""
        for name in sorted(self.names() - names):
            path = self.root / name
            with writing(path):
                if path.is_file():
                    path.unlink(missing_ok=True)
