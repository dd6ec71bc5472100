"""Results to what is published: each property's publishers, and the portfolio when there are several properties."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from heatbrief.engine.plan import Plan
from heatbrief.engine.select import DEFAULT_PUBLISHER
from heatbrief.model.results import ResultsDocument
from heatbrief.site.portfolio import build_portfolio
from heatbrief.site.publisher import FOLDER


def publish_all(done: Sequence[tuple[Plan, ResultsDocument]], out: Path) -> Path:
    """Run every property's publishers; returns the page to open first."""
    for plan, results in done:
        for publisher, settings in plan.stages.publish:
            own = FOLDER if publisher.name == DEFAULT_PUBLISHER else publisher.name
            publisher.run(results, plan.folders.objects.root, plan.folders.published / own, settings)
    return portfolio([(plan.folders.slug, results) for plan, results in done], out)


def portfolio(properties: Sequence[tuple[str, ResultsDocument]], out: Path) -> Path:
    """With several properties write DIR/index.html; returns the page to open first."""
    if len(properties) > 1:
        build_portfolio(properties, out)
        return out / "index.html"
    return out / properties[0][0] / FOLDER / "index.html"
