"""Fixed short texts of plugins in German: each has its twin, and a German site shows them."""

from __future__ import annotations

import ast
import dataclasses
import itertools
import re
from pathlib import Path

import pytest
from heatbrief.api import Translation, hookimpl, load_texts
from heatbrief.api.translation import fixed_parts, text_fault, words_in
from heatbrief.detect import rivals_camera, rivals_load, rivals_picture, rivals_scene
from heatbrief.engine.translate import translated
from heatbrief.model.results import InOrder
from heatbrief.registry import build_registry, load_registry
from heatbrief.site.prose import figures, point_numerals
from heatbrief.site.words import Words
from heatbrief.store.results import read_results
from support import ROOT

LANGUAGE = "de"


MOST_JOINTS = 0.34
"""Of the pairs of words in a sentence that code puts together, so many lie where its pieces meet."""
ONE_OF_SEVERAL = r"warm(?:er)?|cold(?:er)?|cooler|hotter|brighter|darker|lags|leads|bare|insulated|heating|cooling|electricity|steps?|twins?"
"""Words that code chooses between, and puts into a text beside what stays."""


@pytest.fixture(scope="module")
def german() -> dict[str, str]:
    found: dict[str, str] = {}
    for one in load_registry().texts.values():
        if one.language == LANGUAGE:
            found |= one.texts
    return found


