"""alike.py ONE OTHER: whether two results documents say the same; other releases of numpy may move the tenth digit of a number."""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path
from typing import Any


def differences(one: Any, other: Any, place: str = "") -> list[str]:
    """Places at which the two differ by more than 1e-8 of the number."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        return [found for key in one for found in differences(one[key], other[key], f"{place}/{key}")]
    if isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        pairs = zip(one, other, strict=True)
        return [found for number, pair in enumerate(pairs) for found in differences(*pair, f"{place}/{number}")]
    if isinstance(one, float) and isinstance(other, float) and math.isclose(one, other, rel_tol=1e-8, abs_tol=1e-12):
        return []
    return [] if one == other else [f"{place}: {one} and {other}"]


if __name__ == "__main__":
    sys.exit("\n".join(differences(*(json.loads(Path(name).read_text("utf-8")) for name in sys.argv[1:]))) or 0)
