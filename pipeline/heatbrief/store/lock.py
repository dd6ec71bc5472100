"""One run at a time on one output: a lock file that names its holder, and is taken over when the holder is gone."""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import socket
from pathlib import Path
from types import TracebackType
from typing import Any

from heatbrief.errors import UserError
from heatbrief.store.files import writing


class Lock:
    """A context manager. Raises UserError "run-at-work" while another process holds the lock.

    A lock of this machine whose process has ended is taken over; one of another machine cannot be judged.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.mine = ""

    def __enter__(self) -> Lock:
        self.mine = json.dumps(
            {
                "host": socket.gethostname(),
                "pid": os.getpid(),
                "started": _started(os.getpid()),
                "token": secrets.token_hex(8),
            }
        )
        with writing(self.path):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            for _ in range(3):
                if self._take():
                    return self
                self._clear_stale()
        raise self._refusal(_read(self.path))

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        with contextlib.suppress(OSError):
            if self.path.read_text("utf-8") == self.mine:
                self.path.unlink()
            for folder in (self.path.parent, self.path.parent.parent):  # only when nothing else was kept there
                folder.rmdir()

    def _take(self) -> bool:
        """Put the lock in its place with its whole text at once; False when one is there."""
        temporary = self.path.with_name(f".lock.{os.getpid()}.{secrets.token_hex(4)}.part")
        try:
            temporary.write_text(self.mine, "utf-8")
            try:
                os.link(temporary, self.path)
            except FileExistsError:
                return False
            except (OSError, AttributeError):  # a file system without links
                return self._create()
            return True
        finally:
            temporary.unlink(missing_ok=True)

    def _create(self) -> bool:
        try:
            with self.path.open("x", encoding="utf-8") as stream:
                stream.write(self.mine)
        except FileExistsError:
            return False
        return True

    def _clear_stale(self) -> None:
        """Move a lock away whose holder is gone; put it back when it turns out to be another one."""
        try:
            text = self.path.read_text("utf-8", "replace")
        except FileNotFoundError:
            return
        if _alive(_parsed(text)):
            raise self._refusal(_parsed(text))
        aside = self.path.with_name(f".lock.{os.getpid()}.{secrets.token_hex(4)}.old")
        with contextlib.suppress(FileNotFoundError):
            self.path.rename(aside)
            if aside.read_text("utf-8", "replace") != text:
                with contextlib.suppress(FileExistsError):
                    os.link(aside, self.path)
            aside.unlink(missing_ok=True)

    def _refusal(self, holder: dict[str, Any]) -> UserError:
        host, pid = holder.get("host", "an unknown machine"), holder.get("pid", "?")
        return UserError.single(
            "run-at-work",
            self.path.parent,
            f"another run is at work here (process {pid} on {host})",
            f"Wait until it is done, or choose another folder with --out. If that process is gone, remove {self.path}.",
        )


def _read(path: Path) -> dict[str, Any]:
    with contextlib.suppress(OSError):
        return _parsed(path.read_text("utf-8", "replace"))
    return {}


def _parsed(text: str) -> dict[str, Any]:
    with contextlib.suppress(ValueError):
        found = json.loads(text)
        return found if isinstance(found, dict) else {}
    return {}


def _alive(holder: dict[str, Any]) -> bool:
    """Whether the holder may still be at work. A lock that nobody can read is nobody's."""
    pid = holder.get("pid")
    if not isinstance(pid, int) or pid <= 0:
        return False
    if holder.get("host") != socket.gethostname():
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return _started(pid) == holder.get("started")


def _started(pid: int) -> str:
    """When a process began, as far as the system says so: another process may get the same number later."""
    with contextlib.suppress(OSError, IndexError):
        boot = Path("/proc/sys/kernel/random/boot_id").read_text("ascii").strip()
        return boot + " " + Path(f"/proc/{pid}/stat").read_text("ascii", "replace").rpartition(")")[2].split()[19]
    return ""
