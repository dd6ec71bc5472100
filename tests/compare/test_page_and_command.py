"""The page that needs no other file, and the command."""

from __future__ import annotations

import dataclasses
import json
import re

import pytest
from heatbrief.compare import Survey, read_survey
from heatbrief.compare.page import page_text
from heatbrief.compare.rule import RULE
from heatbrief.model.comparison import OUTCOMES

HOSTILE = '"><script>alert(1)</script>{{7*7}}'


def test_the_page_needs_no_other_file_and_says_each_outcome(compared, surveys):
    text = page_text(compared, read_survey(surveys.before), read_survey(surveys.after))
    assert not re.findall(r'(?:src|href)="(?!data:|#)[^"]*"', text)
    assert "<script" not in text and "General information, not instruction" in text
    for row in compared.findings:
        assert row.title.split(",")[0].replace("'", "&#39;") in text
    for one in compared.rule:
        assert one.why.replace("'", "&#39;") in text


def test_the_rule_is_the_same_in_the_sentences_of_the_site():
    from heatbrief.site.words import Words

    said = Words("en").get("compare.rule")
    assert {key: (one["when"], one["why"]) for key, one in said.items()} == {
        one.key: (one.when, one.why) for one in RULE
    }
    assert set(Words("en").get("changes.outcome")) == {*OUTCOMES, "in order"}


def test_the_page_is_german_where_the_survey_is(compared, surveys):
    survey = read_survey(surveys.before)
    english = page_text(compared, survey, read_survey(surveys.after))
    text = page_text(dataclasses.replace(compared, language="de"), survey, read_survey(surveys.after))
    assert '<html lang="de"' in text and "Was aus jedem Befund geworden ist" in text and "behoben" in text
    headings = [re.findall(r"<(?:h2|th|dt|caption|figcaption)\b[^>]*>([^<]+)<", one) for one in (text, english)]
    fixed = {word for word in headings[1] if word in headings[0]}
    assert fixed <= {row.title for row in compared.findings} | {"Material"}, fixed


def test_both_pictures_have_one_scale(compared, surveys):
    text = page_text(compared, read_survey(surveys.before), read_survey(surveys.after))
    plates = re.findall(r"<figure.*?</figure>", text, re.DOTALL)
    assert plates and len(plates) % 2 == 0
    ends = [re.findall(r"<span>([^<]*°C)</span>", plate) for plate in plates]
    assert all(one == two and len(one) == 2 for one, two in zip(ends[::2], ends[1::2], strict=True))


def test_hostile_names_stay_text(compared, surveys):
    survey = read_survey(surveys.before)
    rows = tuple(
        dataclasses.replace(row, title=HOSTILE, room=HOSTILE, reason=HOSTILE, evidence=(HOSTILE,), needed=(HOSTILE,))
        for row in compared.findings
    )
    side = dataclasses.replace(compared.after, name=HOSTILE)
    text = page_text(
        dataclasses.replace(compared, findings=rows, after=side), survey, Survey(survey.results, survey.pixels)
    )
    assert "<script" not in text and "{{7*7}}" in text and "49" not in re.findall(r"<h1>.*?</h1>", text)[0]


def test_the_command_writes_three_files_and_says_what_became_of_them(heatbrief, surveys, tmp_path):
    done = heatbrief("compare", surveys.before, surveys.after / "results.json", "--out", tmp_path)
    assert done.code == 0, done.err
    folder = next(tmp_path.glob("*/compare"))
    assert {path.name for path in folder.iterdir()} == {"comparison.json", "comparison.csv", "index.html", "objects"}
    assert (
        "repaired" in done.out
        and "Not comparable: " in done.out
        and done.out.strip().endswith(str(folder / "index.html"))
    )


def test_what_is_no_survey_is_a_user_error(heatbrief, surveys, tmp_path):
    missing = heatbrief("compare", surveys.before, tmp_path / "nothing", "--out", tmp_path / "out")
    assert (missing.code, "error[results-missing]" in missing.err) == (2, True)
    data = json.loads((surveys.after / "results.json").read_text("utf-8"))
    data["property"] |= {"name": "Other house", "slug": "other-house"}
    (tmp_path / "results.json").write_text(json.dumps(data), "utf-8")
    other = heatbrief("compare", surveys.before, tmp_path, "--out", tmp_path / "out")
    assert (other.code, "error[other-property]" in other.err) == (2, True)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("damage", ["gone", "cut"])
def test_lost_pictures_are_named_and_the_rest_is_done(heatbrief, surveys, tmp_path, damage):
    import shutil

    copy = tmp_path / "after"
    shutil.copytree(surveys.after, copy, ignore=shutil.ignore_patterns("site"))
    for path in (copy / "objects").glob("*.png"):
        path.unlink() if damage == "gone" else path.write_bytes(path.read_bytes()[:50])
    done = heatbrief("compare", surveys.before, copy, "--out", tmp_path / "out")
    assert done.code == 3 and "a stored picture is not there" in done.err
    assert next((tmp_path / "out").glob("*/compare/index.html")).is_file()
