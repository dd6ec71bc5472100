"""The shot list and the manifest made after it ask for the same facts."""

from __future__ import annotations

import re

import pytest
import tifffile
from heatbrief.api import Domain, Shot
from heatbrief.manifest.asked import Asked, asked_lines
from heatbrief.manifest.load import load_manifest
from heatbrief.model import Caution
from heatbrief.model.text import matches
from heatbrief.pages.shots import shot_list
from heatbrief.registry import load_registry

DOMAINS = ("envelope", "electrical", "plumbing", "vehicle")


@pytest.mark.parametrize("domain", DOMAINS)
def test_shots_name_facts_and_words_of_the_domains_own_checks(domain):
    registry = load_registry()
    steps = [step for step in registry.of_stage("detect") if step.domain == domain]
    facts = {fact.name for step in steps for fact in step.facts}
    assert len(registry.domains[domain].shots) >= 5
    for shot in registry.domains[domain].shots:
        assert set(shot.facts) <= facts, shot.key
        chosen = [step for step in steps if matches(step.shows, shot.shows)]
        assert chosen, f"no check looks at {shot.shows!r}"
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", shot.key) and shot.what.endswith(".")


@pytest.mark.parametrize("domain", DOMAINS)
def test_facts_of_a_shot_are_read_by_a_check_that_looks_at_it(domain):
    registry = load_registry()
    for shot in registry.domains[domain].shots:
        read = {
            fact.name
            for step in registry.of_stage("detect")
            if step.domain == domain and matches(step.shows, shot.shows)
            for fact in step.facts
        }
        assert set(shot.facts) <= read, (shot.key, set(shot.facts) - read)


def test_the_page_needs_no_other_file_and_asks_for_each_fact():
    registry = load_registry()
    facts = {fact.name: fact for step in registry.steps.values() for fact in step.facts}
    domains = [registry.domains[key] for key in DOMAINS]
    text = shot_list(domains, facts, registry.cautions)
    assert not re.findall(r'(?:src|href)="(?!data:|#)[^"]*"', text) and "<script" not in text
    for domain in domains:
        assert all(registry.cautions[key].title in text.replace("&#39;", "'") for key in domain.cautions)
        for shot in domain.shots:
            assert all(f'<th scope="row">{name}</th>' in text for name in shot.facts)
    for words in ("second viewpoint", "ordinary photo", "foil", "in focus", "inside air", "humidity", "wind"):
        assert words in text


def test_the_page_in_german_has_no_english_left_but_names_of_the_manifest(heatbrief, tmp_path):
    import numpy as np

    done = heatbrief("new", tmp_path / "walk", "--for", ",".join(DOMAINS), "--language", "de")
    assert done.code == 0 and "--language de" in done.out
    registry = load_registry()
    page = (tmp_path / "walk" / "shots.html").read_text("utf-8").replace("&#39;", "'").replace("&#34;", '"')
    assert '<html lang="de">' in page and "Aufnahmeliste: Gebäudehülle" in page
    facts = {fact.name: fact for step in registry.steps.values() for fact in step.facts}
    for domain in (registry.domains[key] for key in DOMAINS):
        english = [domain.summary, *(shot.what for shot in domain.shots)]
        english += [facts[name].help for shot in domain.shots for name in shot.facts]
        for caution in (registry.cautions[key] for key in domain.cautions):
            english += [caution.applies, *caution.points]
        assert [one for one in english if f">{one}<" in page] == []
    tifffile.imwrite(tmp_path / "walk" / "ceiling-1.tiff", np.full((6, 8), 29300, np.uint16))
    assert heatbrief("new", tmp_path / "walk", "--for", "envelope", "--language", "de").code == 0
    assert load_manifest(tmp_path / "walk" / "survey.yaml", registry).language == "de"
    unknown = heatbrief("new", tmp_path / "other", "--for", "envelope", "--language", "xx")
    assert unknown.code == 2 and "error[unknown-language]" in unknown.err and not (tmp_path / "other").exists()


def test_hostile_texts_stay_text():
    evil = "<script>alert(1)</script>{{7*7}}"
    domain = Domain("x", evil, evil, ("x.c",), (Shot("k", evil, evil),))
    text = shot_list([domain], {}, {"x.c": Caution("x.c", evil, evil, (evil,), defer=(evil,))})
    assert "<script" not in text and "{{7*7}}" in text


def test_a_file_named_by_the_shot_is_asked_only_what_belongs_to_it():
    shots = (Asked("ceiling", "ceiling", (("air_beyond", "24 degC"),)), Asked("wall-foot", "wall foot", ()))
    assert asked_lines("ir/ceiling-12.tiff", shots) == ["    # shows: ceiling", "    # facts: {air_beyond: 24 degC}"]
    assert asked_lines("wall foot/001.tiff", shots) == ["    # shows: wall foot"]
    assert len(asked_lines("ir/IMG_0001.tiff", shots)) == 4 and asked_lines("a.tiff", ()) == []


def test_first_the_list_then_the_manifest_with_its_facts_as_fields(heatbrief, tmp_path):
    import numpy as np

    folder = tmp_path / "walk"
    first = heatbrief("new", folder, "--for", "envelope, electrical")
    assert (
        first.code == 0
        and "No pictures yet" in first.out
        and [path.name for path in folder.iterdir()] == ["shots.html"]
    )
    for domain in ("envelope", "electrical"):
        for shot in load_registry().domains[domain].shots:
            tifffile.imwrite(folder / f"{shot.key}-1.tiff", np.full((6, 8), 29300, np.uint16))
    second = heatbrief("new", folder, "--for", "envelope,electrical")
    assert second.code == 0 and f"Wrote {folder / 'survey.yaml'}" in second.out
    lines = (folder / "survey.yaml").read_text("utf-8").split("\n")
    start = lines.index("thermograms:")
    answered = [
        line.replace("# ", "", 1) if re.match(r"    # (shows|facts):", line) else line for line in lines[start:]
    ]
    (folder / "survey.yaml").write_text("\n".join([*lines[:start], *answered]), "utf-8")
    manifest = load_manifest(folder / "survey.yaml", load_registry())
    assert sorted(manifest.inspect) == ["electrical", "envelope"]
    noted = {one.file: set(one.facts) for one in manifest.thermograms}
    assert {"load", "rated"} <= noted["panel-1.tiff"] and len(noted) == 11 and all(noted.values())


def test_an_unknown_domain_is_refused_with_the_nearest(heatbrief, tmp_path):
    done = heatbrief("new", tmp_path / "walk", "--for", "envelop")
    assert done.code == 2 and "error[unknown-domain]" in done.err and "'envelope'" in done.err
    assert not (tmp_path / "walk").exists()


def test_without_for_nothing_has_changed(heatbrief, tmp_path):
    assert heatbrief("new", tmp_path).code == 2 and list(tmp_path.iterdir()) == []
