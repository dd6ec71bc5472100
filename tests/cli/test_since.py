"""What changed since the last report: the words, the page, the document."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
import tifffile
from heatbrief.cli.since import changes_lines
from heatbrief.compare.since import changes_since, first_report
from heatbrief.compare.since_page import changes_text
from heatbrief.model import Finding, Quantity
from heatbrief.model.finding import Outline
from heatbrief.model.results import (
    FORMAT,
    PropertyInfo,
    ResultsDocument,
    RunInfo,
    StepRecord,
    SurveyInfo,
    ThermogramRecord,
)

HOSTILE = '"><script>alert(1)</script>{{7*7}}'


def square(x, y, side=10):
    return Outline(((x, y), (x + side, y), (x + side, y + side), (x, y + side)), side * side)


def finding(name, x, **changes):
    given = {"verdict": "defect", "urgency": "soon", "probability": 0.9, "outline": square(x, 10), **changes}
    measured = {"contrast": Quantity.between(2.0, 4.0, "K")}
    return Finding(
        name, "envelope", "envelope.insulation", "room", "", f"Patch {name}", "s", measured=measured, **given
    )


def document(*findings, language="en", sha="a" * 64, humidity=0.4, version=1):
    return ResultsDocument(
        FORMAT,
        PropertyInfo("House", "house"),
        SurveyInfo("survey.yaml", "2026-01-12", ("envelope",), language=language),
        {"humidity": Quantity.exact(humidity, "1")},
        (ThermogramRecord("room", "room.tiff", sha, 160, 120, "analysed"),),
        findings,
        (), (), (), (), (),
        RunInfo("0.1.0", (StepRecord("envelope.insulation", "detect", version, "heatbrief", "s"),)),
    )  # fmt: skip


def test_nothing_changed():
    before = document(finding("a", 10), finding("b", 60))
    changes = changes_since(before, before)
    assert not changes.any and changes_lines(changes) == ["House: nothing changed since the last report (2026-01-12)."]
    assert first_report(before).first and "first report" in changes_lines(first_report(before))[0]


def test_findings_are_followed_by_their_place_not_their_name():
    """The ordinal in an id moves when another area is found before it; the place does not."""
    before = document(finding("patch-1", 10), finding("patch-2", 60))
    now = document(finding("patch-1", 110), finding("patch-2", 11), finding("patch-3", 60))
    changes = changes_since(before, now)
    assert [one.finding for one in changes.new] == ["patch-1"] and changes.gone == changes.changed == ()


def test_new_gone_changed_and_why():
    before = document(finding("a", 10), finding("b", 60), finding("c", 110))
    other = finding("c", 110, urgency="now", verdict="suspect", probability=0.7)
    warmer = replace(finding("a", 10), measured={"contrast": Quantity.between(6.0, 7.0, "K")})
    now = document(warmer, other, sha="b" * 64, humidity=0.5, version=2)
    changes = changes_since(before, now)
    assert [one.finding for one in changes.gone] == ["b"] and changes.new == ()
    assert [(one.now.finding, one.what) for one in changes.changed] == [
        ("c", ("verdict", "urgency", "probability")),
        ("a", ("measured contrast",)),
    ]
    assert [(one.kind, one.name) for one in changes.inputs] == [
        ("picture", "room.tiff"), ("condition", "humidity"), ("step", "envelope.insulation")
    ]  # fmt: skip
    lines = "\n".join(changes_lines(changes))
    assert "0 new, 1 gone, 2 changed" in lines and "Patch a (soon, defect): contrast" in lines


@pytest.mark.parametrize(("language", "words"), [("en", "Findings that are gone"), ("de", "Verschwundene Befunde")])
def test_the_page_is_in_the_language_of_the_survey_and_text_stays_text(language, words):
    before = document(replace(finding("b", 60), title=HOSTILE, room=HOSTILE))
    text = changes_text(changes_since(before, document(language=language)))
    assert words in text and f'lang="{language}"' in text
    assert "<script" not in text and "{{7*7}}" in text


def test_the_command_tells_it_after_the_run(heatbrief, tmp_path):
    house = tmp_path / "house"
    house.mkdir()
    tifffile.imwrite(house / "a.tiff", np.full((60, 80), 29500, np.uint16))
    text = (
        "format: 1\nproperty: House\ninspect: [envelope]\nconditions: {{humidity: {} %}}\n"
        "thermograms:\n  - {{file: a.tiff, shows: ceiling, scale: {{kelvin_per_count: 0.01}}}}\n"
    )
    (house / "survey.yaml").write_text(text.format(40), "utf-8")
    out = tmp_path / "out"
    missing = heatbrief("run", house, "--out", out, "--since", tmp_path / "nothing")
    assert missing.code == 2 and "results-missing" in missing.err and not out.exists()
    (tmp_path / "empty").mkdir()
    first = heatbrief("run", house, "--out", out, "--since", tmp_path / "empty")
    assert first.code == 0 and "first report" in first.out
    assert "nothing changed" in heatbrief("run", house, "--out", out, "--since", out).out
    (house / "survey.yaml").write_text(text.format(50), "utf-8")
    summary = tmp_path / "summary.md"
    again = heatbrief("run", house, "--out", out, "--since", out, "--summary", summary)
    assert "Input: condition humidity" in again.out and "what changed" in summary.read_text("utf-8")
    data = json.loads((out / "house" / "since" / "since.json").read_text("utf-8"))
    assert [one["name"] for one in data["inputs"]] == ["humidity"]
    assert (out / "house" / "since" / "index.html").is_file()
