"""Memory of one picture is used again for the next, instead of being given back to the system and asked for anew."""

from __future__ import annotations

import ctypes
import sys
from contextlib import suppress

_TRIM, _MAP = -1, -3
"""M_TRIM_THRESHOLD and M_MMAP_THRESHOLD of mallopt(3), for which the GNU library has no symbols."""
_KEPT = 256 << 20
_LARGEST = 32 << 20
"""Blocks up to so many bytes, the most that the library takes, come from memory that is kept."""


def keep_memory() -> None:
    """Keep what is freed for what is asked for next, in this process and those it forks; nothing where the C library
    is another.

    Otherwise each array of a picture may be mapped, filled with zeros page by page and unmapped again, which takes
    longer than most of what is worked out with it.
    """
    if sys.platform.startswith("linux"):
        with suppress(OSError, AttributeError):
            library = ctypes.CDLL(None)
            library.gnu_get_libc_version  # noqa: B018  # other libraries may know mallopt in another sense
            library.mallopt(_TRIM, _KEPT)
            library.mallopt(_MAP, _LARGEST)
