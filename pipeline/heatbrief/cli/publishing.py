"""Results to what is published: each property's publishers, and the portfolio when there are several properties."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from heatbrief.engine.plan import Plan
from heatbrief.engine.select import DEFAULT_PUBLISHER
from heatbrief.model.results import ResultsDocument
from heatbrief.site.build import MARKER, code_digest
from heatbrief.site.made import FILE as MADE
from heatbrief.site.portfolio import build_portfolio
from heatbrief.site.publisher import FOLDER, publish
from heatbrief.store.cache import CachedJob
from heatbrief.store.files import sha256_of
from heatbrief.store.keys import digest_of
from heatbrief.store.results import FILE as RESULTS

PUBLISHED = "published"
"""Address of the remembered state of a site."""


def publish_all(done: Sequence[tuple[Plan, ResultsDocument]], out: Path) -> Path:
    """Run every property's publishers; returns the page to open first."""
    for plan, results in done:
        for publisher, settings in plan.stages.publish:
            own = plan.folders.published / (FOLDER if publisher.name == DEFAULT_PUBLISHER else publisher.name)
            if publisher.name == DEFAULT_PUBLISHER:
                _site(plan, results, own, settings)
            else:
                publisher.run(results, plan.folders.objects.root, own, settings)
    return portfolio([(plan.folders.slug, results) for plan, results in done], out)


def _site(plan: Plan, results: ResultsDocument, own: Path, settings: Any) -> None:
    """The site, unless it is there and was made of the same results, settings and code."""
    remembered = plan.remembered.get(PUBLISHED)
    state = _state(plan, own, settings)
    if remembered is not None and remembered.parts == state and (own / "index.html").is_file():
        return
    publish(results, plan.folders.objects.root, own, settings, plan.folders.work / MADE, state["results"])
    plan.cache.remember([CachedJob(PUBLISHED, _state(plan, own, settings), "{}")])


def _state(plan: Plan, own: Path, settings: Any) -> dict[str, str]:
    marker = own / MARKER
    return {
        "results": sha256_of(plan.folders.published / RESULTS),
        "code": code_digest(),
        "settings": digest_of(settings),
        "site": sha256_of(marker) if marker.is_file() else "",
    }


def portfolio(properties: Sequence[tuple[str, ResultsDocument]], out: Path) -> Path:
    """With several properties write DIR/index.html; returns the page to open first."""
    if len(properties) > 1:
        build_portfolio(properties, out)
        return out / "index.html"
    return out / properties[0][0] / FOLDER / "index.html"
