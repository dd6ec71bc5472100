"""Results to what is published: each property's publishers, and the portfolio when there are several properties."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from heatbrief.api import Publisher
from heatbrief.engine.jobs import Plan
from heatbrief.engine.limits import time_limit
from heatbrief.engine.select import DEFAULT_PUBLISHER
from heatbrief.errors import Problem
from heatbrief.model.results import ResultsDocument
from heatbrief.site.build import MARKER, code_digest
from heatbrief.site.made import FILE as MADE
from heatbrief.site.made import stands
from heatbrief.site.portfolio import build_portfolio
from heatbrief.site.publisher import FOLDER, publish
from heatbrief.store.cache import CachedJob
from heatbrief.store.comparison import FILE as COMPARISON
from heatbrief.store.comparison import FOLDER as COMPARED
from heatbrief.store.files import sha256_of, swap_folder
from heatbrief.store.keys import digest_of
from heatbrief.store.results import FILE as RESULTS

PUBLISHED = "published"
"""Address of the remembered state of a site."""


def publish_all(
    done: Sequence[tuple[Plan, ResultsDocument]], out: Path, failed: Callable[[Problem], None] = lambda problem: None
) -> Path:
    """Run every property's publishers; returns the page to open first.

    failed  is told of each publisher of a plugin that fails; what it published before stays, and the others go on
    """
    for plan, results in done:
        for publisher, settings in plan.stages.publish:
            own = plan.folders.published / (FOLDER if publisher.name == DEFAULT_PUBLISHER else publisher.name)
            if publisher.name == DEFAULT_PUBLISHER:
                _site(plan, results, own, settings)
            else:
                _other(plan, results, own, publisher, settings, failed)
    return portfolio([(plan.folders.slug, results) for plan, results in done], out)


def _other(
    plan: Plan,
    results: ResultsDocument,
    own: Path,
    publisher: Publisher,
    settings: Any,
    failed: Callable[[Problem], None],
) -> None:
    """A publisher of a plugin writes into an empty folder, which takes the place of the old one when it is done."""
    fresh = own.with_name(f"{own.name}.tmp-{os.getpid()}")
    try:
        shutil.rmtree(fresh, ignore_errors=True)
        fresh.mkdir(parents=True)
        with time_limit(publisher.name):
            publisher.run(results, plan.folders.objects.root, fresh, settings)
        swap_folder(fresh, own)
    except Exception as error:  # whatever it raises is charged to this publisher alone
        owner = plan.registry.owners.get(publisher.name, "its plugin")
        said = f"failed for {results.property.name}: {type(error).__name__}: {str(error)[:300]}"
        remedy = f"Tell the authors of {owner}, or leave {publisher.name} out under stages: publish."
        failed(Problem(publisher.name, "publisher-failed", said, remedy))
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _site(plan: Plan, results: ResultsDocument, own: Path, settings: Any) -> None:
    """The site, unless it is there as it was written and was made of the same results, settings and code."""
    remembered, memory = plan.remembered.get(PUBLISHED), plan.folders.work / MADE
    state = _state(plan, own, settings)
    same = remembered is not None and remembered.parts == state and (own / "index.html").is_file()
    if same and stands(own, memory):
        return
    publish(results, plan.folders.objects.root, own, settings, memory, state["results"], anew=same)
    plan.cache.remember([CachedJob(PUBLISHED, _state(plan, own, settings), "{}")])


def _state(plan: Plan, own: Path, settings: Any) -> dict[str, str]:
    marker, compared = own / MARKER, plan.folders.published / COMPARED / COMPARISON
    return {
        "results": sha256_of(plan.folders.published / RESULTS),
        "code": code_digest(),
        "settings": digest_of(settings),
        "comparison": sha256_of(compared) if compared.is_file() else "",
        "site": sha256_of(marker) if marker.is_file() else "",
    }


def portfolio(properties: Sequence[tuple[str, ResultsDocument]], out: Path) -> Path:
    """With several properties write DIR/index.html; returns the page to open first."""
    if len(properties) > 1:
        build_portfolio(properties, out)
        return out / "index.html"
    return out / properties[0][0] / FOLDER / "index.html"
