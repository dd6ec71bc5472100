"""Parts of pages that plugins make from the results. They are stored with them, so a site made later is the same."""

from __future__ import annotations

import itertools
from dataclasses import replace

from heatbrief.api.offers import PagePart
from heatbrief.api.part_checks import MOST_PARTS, part_fault
from heatbrief.engine.limits import time_limit
from heatbrief.engine.tasks import failure
from heatbrief.errors import StepError
from heatbrief.model.part import Part
from heatbrief.model.results import NotAnalysed, ResultsDocument, SourceRecord
from heatbrief.registry import Registry

WHERE = "pages"
"""Where a failed part is listed as having stood."""


def with_parts(document: ResultsDocument, registry: Registry) -> ResultsDocument:
    """The document with the parts that plugins add; what fails or is refused is listed in it."""
    made: list[Part] = []
    refused: list[NotAnalysed] = []
    for offer in registry.page_parts.values():
        if offer.domain and offer.domain not in document.survey.inspected:
            continue
        try:
            made += _parts(offer, document, registry.owners.get(offer.name, ""))
        except Exception as error:  # whatever it raises is charged to this part alone
            refused.append(failure(WHERE, offer.name, error).entry)
    if not made and not refused:
        return document
    known = {one.key: one for one in document.sources}
    for key in sorted({key for part in made for key in part.sources} - set(known)):
        known[key] = registry.sources.get(key, SourceRecord(key, key, "not described by its plugin"))
    return replace(
        document,
        parts=tuple(made),
        sources=tuple(known[key] for key in sorted(known)),
        not_analysed=(*refused, *document.not_analysed),
    )


def _parts(offer: PagePart, document: ResultsDocument, owner: str) -> list[Part]:
    with time_limit(offer.name):
        given = list(itertools.islice(offer.run(document), MOST_PARTS + 1))
    if len(given) > MOST_PARTS:
        raise _refusal(offer, f"gives more than {MOST_PARTS} parts")
    for part in given:
        if fault := part_fault(part, document):
            raise _refusal(offer, fault)
    return [replace(part, name=offer.name, plugin=owner) for part in given]


def _refusal(offer: PagePart, fault: str) -> StepError:
    return StepError(
        "part-refused",
        f"{offer.name} was left out of the pages: {fault}.",
        f"Update or remove the package that offers {offer.name}, and tell its authors.",
    )
