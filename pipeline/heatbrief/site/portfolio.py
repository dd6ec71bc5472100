"""One page over several properties, most urgent first."""

from __future__ import annotations

import os
import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from heatbrief_site import resource

from heatbrief import __version__
from heatbrief.errors import UserError
from heatbrief.model.finding import URGENCIES
from heatbrief.model.results import ResultsDocument
from heatbrief.site.check import read_page
from heatbrief.site.context import Data
from heatbrief.site.overview import open_of, urgency_counts
from heatbrief.site.page import Page
from heatbrief.site.publisher import FOLDER
from heatbrief.site.render import extras, render
from heatbrief.site.words import Words

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
    page = portfolio_page(properties, words)
    css = "\n".join(resource(f"theme/css/{name}").read_text("utf-8") for name in ("site.css",))
    foot = words.say(
        "site.foot",
        version=__version__,
        manifest=words.count("portfolio.lead", len(properties)).split(",")[0].rstrip("."),
    )
    with tempfile.TemporaryDirectory(prefix="heatbrief-") as folder:
        work, built = Path(folder), Path(folder) / "site"
        render([page], {}, work, built, page.title, [page.path], extras(words, "en", foot, False, inline_css=css))
        new = (built / page.path).read_bytes()
    _check(new.decode("utf-8"), {f"{slug}/{FOLDER}/index.html" for slug, _ in properties})
    if new == old:
        return False
    out.mkdir(parents=True, exist_ok=True)
    part = out / f".index.{os.getpid()}.part"
    part.write_bytes(new)
    part.replace(target)
    return True


def portfolio_page(properties: Sequence[tuple[str, ResultsDocument]], words: Words) -> Page:
    """The page of all properties: by most urgent open finding, then by how many of them, then by name."""
    ordered = sorted(properties, key=_order)
    data: Data = {
        "rows": [_row(slug, results, words) for slug, results in ordered],
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


def _row(slug: str, results: ResultsDocument, words: Words) -> Data:
    counts = _open_counts(results)
    most = next((urgency for urgency in URGENCIES if counts[urgency]), "none")
    phrase = words.get("urgency")[most]
    return {
        "name": results.property.name,
        "url": f"{slug}/{FOLDER}/index.html",
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
    }


def _check(text: str, allowed: set[str]) -> None:
    wrong = [address for _, _, address in read_page(text).addresses if address not in allowed | {"data:,", "#content"}]
    if wrong:
        raise UserError.single(
            "site-check",
            "index.html",
            f"links to {wrong[0][:120]}, which is no property of this run",
            "Report this with the results.json.",
        )
