"""The built site: whole, checked, the same every time, and safe from hostile text."""

from __future__ import annotations

import dataclasses
import json
import re
import shutil
from pathlib import Path

import heatbrief.site.build as build
import pytest
from heatbrief.detect.judge import RULE
from heatbrief.errors import HeatbriefError, UserError
from heatbrief.model import Quantity
from heatbrief.model.caution import STANDING_LINE
from heatbrief.model.finding import URGENCIES, VERDICTS
from heatbrief.site.build import MARKER, build_site, site_key
from heatbrief.site.check import SiteCheck
from heatbrief.site.markup import read_page
from heatbrief.site.pages import SECTIONS, pages_for
from heatbrief.site.publisher import PUBLISHERS
from heatbrief.site.render import VIEWER_SCRIPTS
from heatbrief.site.settings import SiteSettings
from heatbrief.site.words import Words
from heatbrief.store.results import read_results, write_results


def files_of(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_every_kind_of_page_is_there(built):
    pages = built.pages()
    assert {f"{one}.html" for one in SECTIONS} <= set(pages)
    for folder, count in (("findings", len(built.results.findings)), ("thermograms", len(built.results.thermograms))):
        assert sum(name.startswith(f"{folder}/") for name in pages) == count
    assert "sitemap.xml" not in files_of(built.site) and "404.html" not in pages


@pytest.mark.parametrize("name", ["index.html", "findings/ceiling-edge.html", "thermograms/lawn.html"])
def test_page_data_stays_as_it_was(built, site_of, data_regression, name):
    page = next(one for one in pages_for(site_of(built)) if one.path == name)
    data_regression.check(
        {
            "template": page.template,
            "title": page.title,
            "section": page.section,
            "data": json.loads(json.dumps(dict(page.data))),
        }
    )


def test_two_builds_are_the_same_bytes(built, tmp_path):
    assert build_site(built.results, built.objects, tmp_path / "again")
    assert files_of(tmp_path / "again") == files_of(built.site)


def test_stored_results_give_the_same_site(built, tmp_path):
    write_results(built.results, tmp_path)
    build_site(read_results(tmp_path), built.objects, tmp_path / "site")
    mine, theirs = files_of(tmp_path / "site"), files_of(built.site)
    assert mine == theirs


def test_an_unchanged_site_is_left_alone(built, tmp_path):
    out = tmp_path / "site"
    shutil.copytree(built.site, out)
    (out / "index.html").write_text("touched", "utf-8")
    assert not build_site(built.results, built.objects, out)
    assert (out / "index.html").read_text("utf-8") == "touched"
    changed = dataclasses.replace(built.results, survey=dataclasses.replace(built.results.survey, notes="new"))
    assert build_site(changed, built.objects, out)
    assert "touched" not in (out / "index.html").read_text("utf-8")
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_the_key_covers_results_and_settings(built):
    renamed = dataclasses.replace(built.results, property=dataclasses.replace(built.results.property, name="Other"))
    keys = {site_key(built.results), site_key(renamed), site_key(built.results, SiteSettings(units="us"))}
    assert len(keys) == 3


@pytest.mark.parametrize(
    "make",
    [
        lambda out: (out.mkdir(), (out / "thesis.txt").write_text("years of work")),
        lambda out: out.write_text("a file"),
        lambda out: (out.with_name("other").mkdir(), out.symlink_to(out.with_name("other"))),
    ],
)
def test_a_foreign_folder_is_refused_and_kept(built, tmp_path, make):
    out = tmp_path / "site"
    make(out)
    before = files_of(tmp_path)
    with pytest.raises(UserError) as caught:
        build_site(built.results, built.objects, out)
    assert caught.value.problems[0].code == "not-a-site"
    assert files_of(tmp_path) == before


def test_a_failed_build_leaves_the_old_site(built, tmp_path):
    out = tmp_path / "site"
    shutil.copytree(built.site, out)
    changed = dataclasses.replace(built.results, survey=dataclasses.replace(built.results.survey, notes="new"))
    with pytest.raises(UserError):
        build_site(changed, tmp_path / "no-objects", out)
    assert files_of(out) == files_of(built.site)
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_what_mkdocs_says_is_passed_on(built, tmp_path, monkeypatch):
    monkeypatch.setattr(build, "extras", lambda *_, **__: {"t": "no sentences"})
    with pytest.raises(HeatbriefError, match=r"MkDocs says:\nERROR   -  Error building page 'index\.md'"):
        build_site(built.results, built.objects, tmp_path / "site")
    assert list(tmp_path.iterdir()) == []


def test_an_empty_document_is_a_site(built, tmp_path):
    empty = dataclasses.replace(
        built.results,
        conditions={},
        thermograms=(),
        findings=(),
        estimates=(),
        plan=(),
        cautions=(),
        not_analysed=(),
        sources=(),
        run=dataclasses.replace(built.results.run, steps=()),
    )
    assert build_site(empty, built.objects, tmp_path / "site")
    assert Words().say("overview.no_findings") in (tmp_path / "site" / "index.html").read_text("utf-8")


def test_pages_are_small(built):
    for name, text in built.pages().items():
        limit = 400_000 if name.startswith("findings/") or name == "print.html" else 150_000
        assert len(text.encode()) < limit, name


def test_a_long_survey_keeps_a_short_overview(built, tmp_path):
    many = tuple(dataclasses.replace(built.results.findings[1], id=f"{number}") for number in range(120))
    results = dataclasses.replace(built.results, findings=many)
    build_site(results, built.objects, tmp_path / "site")
    assert len((tmp_path / "site" / "index.html").read_bytes()) < 150_000
    assert (tmp_path / "site" / "findings.html").read_text("utf-8").count('class="card ') == 120


def test_cautions_stand_on_their_findings_with_the_standing_line(built):
    for name, text in built.pages().items():
        assert STANDING_LINE in text_of(text), name
    kitchen = read_page(built.page("findings/breaker-kitchen.html"))
    assert {"electrical.panel", "electrical.general"} <= set(kitchen.cautions)
    panel = text_of(built.page("cautions/electrical-panel.html"))
    assert "read in the source" in panel and "quoted from memory" in panel and "NFPA 70E and local code" in panel


def test_invented_data_is_marked_on_every_page(built):
    note = Words().say("site.invented")
    assert all(note in text for text in built.pages().values())


def test_urgent_findings_come_first(built):
    cards = re.findall(r'data-urgency="(\w+)"', built.page("findings.html"))
    assert [URGENCIES.index(one) for one in cards] == sorted(URGENCIES.index(one) for one in cards)
    assert cards[0] == "now"


def test_a_finding_is_argued_with_its_bounds(built):
    text = text_of(built.page("findings/breaker-kitchen.html")).replace("\u00a0", " ")
    for part in (
        "24.3 ± 2.1 K",
        "22.2 to 26.4 K",
        "57.2 to 66.9 °C",
        "not ruled out",
        "ruled out",
        "not testable",
        "a picture with tape on the face",
        "NETA MTS table 100.18",
        "licensed electrician",
        "not known",
        "a defect is likely (93 %)",
        "Step 1 in the plan",
    ):
        assert part in text, part


def test_display_units_follow_the_survey(sample_module, tmp_path):
    build_site(sample_module.sample(tmp_path / "objects", "us"), tmp_path / "objects", tmp_path / "site")
    text = text_of((tmp_path / "site" / "findings" / "ceiling-edge.html").read_text("utf-8")).replace("\u00a0", " ")
    assert "17.4 ft² (14.9 to 21.2)" in text or "14.9 to 21.2 ft²" in text
    assert "6.1 ± 1.1 °F" in text and "6.12" not in text


def test_no_temperature_about_a_picture_without_scale(built):
    for name in ("thermograms/lawn.html", "findings/valve-box.html"):
        facts = read_page(built.page(name))
        assert facts.bare and not any(
            "°C" in text or "°F" in text for text in facts.bare if "Lawn by the valve box" not in text
        )
    assert "38" not in text_of(built.page("thermograms/lawn.html").split('id="conditions"')[1].split("</section>")[0])


def test_a_temperature_measured_without_scale_is_caught(built, tmp_path):
    findings = tuple(
        dataclasses.replace(one, measured={"contrast": Quantity.normal(3.0, "K", 0.5)})
        if one.id == "valve-box"
        else one
        for one in built.results.findings
    )
    with pytest.raises(UserError) as caught:
        build_site(dataclasses.replace(built.results, findings=findings), built.objects, tmp_path / "site")
    assert any("temperature unit" in problem.message for problem in caught.value.problems)
    assert list(tmp_path.iterdir()) == []


def test_hostile_text_stays_text(built_hostile):
    for name, text in built_hostile.pages().items():
        assert "<script>alert" not in text and "<b>\u200f" not in text, name
        assert text.count("<script") in (
            (1,) if name == "findings.html" else (0, len(VIEWER_SCRIPTS)) if "thermograms/" in name else (0,)
        ), name
        assert "built-in method" not in text and "{{7*7}}" in text and "\u202e" not in text and "\u2066" not in text, (
            name
        )
        assert not read_page(text).handlers
    assert all(
        re.fullmatch(r"[a-z0-9./-]+", name) and max(map(len, name.split("/"))) <= 45 for name in built_hostile.pages()
    )


def test_hostile_site_has_the_same_shape(built, built_hostile):
    assert len(built_hostile.pages()) == len(built.pages())
    for (_, plain), (_, hostile) in zip(sorted(_by_kind(built)), sorted(_by_kind(built_hostile)), strict=True):
        assert plain == hostile


def _by_kind(built):
    return [(name, read_page(text).tags["table"]) for name, text in built.pages().items() if "/" not in name]


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        (lambda text: text.replace('href="./plan.html"', 'href="./gone.html"', 1), "leads nowhere"),
        (lambda text: text.replace('href="./plan.html"', 'href="https://example.org/"', 1), "leads out of the site"),
        (lambda text: text.replace('href="./plan.html"', 'href="./plan.html#nowhere"', 1), "does not exist"),
        (lambda text: text.replace('href="./plan.html"', 'href="../../secret.html"', 1), "leads nowhere"),
        (lambda text: text.replace("<h1>", '<img src="./pictures/scale.png"><h1>', 1), "no alternative text"),
        (lambda text: text.replace("<h1>", '<p id="first"></p><h1>', 1), "occurs 2 times"),
        (lambda text: text.replace("<h1>", '<p onclick="x()"></p><h1>', 1), "script attribute"),
        (lambda text: text.replace("<h1>", "<iframe></iframe><h1>", 1), "not allowed"),
        (lambda text: text.replace('<html lang="en">', "<html>", 1), "no language"),
    ],
)
def test_the_check_sees_faults(built, tmp_path, change, complaint):
    shutil.copytree(built.site, tmp_path / "site")
    index = tmp_path / "site" / "index.html"
    text = index.read_text("utf-8")
    assert change(text) != text
    index.write_text(change(text), "utf-8")
    with pytest.raises(UserError, match=complaint):
        check_site(tmp_path / "site", ())


