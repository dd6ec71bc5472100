"""What a camera adds to every picture by itself, as found in frames that show it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True)
class FlatField:
    """The frames a manifest names, and the pattern estimated from them when a step is called.

    frames    (file, sha256 of its content); with `of` they are all that the pattern depends on
    of        "even surface" or "many scenes"
    pattern   float32 (height, width), median 0, to be subtracted; None when there is nothing that repeats
    kelvin    True when the pattern is in kelvin, False for counts
    step      kelvin per count of the frames, if known
    smooth, lines   standard uncertainty that stays behind of the slow part and of rows and columns, unit of the pattern
    notes     what was found, in words
    used      how many of the frames could be used
    """

    frames: tuple[tuple[str, str], ...]
    of: str = "even surface"
    pattern: np.ndarray | None = field(default=None, compare=False)
    kelvin: bool = False
    step: float | None = None
    smooth: float = 0.0
    lines: float = 0.0
    notes: tuple[str, ...] = ()
    used: int = 0
