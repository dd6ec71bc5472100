"""A sentence as a code with its values, so that whoever prints it can say it in another language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from heatbrief.model.quantity import Quantity


@dataclass(frozen=True)
class Said:
    """What a sentence says: its code, and the values that stand in it by name. The English text stands beside it."""

    code: str
    values: Mapping[str, Quantity | str] = field(default_factory=dict)