def check_site(root: Path, cautions, titles=(), **more) -> None:
    """All pages below a folder, as a build checks them while it writes them."""
    check = SiteCheck(titles)
    for path in sorted(root.rglob("*.html")):
        check.page(path.relative_to(root).as_posix(), path.read_text("utf-8"))
    check.finish(root, cautions, **more)


def test_the_check_misses_no_caution(built):
    check_site(built.site, ["electrical.panel"], ["Lawn by the valve box at 40 °C"])
    with pytest.raises(UserError, match=r"vehicle\.exhaust"):
        check_site(built.site, ["vehicle.exhaust"], ["Lawn by the valve box at 40 °C"])


@pytest.mark.parametrize("page", ["plan.html", "findings/breaker-kitchen.html"])
def test_the_check_misses_no_caution_on_the_page_it_belongs_to(built, tmp_path, page):
    """That it stands on another page is not enough."""
    site = tmp_path / "site"
    shutil.copytree(built.site, site)
    titles = ["Lawn by the valve box at 40 °C"]
    check_site(site, (), titles, cautions_on={page: ["electrical.panel"]})
    text = (site / page).read_text("utf-8")
    (site / page).write_text(text.replace('data-caution="electrical.panel"', ""), "utf-8")
    with pytest.raises(UserError, match=r"electrical\.panel does not stand on this page"):
        check_site(site, ["electrical.panel"], titles, cautions_on={page: ["electrical.panel"]})


