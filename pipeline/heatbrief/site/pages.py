"""All pages of a site from a results document and its drawn pictures. Pure: no files, no clock."""

from __future__ import annotations

from collections.abc import Iterator

from heatbrief.site.changes import Earlier, changes_page
from heatbrief.site.context import Site
from heatbrief.site.finding_page import finding_pages, findings_page
from heatbrief.site.narrow import Narrow
from heatbrief.site.overview import overview_page
from heatbrief.site.page import Page
from heatbrief.site.plan_page import plan_page
from heatbrief.site.print_page import print_page
from heatbrief.site.reference_pages import (
    caution_pages,
    cautions_page,
    conditions_page,
    method_page,
    not_analysed_page,
    sources_page,
    words_page,
)
from heatbrief.site.rooms_page import rooms_page
from heatbrief.site.thermogram_page import thermogram_pages, thermograms_page

SECTIONS = (
    "index",
    "findings",
    "rooms",
    "plan",
    "thermograms",
    "cautions",
    "conditions",
    "not-analysed",
    "method",
    "sources",
    "words",
    "print",
)


def sections_of(earlier: Earlier | None) -> tuple[str, ...]:
    """Names of the section pages in the order of the navigation."""
    at = SECTIONS.index("plan") + 1
    return SECTIONS if earlier is None else (*SECTIONS[:at], "changes", *SECTIONS[at:])


def pages_for(site: Site, earlier: Earlier | None = None) -> Iterator[Page]:
    """Every page, sections first."""
    yield overview_page(site, earlier is not None)
    yield findings_page(site)
    yield rooms_page(site)
    yield plan_page(site)
    yield thermograms_page(site)
    yield cautions_page(site)
    yield conditions_page(site)
    yield not_analysed_page(site)
    yield method_page(site)
    yield sources_page(site)
    yield words_page(site)
    yield print_page(site)
    if earlier is not None:
        yield changes_page(site, earlier)
    narrow = Narrow(site)
    yield from finding_pages(narrow)
    yield from thermogram_pages(narrow, earlier)
    yield from caution_pages(site)
