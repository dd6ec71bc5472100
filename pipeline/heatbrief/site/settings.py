"""What a manifest may set for the site."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from heatbrief.model.settings import setting


@dataclass(frozen=True)
class SiteSettings:
    """How the site is written."""

    units: Literal["as surveyed", "metric", "us"] = setting(
        "as surveyed", help='units the site shows; "as surveyed" takes the survey\'s'
    )
    language: str = setting(
        "", help="language of the fixed sentences; empty takes the survey's", names="language", example="en"
    )
