"""Synthetic scenes with known truth, and helpers for people who write plugins; names load when first used."""

from __future__ import annotations

import importlib
from typing import Any

_HOMES = {
    "contract": ("Fault", "check_plugin"),
    "fields": ("Grid", "Part"),
    "load": ("Shot", "load_shots"),
    "new_plugin": ("project_files",),
    "parts": ("PARTS",),
    "rendering": ("Rendered", "render", "write"),
    "samples": ("as_thermogram", "context_for", "masked", "run_step", "step_named", "thermogram"),
    "scene": ("Imager", "Scene"),
    "truth": ("Truth", "TruthRecord", "read_truth"),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(importlib.import_module(f"{__name__}.{_HOME_OF[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOME_OF})