def test_styles_load_nothing(built):
    for name, data in files_of(built.site).items():
        if name.endswith((".css", ".js", ".html")):
            assert not re.search(rb"""(?:src|href|url)\s*[=(]\s*["']?\s*(?:https?:)?//""", data), name


def test_words_exist_for_every_code():
    words = Words()
    for verdict in VERDICTS:
        assert words.say(f"verdict.{verdict}.phrase")
    for urgency in URGENCIES:
        assert words.say(f"urgency.{urgency}.phrase")
        assert words.count(f"overview.counts.{urgency}", 2).startswith("2")


def test_the_rule_on_the_method_page_is_the_rule():
    printed = [(row["when"], row["then"], row["why"]) for row in Words().get("method.rule")]
    assert printed == [(row.when, row.then, row.why) for row in RULE]


def test_the_outline_is_carried_to_the_photo(built, site_of):
    page = next(one for one in pages_for(site_of(built)) if one.path == "findings/breaker-kitchen.html")
    (outline,) = page.data["photo"]["outlines"]
    # x 92 of 180 pixels is x 327.1 of 640, y 70 of 240 is y 140 of 480
    assert outline["points"].split()[0] == "327.111,140"
    assert outline["label"] == "kitchen breaker"


def test_the_publisher_fills_its_folder(built, tmp_path):
    (publisher,) = PUBLISHERS
    publisher.run(built.results, built.objects, tmp_path / "site", SiteSettings())
    assert (tmp_path / "site" / MARKER).is_file()
