"""Sums on the pages, in plan.csv and in results.json are the same numbers, to the last digit that is shown.

The pages are read as a person reads them, from the finished HTML; what they must say is worked out here from the stored
results with decimal arithmetic, not with the code that wrote the pages.
"""

from __future__ import annotations

import csv
import json
import re
import shutil
from decimal import ROUND_HALF_UP, Decimal
from html.parser import HTMLParser
from pathlib import Path

import pytest
from support import ROOT

DEMO = ROOT / "surveys" / "lanternmoth-lane-9"
SLUG, OTHER = "lanternmoth-lane-9", "lanternmoth-lane-11"
KILO_A_POUND = Decimal("0.45359237")  # exact, international pound
GALLONS_A_M3 = 1 / Decimal("0.003785411784")  # exact, US gallon
NAMES = {
    "en": {"cost": "Cost", "yearly_saving": "Yearly saving", "yearly_energy": "Yearly energy", "hours": "Hours of work",
           "yearly_emissions": "Yearly emissions", "yearly_water": "Yearly water", "net_present_value": "Net present value"},
    "de": {"cost": "Kosten", "yearly_saving": "Ersparnis im Jahr", "yearly_energy": "Energie im Jahr",
           "hours": "Arbeitsstunden", "yearly_emissions": "Emissionen im Jahr", "yearly_water": "Wasser im Jahr",
           "net_present_value": "Kapitalwert"},
}  # fmt: skip
SUMMED = ("cost", "yearly_saving", "yearly_energy", "yearly_emissions", "yearly_water")
NUMBER = r"−?\d[\d\u202f,.]*"


class Tables(HTMLParser):
    """Tables and short lists of a page, as rows of cell texts."""

    def __init__(self, text: str):
        super().__init__(convert_charrefs=True)
        self.tables: list[tuple[str, list[list[str]]]] = []
        self.pairs: list[tuple[str, str]] = []
        self._caption, self._rows, self._cell, self._term = "", [], None, ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag == "table":
            self._caption, self._rows = "", []
        elif tag == "tr":
            self._rows.append([])
        elif tag in ("td", "th", "caption", "dt", "dd"):
            self._cell = ""

    def handle_data(self, data):
        if self._cell is not None:
            self._cell += data

    def handle_endtag(self, tag):
        if self._cell is not None and tag in ("td", "th", "caption", "dt", "dd"):
            text, self._cell = " ".join(self._cell.replace("\u00a0", " ").split(" ")).strip(), None
            if tag == "caption":
                self._caption = text
            elif tag == "dt":
                self._term = text
            elif tag == "dd":
                self.pairs.append((self._term, text))
            else:
                self._rows[-1].append(text)
        if tag == "table":
            self.tables.append((self._caption, self._rows))


@pytest.fixture(scope="module")
def published(tmp_path_factory):
    """The demonstration property as it is, and in German with US units; beside it one that costs and saves more, from
    stored results: published/<kind>."""
    from heatbrief.cli import main

    def call(*words: object) -> None:
        with pytest.raises(SystemExit) as left:
            main([str(one) for one in words])
        assert left.value.code in (0, None)

    base = tmp_path_factory.mktemp("sums")
    for kind, units, language in (("plain", "metric", "en"), ("other", "us", "de")):
        survey = base / f"survey-{kind}"
        shutil.copytree(DEMO, survey, ignore=shutil.ignore_patterns("published"))
        text = (survey / "survey.yaml").read_text("utf-8")
        text = re.sub(r"(?m)^(units|language):.*\n", "", text) + f"\nunits: {units}\nlanguage: {language}\n"
        (survey / "survey.yaml").write_text(text, "utf-8")
        call("run", survey, "--out", base / "run" / kind)
        for slug in (SLUG, OTHER):
            shutil.copytree(base / "run" / kind / SLUG, base / kind / slug, ignore=shutil.ignore_patterns("site"))
        _dearer(base / kind / OTHER / "results.json")
        call("publish", *(base / kind / slug for slug in (SLUG, OTHER)), "--out", base / kind)
    return base


def _dearer(file: Path) -> None:
    """Another property with other sums."""
    document = json.loads(file.read_text("utf-8"))
    document["property"] |= {"name": "Lanternmoth Lane 11", "slug": OTHER}
    for one in (document["brief"]["total"], total_of(document)):
        for name in ("cost", "yearly_saving"):
            for end in ("value", "low", "high"):
                one[name][end] *= 1.7
    file.write_text(json.dumps(document), "utf-8")


