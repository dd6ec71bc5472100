"""Both languages say everything; a German page has German fixed sentences, numbers and places for English prose."""

from __future__ import annotations

import functools
import re

import jinja2
import pytest
import yaml
from heatbrief.errors import UserError
from heatbrief.manifest.jsonschema import json_schema
from heatbrief.manifest.load import load_manifest
from heatbrief.model.caution import STANDING_LINE
from heatbrief.registry import Registry, load_registry
from heatbrief.site import words
from heatbrief.site.mkdocs_hook import named, ours
from heatbrief.site.prose import numerals
from heatbrief.site.words import Words
from heatbrief_site import languages, resource
from mkdocs.exceptions import BuildError


def sentences(language: str) -> dict[str, str]:
    return dict(words.sentences(yaml.safe_load(resource(f"messages/{language}.yaml").read_text("utf-8"))))


@pytest.mark.parametrize("language", sorted({*languages()} - {"en"}))
def test_every_sentence_has_its_counterpart(language):
    english, other = sentences("en"), sentences(language)
    assert list(english) == list(other)
    for key, text in english.items():
        assert sorted(re.findall(r"\{\w*\}", text)) == sorted(re.findall(r"\{\w*\}", other[key])), key
        assert other[key].strip() or key == "site.mixed" or not text.strip(), key


@pytest.fixture
def dutch(tmp_path, monkeypatch):
    """Writes a file of sentences beside the English one, as a translator would."""
    folder = tmp_path / "messages"
    folder.mkdir()
    english = resource("messages/en.yaml").read_text("utf-8")
    (folder / "en.yaml").write_text(english, "utf-8")
    monkeypatch.setattr("heatbrief_site.files", lambda package: tmp_path)
    words.messages.cache_clear()
    yield lambda *changes: (folder / "nl.yaml").write_text(
        functools.reduce(lambda text, change: text.replace(*change, 1), changes, english), "utf-8"
    )
    words.messages.cache_clear()


def test_a_file_beside_the_others_is_a_new_language(dutch, tmp_path):
    survey = tmp_path / "survey.yaml"
    survey.write_text(
        "format: 1\nproperty: Sandpiper Row 3\nlanguage: nl\nstages: {publish: [{use: heatbrief.site, with: {language: nl}}]}\n"
    )
    with pytest.raises(UserError) as unknown:
        load_manifest(survey, load_registry(), pictures_required=False)
    assert [one.code for one in unknown.value.problems] == ["unknown-language"] * 2
    assert "Write one of: en." in str(unknown.value)
    dutch(("language: en", "language: nl"), ("skip: Skip to the content", "skip: Naar de inhoud"))
    assert load_manifest(survey, load_registry(), pictures_required=False).language == "nl"
    assert json_schema(Registry())["properties"]["language"]["anyOf"][0]["enum"] == ["en", "nl"]
    assert Words("nl").language == "nl" and Words("nl").say("site.skip") == "Naar de inhoud"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("  skip: ", "  skipp: "), "site.skip is missing; site.skipp is not known"),
        (("{n} findings", "{number} findings"), "overview.now_lead.other has other places ({n}, {number})"),
        (("language: nl", "language: en"), "language is not nl"),
    ],
)
def test_a_language_that_lacks_a_sentence_says_which(dutch, change, said):
    dutch(("language: en", "language: nl"), change)
    with pytest.raises(UserError) as fault:
        Words("nl")
    (problem,) = fault.value.problems
    assert (problem.code, problem.where) == ("sentences-differ", "messages/nl.yaml") and said in problem.message


def test_names_that_templates_would_mistake_are_not_used():
    """A template that asks a mapping for "items" or "copy" gets the method of that name."""
    methods = set(dir(dict))
    for file in resource("theme").iterdir():
        if file.name.endswith(".html"):
            used = re.findall(r"\{\{[^}]*?\b[a-z]\w*\.(\w+)\s*[}|]", file.read_text("utf-8"))
            assert not methods & set(used), file.name


