"""Sentences of the core in the languages of the site: the same code, the same places, the words of the page."""

from __future__ import annotations

import dataclasses
import re

import pytest
from heatbrief.estimate.sentences import SENTENCES, amount, sentence
from heatbrief.model import Action, Estimate, Finding, Quantity
from heatbrief.model.action import PlanItem
from heatbrief.model.results import Brief
from heatbrief.model.said import Said
from heatbrief.site.plan_page import plan_row
from heatbrief.site.said import input_name, phrase, reason, sentences
from heatbrief.site.words import Words

REASONS = ("urgency of its findings: soon", "safety comes first; after steps 1 and 2")
BETWEEN = Quantity(11.724, "USD/a", 9.606, 13.745)


@pytest.fixture
def german(site_of, built):
    return dataclasses.replace(site_of(built), words=Words("de"))


def test_english_words_are_those_of_the_core():
    said = dict(Words("en").get("said"))
    said.pop("amount")
    assert said == dict(SENTENCES)


def test_every_sentence_has_the_same_places_in_german():
    for code, text in SENTENCES.items():
        other = Words("de").get("said")[code]
        assert sorted(re.findall(r"\{\w+\}", text)) == sorted(re.findall(r"\{\w+\}", other)) and other != text, code


def test_a_sentence_is_said_in_the_language_of_the_page(german, site_of, built):
    one = sentence("saving", amount=BETWEEN)
    assert one.text == (
        "Everything on the plan together saves 9.6 to 14 USD a year (95 % probability), if the findings are what they seem."
    )
    (english,) = sentences(site_of(built), [one.said], [one.text])
    (deutsch,) = sentences(german, [one.said], [one.text])
    assert "10 to 14" in english.replace("\u00a0", " ") and "(95 % probability)" in english
    assert "10 bis 14" in deutsch.replace("\u00a0", " ") and "USD im Jahr (95 % Wahrscheinlichkeit)" in deutsch


def test_inputs_and_trades_are_named_in_the_language_of_the_page(german):
    one = sentence("doubts", first="an hour of licensed plumber", second="cooling degree days")
    (text,) = sentences(german, [one.said], [one.text])
    assert "eine Stunde: " in text and "licensed" not in text and text.endswith("Kühlgradtage.")
    assert input_name(german, "area of Ceiling of wood") == "Fläche: Ceiling of wood"
    assert input_name(german, "price of electricity") == "Preis von Strom"
    assert phrase(german, "The whole plan of work") == "Der ganze Arbeitsplan"


@pytest.mark.parametrize(
    "said",
    [Said("unheard-of"), Said("saving"), Said("verdicts", {"defect": "{0.__class__}"}), Said("cost", {"amount": "x"})],
)
def test_what_is_not_known_here_is_said_as_it_was_written(german, said):
    """Documents of other releases, and damaged ones."""
    (text,) = sentences(german, [said], ["As it was written."])
    assert text == "As it was written." or (said.code == "cost" and "x" in text)
    assert sentences(german, (), ["One.", "Two."]) == ["One.", "Two."]


def test_amounts_have_two_digits_of_each_bound():
    assert amount(Quantity(5403.1, "USD", 4735.8, 6090.3)) == "4,700 to 6,100 USD (95 % probability)"
    assert amount(Quantity.exact(0.0064, "1"), percent=True) == "0.64 %"
    assert amount(Quantity.exact(20.0, "USD/a")) == "20 USD a year"


def test_the_reason_of_a_step_names_safety_urgency_and_steps_before(german, built):
    items = tuple(
        PlanItem(
            number,
            key,
            key,
            "repair",
            "contractor",
            "d",
            (),
            "soon",
            reason=REASONS[key == "a.c"],
            after=after,
        )
        for number, (key, after) in enumerate({"a.a": (), "a.b": ("a.a",), "a.c": ("a.b", "a.a")}.items(), 1)
    )
    site = dataclasses.replace(german, results=dataclasses.replace(built.results, plan=items))
    word = Words("de").get("urgency.soon.word")
    assert reason(site, dataclasses.replace(items[0], reason="Own words.")) == "Own words."
    assert [reason(site, one) for one in items] == [
        f"Dringlichkeit der Befunde: {word}",
        f"Dringlichkeit der Befunde: {word}; nach Schritt 1",
        "Sicherheit zuerst; nach den Schritten 1 und 2",
    ]


def test_next_to_nothing_is_said_and_not_counted_out(site_of, built):
    figures = {
        "cost": Quantity.exact(290.0, "USD"),
        "yearly_saving": Quantity.exact(0.08, "USD/a"),
        "hours": Quantity.exact(1, "h"),
    }
    item = PlanItem(1, "a.a", "A", "repair", "contractor", "d", (), "soon", figures, safety=True, slight_saving=True)
    row = plan_row(site_of(built), item)
    assert [one["name"] for one in row["figures"]] == ["Cost", "Hours of work"]
    assert row["slight"] == "No saving to speak of; done for safety."
    plain = plan_row(site_of(built), dataclasses.replace(item, slight_saving=False))
    assert "Yearly saving" in [one["name"] for one in plain["figures"]] and plain["slight"] == ""


def test_the_german_brief_has_no_english_sentence_of_the_core(built_german, built, tmp_path):
    """Every coded sentence is on the page in German and nowhere in English."""
    from heatbrief.site.build import build_site
    from heatbrief.site.settings import SiteSettings

    said = [
        sentence("verdicts", defect="2", suspect="1", inconclusive="0", normal="3"),
        sentence("saving", amount=BETWEEN),
        sentence("doubt", first="cooling efficiency"),
        sentence("example-prices"),
    ]
    flag = sentence("bill-beyond", share=Quantity.exact(1.4, "1"), fuel="electricity", claimed=BETWEEN, billed=BETWEEN)
    brief = Brief(
        how_sure=tuple(one.text for one in said),
        flags=(flag.text,),
        sure=tuple(one.said for one in said),
        flagged=(flag.said,),
    )
    notes = (sentence("counted-once"), sentence("unpriced", titles="Fix"))
    total = Estimate(
        "plan-total", "", "total", "The whole plan of work", {"cost": BETWEEN},
        notes=tuple(one.text for one in notes), said=tuple(one.said for one in notes),
    )  # fmt: skip
    results = dataclasses.replace(built.results, brief=brief, estimates=(*built.results.estimates, total))
    build_site(results, built.objects, tmp_path / "site", SiteSettings(language="de"))
    text = (tmp_path / "site" / "index.html").read_text("utf-8")
    for one in (*said, flag, *notes):
        start = SENTENCES[one.said.code].partition("{")[0].strip()
        assert start not in text, start
        assert Words("de").get("said")[one.said.code].partition("{")[0].strip() in text
    assert "Der ganze Arbeitsplan" in text and "The whole plan of work" not in text and "140" in text


def test_cautions_of_a_place_follow_only_works_done_there():
    from heatbrief.estimate.plan_of_work import plan_of_work

    finding = Finding(
        "f",
        "a",
        "a.c",
        "t",
        "r",
        "title",
        "s",
        "defect",
        "soon",
        0.9,
        actions=("a.dig", "a.meter"),
        cautions=("a.place",),
    )
    actions = {
        "a.dig": Action("a.dig", "Dig", "contractor", "d", cautions=("a.digging",)),
        "a.meter": Action(
            "a.meter", "Read the meter", "owner", "d", cautions=("a.own",), kind="check", cautions_complete=True
        ),
    }
    found = {one.action: one.cautions for one in plan_of_work([finding], [], actions)}
    assert found == {"a.dig": ("a.digging", "a.place"), "a.meter": ("a.own",)}
