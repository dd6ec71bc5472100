"""Message codes in full, for `heatbrief explain`."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files


@dataclass(frozen=True)
class Code:
    """What a message code means: a title, why it comes, what to do."""

    title: str
    cause: str
    remedy: str


@functools.lru_cache(maxsize=1)
def load_codes() -> Mapping[str, Code]:
    """Every message code of heatbrief itself."""
    import yaml

    raw = yaml.load(
        (files("heatbrief") / "codes.yaml").read_text("utf-8"), getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    )
    return {name: Code(**entry) for name, entry in raw.items()}
