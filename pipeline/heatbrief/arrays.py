"""Names for the array types of signatures, so that a type says what a number is and not only that it is one.

numpy hands back an `np.float64` where a result has no dimensions; its own stubs call that an array too, and so do these
names. `float(...)` makes a plain number of it.
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.floating[Any]]
"""Real numbers, float32 (pictures) or float64 (everything else)."""

IntArray: TypeAlias = NDArray[np.integer[Any]]
"""Whole numbers: labels, indices, class codes."""

Mask: TypeAlias = NDArray[np.bool_]
"""True where something holds, the shape of what it speaks about."""

Values: TypeAlias = float | FloatArray
"""One number or an array of them; arguments of one function broadcast against each other."""
