"""The site as a publisher, offered through the same door as anybody's."""

from __future__ import annotations

from pathlib import Path

from heatbrief.api import Publisher
from heatbrief.model.results import ResultsDocument
from heatbrief.site.settings import SiteSettings

FOLDER = "site"
"""Name of the site's folder below a property's."""


def publish(
    results: ResultsDocument,
    objects: Path,
    out: Path,
    settings: SiteSettings,
    memory: Path | None = None,
    digest: str = "",
    anew: bool = False,
) -> None:
    """Write the site into `out`. Nothing is rewritten when nothing it shows has changed. The rest as in `build_site`."""
    from heatbrief.site.build import build_site

    build_site(results, objects, out, settings, memory, digest, anew)


PUBLISHERS = (Publisher("heatbrief.site", 1, publish, SiteSettings, "a static site that opens from disk", "trial"),)
