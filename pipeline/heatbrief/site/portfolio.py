"""One page over several properties, most urgent first."""

from __future__ import annotations

import os
import tempfile
from collections import Counter, deque
from collections.abc import Mapping, Sequence
from pathlib import Path

from heatbrief_site import resource

from heatbrief import __version__
from heatbrief.errors import UserError
from heatbrief.model.finding import URGENCIES
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import ResultsDocument
from heatbrief.site.context import Data
from heatbrief.site.format import show
from heatbrief.site.markup import read_page
from heatbrief.site.overview import open_of, urgency_counts
from heatbrief.site.page import Page, data_line, safe_names
from heatbrief.site.prose import numerals, own_words, typeset
from heatbrief.site.publisher import FOLDER
from heatbrief.site.render import Rendering, extras
from heatbrief.site.words import Words
from heatbrief.store.comparison import FOLDER as COMPARED
from heatbrief.store.comparison import read_comparison

MOST_URGENT = 60
SUMS = {"cost": "cost", "saving": "yearly_saving"}
BESIDE = ("since", "compare")
"""Folders beside the site with pages of their own: what changed since the last report, and before against after."""
_SIGN = '<meta name="generator" content="heatbrief">'


def build_portfolio(properties: Sequence[tuple[str, ResultsDocument]], out: Path) -> bool:
    """Write `out/index.html`, which links `<slug>/site/index.html` of each property. False when it was up to date.

    Raises UserError when an index.html lies there that heatbrief did not write.
    """
    target = out / "index.html"
    old = target.read_bytes() if target.is_file() else b""
    if (old and _SIGN.encode() not in old) or target.is_dir():
        raise UserError.single(
            "not-a-site",
            target,
            "was not written by heatbrief",
            "Nothing was changed. Choose another folder with --out, or move that file.",
        )
    words = Words(properties[0][1].survey.language if properties else "en")
    beside = {
        slug: [
            one
            for one in BESIDE
            if (out / slug / one / "index.html").is_file()
            and (one != COMPARED or read_comparison(out / slug, results) is not None)
        ]
        for slug, results in properties
    }
    page = portfolio_page(properties, words, beside)
    css, script = (resource(f"theme/{name}").read_text("utf-8") for name in ("css/site.css", "js/search.js"))
    foot = words.say(
        "site.foot",
        version=__version__,
        manifest=words.count("portfolio.lead", len(properties)).split(",")[0].rstrip("."),
    )
    with tempfile.TemporaryDirectory(prefix="heatbrief-") as folder:
        work, built = Path(folder), Path(folder) / "site"
        shared = extras(words, foot, False, inline_css=css, inline_js=script)
        with Rendering(page.title, [(page.path, page.title)], shared, work, built) as mkdocs:
            list(mkdocs.pages(deque([(page, data_line(page.data))])))
        new = (built / page.path).read_bytes()
    _check(new.decode("utf-8"), {f"{slug}/{folder}/" for slug, _ in properties for folder in (FOLDER, *BESIDE)})
    if new == old:
        return False
    out.mkdir(parents=True, exist_ok=True)
    part = out / f".index.{os.getpid()}.part"
    part.write_bytes(new)
    part.replace(target)
    return True


def portfolio_page(
    properties: Sequence[tuple[str, ResultsDocument]], words: Words, beside: Mapping[str, Sequence[str]] | None = None
) -> Page:
    """The page of all properties: by most urgent open finding, then by how many of them, then by name.

    beside  folders of pages beside the site, by property, see BESIDE
    """
    ordered = sorted(properties, key=_order)
    data: Data = {
        "urgent": [one for slug, results in ordered for one in _urgent(slug, results, words)][:MOST_URGENT],
        "totals": _totals(properties, words),
        "together": _together([results for _, results in properties], words),
        "rows": [_row(slug, results, words, (beside or {}).get(slug, ())) for slug, results in ordered],
        "lead": words.count("portfolio.lead", len(properties)),
        "some_invented": any(results.property.invented for _, results in properties),
    }
    return Page("index.html", "portfolio.html", words.say("portfolio.title"), "index.html", data)


def _open_counts(results: ResultsDocument) -> Counter[str]:
    return Counter(one.urgency for one in open_of(results.findings))