def number(text: str, language: str) -> Decimal:
    plain = text.replace("−", "-").replace("\u202f", "")
    return Decimal(plain.replace(",", ".") if language == "de" else plain.replace(",", ""))


def place(text: str, language: str) -> int:
    """Power of ten of the last digit shown; trailing zeros of a whole number may be places that are not meant."""
    plain = text.replace("−", "").replace("\u202f", "")
    point = "," if language == "de" else "."
    plain = plain if language == "de" else plain.replace(",", "")
    if point in plain:
        return -len(plain.partition(point)[2])
    return len(plain) - len(plain.rstrip("0")) if plain.strip("0") else 0


def shows(text: str, value: float, language: str, factor: Decimal = Decimal(1)) -> None:
    """The number in the text is the value, rounded half up at the last digit of the number."""
    last = place(text, language)
    wanted = (Decimal(repr(value)) * factor).quantize(Decimal((0, (1,), last)), ROUND_HALF_UP)
    assert number(text, language) == wanted, (text, value)


def first_number(text: str) -> str:
    found = re.match(NUMBER, text)
    assert found, text
    return found.group().rstrip(".,")


def factor_of(name: str, kind: str) -> Decimal:
    if kind == "plain":
        return Decimal(1)
    return {"yearly_emissions": 1 / KILO_A_POUND, "yearly_water": GALLONS_A_M3}.get(name, Decimal(1))


def results(base: Path, kind: str, slug: str = SLUG) -> dict:
    return json.loads((base / kind / slug / "results.json").read_text("utf-8"))


def total_of(document: dict) -> dict:
    return next(one for one in document["estimates"] if one["kind"] == "total")["quantities"]


def page(base: Path, kind: str, name: str) -> Tables:
    return Tables((base / kind / SLUG / "site" / name).read_text("utf-8"))


KINDS = pytest.mark.parametrize(("kind", "language"), [("plain", "en"), ("other", "de")])


