"""How large an input may be, and the guard that turns any failure of a decoder into a StepError."""

from __future__ import annotations

import stat
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from heatbrief.errors import StepError

MOST_PIXELS = 50_000_000
MOST_BYTES = 1 << 30
MOST_TEXT_BYTES = 256 << 20
MOST_SIDECAR_BYTES = 64 << 10
MOST_PAGES = 100_000

_TAKE_AGAIN = "Copy the file again from the camera or its card, or export it again."


def check_file(path: Path, most: int = MOST_BYTES) -> int:
    """Size in bytes of a regular file within the limit; StepError "unreadable-file", "empty-file" or "too-large"."""
    try:
        status = path.stat()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise StepError(
            "unreadable-file", f"the file cannot be opened: {reason}", "Check the name and the permissions."
        ) from None
    if not stat.S_ISREG(status.st_mode):
        raise StepError("unreadable-file", "this is not a regular file", "Give the path of a picture file.")
    if status.st_size == 0:
        raise StepError("empty-file", "the file is empty", _TAKE_AGAIN)
    if status.st_size > most:
        raise StepError(
            "too-large",
            f"the file has {status.st_size:,} bytes; at most {most:,} are read",
            "Cut the picture or split the file into pages.",
        )
    return status.st_size


def check_pixels(width: int, height: int) -> None:
    """StepError "too-large" or "damaged" unless the picture has between one pixel and the limit."""
    if width < 1 or height < 1:
        raise damaged(f"a picture of {width} x {height} pixels")
    if width * height > MOST_PIXELS:
        raise StepError(
            "too-large",
            f"the picture has {width} x {height} pixels; the limit is {MOST_PIXELS} in all",
            "Cut the picture into parts.",
        )


def check_page(asked: int, pages: int) -> None:
    """StepError "no-such-page" when the manifest asks for a page the file does not have."""
    if not 0 <= asked < pages:
        raise StepError(
            "no-such-page",
            f"page {asked} is asked for and the file has {pages}, counted from 0",
            "Correct `page` in the manifest.",
        )


def damaged(reason: str) -> StepError:
    """The error for bytes that do not make sense."""
    return StepError("damaged", f"the file cannot be decoded: {reason}", _TAKE_AGAIN)


def truncated(reason: str) -> StepError:
    """The error for a file that ends too early."""
    return StepError("truncated", f"the file ends too early: {reason}", _TAKE_AGAIN)


@contextmanager
def decoding(what: str) -> Iterator[None]:
    """Decoders of general formats raise nearly anything on hostile bytes; here all of it becomes one StepError."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except StepError:
        raise
    except MemoryError:
        raise StepError(
            "too-large", f"there is not enough memory for this {what}", "Cut the picture into parts."
        ) from None
    except Exception as error:
        reason = " ".join(str(error).split())[:200] or type(error).__name__
        if "truncated" in reason.lower() or isinstance(error, EOFError):
            raise truncated(f"{what}: {reason}") from None
        raise damaged(f"{what}: {reason}") from None
