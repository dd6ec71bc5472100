"""What several checks work out alike about one picture is worked out once, while that picture is being looked at."""

from __future__ import annotations

import weakref
from collections.abc import Callable, Hashable
from typing import Any, TypeVar

import numpy as np

Found = TypeVar("Found")

_last: tuple[Callable[[], Any], dict[Hashable, Any]] = (lambda: None, {})


def once(values: np.ndarray, key: Hashable, make: Callable[[], Found]) -> Found:
    """What `make()` gives, or what it gave for the same picture and key before.

    values  the pixels, (height, width). Only those of the last picture, and only read-only ones, are remembered for, so
            that nothing can have changed in between
    key     everything else that the result depends on; masks by `mask_key`
    The result must not be changed by anybody.
    """
    global _last
    if values.flags.writeable:
        return make()
    picture, found = _last
    if picture() is not values:
        picture, found = _last = (weakref.ref(values), {})
    if key not in found:
        found[key] = make()
    result: Found = found[key]
    return result


def mask_key(mask: np.ndarray) -> Hashable:
    """What tells a mask from all others, bool of any shape."""
    if mask.all():
        return mask.shape, b""
    return mask.shape, np.packbits(mask).tobytes()  # compared as quickly as a digest of it is made


def ends_of(values: np.ndarray, mask: np.ndarray) -> tuple[float, float]:
    """Lowest and highest pixel of a mask with at least one."""

    def found() -> tuple[float, float]:
        inside = inside_of(values, mask)
        return float(inside.min()), float(inside.max())

    return once(values, ("ends", mask_key(mask)), found)


def mean_of(values: np.ndarray, mask: np.ndarray) -> float:
    """Mean of the pixels of a mask with at least one; asked for of the same pixels again and again."""
    return once(values, ("mean", mask_key(mask)), lambda: float(inside_of(values, mask).mean(dtype=np.float64)))


def inside_of(values: np.ndarray, mask: np.ndarray) -> np.ndarray:
    """The values of a mask in reading order; of a mask that holds all of them without a copy."""
    return values.ravel() if mask.all() else values[mask]