@KINDS
def test_the_lines_of_the_table_add_up_to_the_totals(published, kind, language):
    """plan.csv, added by column, against results.json: best estimates add exactly, ten digits are stored."""
    document = results(published, kind)
    added: dict[str, Decimal] = {}
    with (published / kind / SLUG / "plan.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            if row["quantity"]:
                added[row["quantity"]] = added.get(row["quantity"], Decimal(0)) + Decimal(row["value"])
    totals = total_of(document)
    assert set(SUMMED) <= set(totals)
    for name in SUMMED:
        assert float(added[name]) == pytest.approx(totals[name]["value"], rel=1e-8), name
    assert document["brief"]["total"] == totals


def test_units_and_language_change_no_stored_number(published):
    plain, other = (total_of(results(published, kind)) for kind in ("plain", "other"))
    assert plain == other


@KINDS
@pytest.mark.parametrize("name", ["index.html", "plan.html", "print.html"])
def test_pages_show_the_totals_of_the_results(published, kind, language, name):
    totals, names = total_of(results(published, kind)), NAMES[language]
    rows = [row for _, table in page(published, kind, name).tables for row in table]
    for key in (*SUMMED, "net_present_value"):
        wanted = totals[key]
        factor = factor_of(key, kind)
        mine = [row for row in rows if row and row[0] == names[key]]
        agreed = 0
        for row in mine:
            shown = first_number(row[1])
            last = place(shown, language)
            if number(shown, language) == (Decimal(repr(wanted["value"])) * factor).quantize(
                Decimal((0, (1,), last)), ROUND_HALF_UP
            ):
                low, high = re.findall(NUMBER, row[2])[:2]
                for text, end in ((low, "low"), (high, "high")):
                    shows(text.rstrip(".,"), wanted[end], language, factor)
                agreed += 1
        assert agreed, (key, mine)


@KINDS
def test_page_one_says_cost_and_saving_of_the_whole_plan(published, kind, language):
    document, names = results(published, kind), NAMES[language]
    totals = total_of(document)
    pairs = page(published, kind, "index.html").pairs
    for key in ("cost", "yearly_saving"):
        texts = [text for name, text in pairs if name == names[key]]
        shows(first_number(texts[-1]), totals[key]["value"], language)  # the one below the steps


@KINDS
def test_each_step_shows_the_figures_of_its_line(published, kind, language):
    """Steps in order with cost and hours; where a saving is shown it is that of the line."""
    document, names = results(published, kind), NAMES[language]
    text = (published / kind / SLUG / "site" / "plan.html").read_text("utf-8")
    steps = re.findall(r'<li class="step .*?</li>', text, flags=re.DOTALL)
    plan = sorted(document["plan"], key=lambda one: one["order"])
    assert len(steps) == len(plan)
    shown = 0
    for item, html in zip(plan, steps, strict=True):
        pairs = dict(Tables(html).pairs)
        for key in ("cost", "hours", "yearly_saving", "yearly_emissions"):
            if names[key] in pairs:
                told = first_number(pairs[names[key]])
                shows(told, item["quantities"][key]["value"], language, factor_of(key, kind))
                shown += 1
            elif key in ("cost", "hours"):
                assert key not in item["quantities"]
            else:
                assert key not in item["quantities"] or item["slight_saving"]
    assert shown > 30


@KINDS
def test_no_step_boasts_of_next_to_nothing(published, kind, language):
    """A saving below a hundredth of the cost stands on no page of the plan; the stored line keeps it."""
    document, names = results(published, kind), NAMES[language]
    slight = [one for one in document["plan"] if one["slight_saving"]]
    assert any("yearly_saving" in one["quantities"] for one in slight)
    text = (published / kind / SLUG / "site" / "plan.html").read_text("utf-8")
    steps = re.findall(r'<li class="step .*?</li>', text, flags=re.DOTALL)
    said = {
        "en": ("done for safety", "not done for the saving"),
        "de": ("der Sicherheit wegen", "nicht der Ersparnis wegen"),
    }
    for item in slight:
        html = steps[item["order"] - 1]
        assert said[language][0 if item["safety"] else 1] in html
        assert names["yearly_saving"] not in html and names["net_present_value"] not in html


@KINDS
def test_the_portfolio_adds_the_properties(published, kind, language):
    documents = [results(published, kind, slug) for slug in (SLUG, OTHER)]
    text = (published / kind / "index.html").read_text("utf-8").replace("\u00a0", " ")
    ((_, table),) = Tables(text).tables
    head, *rows = table
    at = {"cost": "Cost of the plan" if language == "en" else "Kosten des Plans",
          "yearly_saving": NAMES[language]["yearly_saving"]}  # fmt: skip
    for document in documents:
        (row,) = [one for one in rows if one[0].startswith(document["property"]["name"])]
        for key, title in at.items():
            shows(first_number(row[head.index(title)]), total_of(document)[key]["value"], language)
    lines = re.findall(r'<p class="together">(.*?)</p>', text)
    for key, line in zip(("cost", "yearly_saving"), lines, strict=True):
        whole = sum(total_of(one)[key]["value"] for one in documents)
        shows(re.findall(NUMBER, line)[0].rstrip(".,"), whole, language)


@KINDS
def test_every_caution_of_the_plan_stands_there_once_in_full_and_at_its_steps(published, kind, language):
    document = results(published, kind)
    text = (published / kind / SLUG / "site" / "plan.html").read_text("utf-8")
    told = document["texts"].get(language, {})
    full = {one["key"]: [told.get(point, point) for point in one["points"]] for one in document["cautions"]}
    steps = re.findall(r'<li class="step .*?</li>', text, flags=re.DOTALL)
    used = {key for item in document["plan"] for key in item["cautions"]}
    assert used and len(re.findall(r'<div id="caution-', text)) == len(used)
    for key in used:
        anchor = re.search(rf'<div id="(caution-[^"]+)"><h3><a [^>]*data-caution="{re.escape(key)}"', text)
        assert anchor, key
        assert text.count(f'plan.html#{anchor.group(1)}"') == sum(key in item["cautions"] for item in document["plan"])
    for item, html in zip(sorted(document["plan"], key=lambda one: one["order"]), steps, strict=True):
        assert re.findall(r'data-caution="([^"]+)"', html) == item["cautions"]
    plain = re.sub(r"<[^>]+>", "", text)
    assert all(plain.count(point) >= 1 for key in used for point in full[key] if "&" not in point and "'" not in point)
