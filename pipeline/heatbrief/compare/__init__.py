"""Two surveys of one property: the same places made comparable, and what became of each finding."""

from __future__ import annotations

from heatbrief.compare.surveys import Survey, compare, read_survey

__all__ = ["Survey", "compare", "read_survey"]