def _order(entry: tuple[str, ResultsDocument]) -> tuple[tuple[int, ...], str, str]:
    slug, results = entry
    counts = _open_counts(results)
    return tuple(-counts[urgency] for urgency in URGENCIES), results.property.name, slug


def _row(slug: str, results: ResultsDocument, words: Words, beside: Sequence[str] = ()) -> Data:
    counts = _open_counts(results)
    most = next((urgency for urgency in URGENCIES if counts[urgency]), "none")
    phrase = words.get("urgency")[most]
    return {
        "name": results.property.name,
        "url": f"{slug}/{FOLDER}/index.html",
        "beside": [{"url": f"{slug}/{one}/index.html", "text": words.say(f"portfolio.{one}")} for one in beside],
        "search": _search_words(results),
        "address": results.property.address,
        "invented": results.property.invented,
        "urgency": most,
        "word": phrase["word"],
        "phrase": phrase["phrase"],
        "date": results.survey.date,
        "counts": urgency_counts(words, open_of(results.findings))
        or [{"urgency": "none", "text": words.say("portfolio.none")}],
        "open": str(sum(one.verdict == "inconclusive" for one in results.findings)),
        "skipped": str(len(results.not_analysed)),
        **{key: _amount(_sum(results, name), words) for key, name in SUMS.items()},
    }


def _sum(results: ResultsDocument, name: str) -> Quantity | None:
    """A sum of the plan of one property."""
    return None if results.brief is None else results.brief.total.get(name)


def _amount(quantity: Quantity | None, words: Words) -> str:
    return "" if quantity is None else numerals(show(quantity).value, words.get("numbers"))


def _together(documents: Sequence[ResultsDocument], words: Words) -> list[str]:
    """What all plans cost and save, for each currency. Bounds add straight: properties share prices and methods."""
    said = []
    for key, name in SUMS.items():
        given = [one for results in documents if (one := _sum(results, name)) is not None]
        for unit in sorted({one.unit for one in given}):
            mine = [one for one in given if one.unit == unit]
            if len(mine) > 1:
                value, low, high = (sum(getattr(one, end) for one in mine) for end in ("value", "low", "high"))
                told = _amount(Quantity(value, unit, low, high, mine[0].coverage, "sum over properties"), words)
                said.append(
                    words.say("portfolio.together" if key == "cost" else "portfolio.together_saving", **{key: told})
                )
    return said


def _urgent(slug: str, results: ResultsDocument, words: Words) -> list[Data]:
    """What asks for action today, with the way to its page."""
    names = safe_names(one.id for one in results.findings)
    own = own_words(results)
    return [
        {
            "text": typeset(results.texts.get(words.language, {}).get(one.title, one.title), own),
            "url": f"{slug}/{FOLDER}/findings/{names[one.id]}.html",
            "property": results.property.name,
            "room": one.room,
        }
        for one in open_of(results.findings)
        if one.urgency == "now"
    ]


def _totals(properties: Sequence[tuple[str, ResultsDocument]], words: Words) -> list[Data]:
    """Counts over all properties, as words."""
    documents = [results for _, results in properties]
    found = [one for results in documents for one in open_of(results.findings)]
    pictures = sum(len(results.thermograms) for results in documents)
    steps = sum(len(results.plan) for results in documents)
    more = [
        {"urgency": "none", "text": words.count("portfolio.pictures", pictures)},
        {"urgency": "none", "text": words.count("portfolio.steps", steps)},
    ]
    return [*urgency_counts(words, found), *more]


def _search_words(results: ResultsDocument) -> str:
    """What the search looks through: names, places, findings and works of a property, in small letters, each once."""
    info = results.property
    texts = [info.name, info.address, info.client, info.surveyor, results.survey.date]
    texts += [text for one in results.findings for text in (one.title, one.room, one.region, one.domain)]
    texts += [text for item in results.plan for text in (item.title, item.who)]
    return " ".join(dict.fromkeys(" ".join(texts).casefold().split()))


def _within(address: str, folders: set[str]) -> bool:
    return ".." not in address and any(address.startswith(folder) for folder in folders)


def _check(text: str, folders: set[str]) -> None:
    wrong = [
        address
        for address in read_page(text).addresses
        if address not in ("data:,", "#content") and not _within(address, folders)
    ]
    if wrong:
        raise UserError.single(
            "site-check",
            "index.html",
            f"links to {wrong[0][:120]}, which is no property of this run",
            "Report this with the results.json.",
        )