def called(kinds: set[str]) -> set[str]:
    """First arguments of calls of these names in checks, where they are plain texts or constants of their module."""
    found = set()
    for path in [*ROOT.glob("plugins/heatbrief_*/*.py"), *ROOT.glob("pipeline/heatbrief/detect/*.py")]:
        tree = ast.parse(path.read_text("utf-8"))
        constants = {
            node.targets[0].id: node.value.value
            for node in tree.body
            if isinstance(node, ast.Assign)
            and isinstance(node.targets[0], ast.Name)
            and isinstance(node.value, ast.Constant)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and node.args and getattr(node.func, "id", "") in kinds:
                first = node.args[0]
                name = first.value if isinstance(first, ast.Constant) else constants.get(getattr(first, "id", ""))
                found |= {name} if isinstance(name, str) and name else set()
    return found


def test_every_title_and_summary_of_our_plugins_has_its_twin(german):
    registry = load_registry()
    ours = {name for name in registry.owners if registry.owners[name].startswith("heatbrief ")}
    wanted = {
        one.title for one in (*registry.actions.values(), *registry.cautions.values(), *registry.domains.values())
    }
    wanted |= {one.summary for one in registry.steps.values() if one.name in ours}
    assert len(wanted) > 140 and sorted(wanted - set(german)) == []


def test_every_gate_and_rival_has_its_twin(german):
    gates, rivals = called({"Gate"}), called({"Rival", "open_rival"})
    for module in (rivals_camera, rivals_load, rivals_picture, rivals_scene):
        rivals |= set(module.EXPLANATIONS.values())
    assert len(gates) > 20 and len(rivals) > 50
    assert sorted((gates | rivals) - set(german)) == []


def test_a_german_demonstration_has_no_untranslated_fixed_label(tmp_path, heatbrief):
    folder = tmp_path / "lanternmoth-lane-9"
    folder.symlink_to(ROOT / "surveys" / "lanternmoth-lane-9")
    manifest = (ROOT / "surveys" / "lanternmoth-lane-9" / "survey.yaml").read_text("utf-8")
    (tmp_path / "german").mkdir()
    for name in ("ir", "visible", "plan"):
        (tmp_path / "german" / name).mkdir()
        for file in (folder / name).iterdir():
            (tmp_path / "german" / name / file.name).write_bytes(file.read_bytes())
    (tmp_path / "german" / "survey.yaml").write_text(
        manifest.replace("format: 1", "format: 1\nlanguage: de", 1), "utf-8"
    )
    done = heatbrief("run", tmp_path / "german", "--out", tmp_path / "out")
    assert done.code == 0, done.err
    results = read_results(tmp_path / "out" / "lanternmoth-lane-9")
    texts, labels = results.texts[LANGUAGE], Words(LANGUAGE).get("labels")
    fixed = {one.title for one in (*results.findings, *results.plan, *results.estimates, *results.cautions)}
    fixed |= {one.reason for one in results.plan} | {one.summary for one in results.run.steps}
    for one in results.findings:
        fixed |= {rival.explanation for rival in one.rivals} | {gate.name for gate in one.gates}
        fixed |= {column for row in one.classes for column in row}
    for one in results.estimates:
        fixed |= {part for row in one.assumptions for part in (row.name, row.origin)}
    assert sorted(fixed - set(texts)) == []
    told = {one.summary for one in results.findings} | {one.does for one in results.plan}
    told |= {line for one in results.cautions for line in (one.applies, *one.points, *one.defer)}
    for one in results.findings:
        told |= {part for rival in one.rivals for part in (rival.evidence, rival.missing)} | {*one.next_time}
        told |= {part for gate in one.gates for part in (gate.reason, gate.remedy)}
        told |= {quantity.method for quantity in one.measured.values()}
    told |= {line for one in results.thermograms for line in one.notes} | {one.remedy for one in results.not_analysed}
    assert len(told) > 250 and sorted(told - set(texts) - {""}) == []
    behind = [_behind(one.message) for one in (*results.not_analysed, *results.in_order)]
    assert [one for one in behind if not any(part in texts for part in one)] == []
    names = {name for one in (*results.findings,) for name in one.measured}
    names |= {name for one in (*results.estimates, *results.plan) for name in one.quantities}
    for one in results.thermograms:
        names |= {*one.statistics, *one.conditions, *one.settings, *(line.name for line in one.budget)}
        names |= {name for region in one.regions for name in region.statistics}
    plain = {name for name in names if name.partition(" (")[0] not in labels}
    assert sorted(plain - set(texts)) == []
    page = (tmp_path / "out" / "lanternmoth-lane-9" / "site" / "findings.html").read_text("utf-8")
    assert "Luft dringt ein: wall foot by the sofa" in page
    method = (tmp_path / "out" / "lanternmoth-lane-9" / "site" / "method.html").read_text("utf-8")
    assert '<span lang="de">Luftfahnen an Kanten' in method


def _behind(message: str) -> tuple[str, ...]:
    """A message whole, and without the picture, finding or step it starts with."""
    head, _, rest = message.partition(":")
    return message, rest.strip(), message[len(head.partition(",")[0]) :].lstrip(",: ")


def test_every_sentence_of_actions_cautions_and_shots_has_its_twin(german):
    registry = load_registry()
    wanted = {one.does for one in registry.actions.values()} | {one.title for one in registry.steps.values()}
    for one in registry.cautions.values():
        wanted |= {one.applies, *one.points, *one.defer, *(figure.text for figure in one.figures)}
    wanted |= {shot.what for domain in registry.domains.values() for shot in domain.shots}
    assert len(wanted) > 300 and sorted(wanted - set(german) - {""}) == []


def test_the_more_exact_of_two_that_fit_is_taken_and_words_within_are_translated(built):
    texts = {
        "{}: warm": "{0}: warm!",
        "{}: warmer than {}": "{0} > {1}",
        "Kitchen breaker runs {}": "Küche {0}",
        "hot": "heiß",
    }
    found = translated(built.results, {"x.de": Translation("x.de", "de", texts)}, ["de"])
    assert found["de"] == {"Kitchen breaker runs hot": "Küche heiß"}
    assert translated(built.results, {"x.de": Translation("x.de", "de", texts)}, ["en", "fr"]) == {}


@pytest.mark.parametrize("texts", [{"a": 3}, {"a": ""}, {" ": "b"}, {"a {}": "{1}"}, {3: "x"}])
def test_faulty_texts_are_refused_with_their_origin(texts):
    class Plugin:
        @hookimpl
        def heatbrief_texts(self):
            return (Translation("trial.de", "de", texts),)

    assert text_fault(texts)
    registry = build_registry([("trial", "trial 1.0", Plugin)])
    assert registry.texts == {} and "trial 1.0" in registry.refused[0].where


@pytest.mark.parametrize(
    ("english", "text", "words"),
    [
        ("{}: warm at {}", "{0} {x}: warm at (a+b", ("{0} {x}", "(a+b")),
        ("{}{} K", "ab K", ("a", "b")),
        ("{} K", " K", None),
        ("warm {}", "cold 3", None),
        ("{} and {} and {}", "a and b and c and d", ("a", "b", "c and d")),
        ("{}: {}.", ": a.", None),
    ],
)
def test_places_take_any_words_but_braces_of_the_words_stay(english, text, words):
    assert words_in(fixed_parts(english), text) == words
    assert fixed_parts("plain") == ("plain",)


def test_a_text_of_several_sentences_is_put_together_and_stays_english_when_one_has_no_counterpart(built):
    texts = {
        "{} K colder than around it": "{0} K kälter als ringsum",
        "consistent with a leak.": "passt zu einem Leck.",
        "warm": "warm!",
        "{} here": "hier {0}",
    }
    said = (
        "3.1 K colder than around it; consistent with a leak.",
        "Consistent with a leak. 3 K colder than around it.",
        "3.1 K colder than around it. Nobody wrote this.",
        "Nobody wrote this. warm here",
    )
    document = dataclasses.replace(built.results, in_order=tuple(InOrder("a", "x.y", one) for one in said))
    found = translated(document, {"x.de": Translation("x.de", "de", texts)}, ["de"])["de"]
    assert [found.get(one) for one in said] == [
        "3.1 K kälter als ringsum; passt zu einem Leck.",
        "Passt zu einem Leck. 3 K kälter als ringsum.",
        None,
        None,
    ]


def test_what_a_message_is_about_is_left_out_before_it_is_looked_up(built):
    document = dataclasses.replace(built.results, in_order=(InOrder("panel", "x.y", "panel, lid: even along 3 m."),))
    texts = {"{}: even along {} m.": "{0}: gleichmäßig auf {1} m.", "lid": "Deckel"}
    found = translated(document, {"x.de": Translation("x.de", "de", texts)}, ["de"])["de"]
    assert found["lid: even along 3 m."] == "Deckel: gleichmäßig auf 3 m."


def test_decimal_signs_follow_the_language_but_not_in_names():
    names = {"decimal": ",", "words": {"to": "bis"}}
    assert (
        point_numerals('3.1 K (+2.05) in "table 100.18", 2026-07-14', names)
        == '3,1 K (+2,05) in "table 100.18", 2026-07-14'
    )
    assert point_numerals("1.2 to 3.4 K, up to 2 K", names) == "1,2 bis 3,4 K, up to 2 K"
    assert point_numerals("3.1 K", {"decimal": "."}) == "3.1 K"
    assert figures("24.0 degC", names) == "24,0 degC" and figures("as in 24.0", names) == "as in 24.0"


def test_files_are_found_by_their_language(tmp_path, monkeypatch):
    package = tmp_path / "texts_trial"
    package.mkdir()
    (package / "__init__.py").write_text("")
    (package / "texts.de.yaml").write_text("a: b\n")
    (package / "texts.fr.yaml").write_text("a: c\n")
    (package / "texts.yaml").write_text("a: d\n")
    monkeypatch.syspath_prepend(str(tmp_path))
    found = load_texts("texts_trial", "trial")
    assert [(one.key, one.language, one.texts) for one in found] == [
        ("trial.de", "de", {"a": "b"}),
        ("trial.fr", "fr", {"a": "c"}),
    ]
    assert Path(package).is_dir()


def words_of(path: Path) -> list[str]:
    """Texts, arguments and fields of code; everything of a catalogue."""
    text = path.read_text("utf-8")
    if path.suffix == ".yaml":
        return [text]
    nodes = list(ast.walk(ast.parse(text)))
    found = [str(node.value) for node in nodes if isinstance(node, ast.Constant)]
    return found + [str(getattr(node, "arg", None) or getattr(node, "id", "")) for node in nodes]


def test_every_text_that_has_a_twin_is_still_said(german):
    """What stays of it between its places and the words that are chosen occurs in code or catalogue: as a whole, or,
    where code puts a sentence together, in nearly all pairs of neighbouring words.
    """
    files = [path for name in ("pipeline", "plugins") for path in (ROOT / name).rglob("*.*")]
    kept = [path for path in files if path.suffix in (".py", ".yaml") and not path.name.startswith("texts.")]
    said = " ".join(" ".join(one for path in kept for one in words_of(path)).casefold().replace("_", " ").split())
    told = said.split()
    pairs = set(itertools.pairwise(told))
    for english in german:
        parts = re.split(rf"\{{\d*\}}|[;,:()]|\b(?:{ONE_OF_SEVERAL}|k)\b", english.casefold().replace("_", " "))
        runs = [part.split() for part in parts]
        if all(" ".join(run) in said for run in runs):
            continue
        own = [pair for run in runs for pair in itertools.pairwise(run)]
        new = [pair for pair in own if pair not in pairs]
        assert len(own) >= 3 and len(new) <= MOST_JOINTS * len(own), (english, new)