def test_a_name_that_a_template_misspells_is_refused_with_its_place():
    env = ours(jinja2.Environment(loader=jinja2.DictLoader({"a.html": "{% if d.x %}!{% endif %}\n{{ d.x }}"})))
    assert env.get_template("a.html").render(d={"x": "good"}) == "!\ngood"
    with pytest.raises(BuildError, match=r"a\.html, line 2: .* no attribute 'x'"):
        env.get_template("a.html").render(d={})
    assert env.from_string("{% if d.x %}!{% endif %}").render(d={}) == ""


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("give `load held` & `<b>`", "give <code>load held</code> &amp; <code>&lt;b&gt;</code>"),
        ("one ` alone <i>", "one ` alone &lt;i&gt;"),
        ("`same material`", "<code>same material</code>"),
        ("nothing <script>", "nothing &lt;script&gt;"),
    ],
)
def test_names_in_a_sentence_are_set_as_they_are_written_in_a_manifest(given, shown):
    assert named(given) == shown


def test_what_data_hold_comes_before_what_python_offers():
    env = ours(jinja2.Environment())
    assert env.from_string("{{ d.items }} {{ d.x.upper() }}").render(d={"items": 3, "x": "a"}) == "3 A"


def test_a_misspelt_sentence_is_refused_too():
    env = ours(jinja2.Environment())
    with pytest.raises(BuildError, match="no attribute 'x'"):
        env.from_string("{{ d.x|named }}").render(d={})


def test_the_standing_line_is_that_of_the_model():
    assert Words("en").say("site.standing_line") == STANDING_LINE


def test_an_unknown_language_is_english():
    assert Words("xx").language == Words("../en").language == "en"


@pytest.mark.parametrize(
    ("text", "german"),
    [
        ("12.4 ± 1.6 K", "12,4 ± 1,6 K"),
        ("22.2 to 26.4 K", "22,2 bis 26,4 K"),
        ("1,234.5 USD a year", "1\u202f234,5 USD im Jahr"),
        ("9000 counts", "9000 Zählwerte"),
    ],
)
def test_numbers_follow_the_language(text, german):
    assert numerals(text, Words("de").get("numbers")) == german
    assert numerals(text, Words("en").get("numbers")) == text


def test_a_german_site_is_german(built_german):
    for name, text in built_german.pages().items():
        assert '<html lang="de">' in text, name
        assert Words("de").say("site.mixed") in text and Words("de").say("site.standing_line") in text, name
    finding = built_german.page("findings/breaker-kitchen.html").replace("\u00a0", " ")
    assert "24,3 ± 2,1 K" in finding and "Was zu tun ist" in finding and "Elektrofachkraft" in finding
    assert re.search(r'<p class="lead" data-words lang="en">', finding)


def test_no_english_fixed_sentence_is_left(built_german):
    """Long English sentences of the file stand on no German page."""
    english, german = sentences("en"), sentences("de")
    long = [text for key, text in english.items() if len(text) > 40 and "{" not in text and german[key] != text]
    pages = {name: re.sub(r"\s+", " ", text) for name, text in built_german.pages().items()}
    found = [(name, text) for text in long for name, page in pages.items() if text in page]
    assert found == []


def test_paper_says_of_each_sentence_in_which_language_it_is(built_german):
    """WCAG 2.2, 3.1.2 language of parts: a sentence that has no translation stays English and is marked so."""
    paper, texts = built_german.page("print.html"), built_german.results.texts.get("de", {})
    findings = built_german.results.findings
    said = {one.summary[:1].upper() + one.summary[1:]: one.summary for one in findings}
    said |= {rival.evidence: rival.evidence for one in findings for rival in one.rivals}
    said |= {gate.reason: gate.reason for one in findings for gate in one.gates}
    plain = {shown[:8]: text for shown, text in said.items() if re.fullmatch(r"[\w ]{8}", shown[:8])}
    assert len(plain) > 5
    for start, text in plain.items():
        assert f'lang="{"de" if text in texts else "en"}">{start}' in paper
