"""Each verb as a person meets it."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import tifffile
import yaml
from heatbrief.cli import VERBS
from support import ROOT, tree_state

DEMO = ROOT / "surveys" / "lanternmoth-lane-9"


class AsEditorsDo(yaml.SafeLoader):
    """YAML 1.2 as editors read it: dates are text."""


AsEditorsDo.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if not tag.endswith(":timestamp")]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


@pytest.fixture
def pictures(tmp_path):
    """A folder of pictures as one comes back with."""
    folder = tmp_path / "my house"
    (folder / "ir").mkdir(parents=True)
    for number, name in enumerate(("kitchen ceiling.tiff", "attic.tiff")):
        counts = np.random.default_rng(number).normal(29300, 5, (60, 80)).astype(np.uint16)
        tifffile.imwrite(folder / "ir" / name, counts)
    return folder


def test_new_then_check_then_run(heatbrief, pictures, tmp_path):
    assert heatbrief("new", pictures).code == 0
    text = (pictures / "survey.yaml").read_text("utf-8")
    assert "kitchen ceiling.tiff" in text and "#" in text
    before = tree_state(tmp_path)
    assert heatbrief("check", pictures).code == 0
    assert tree_state(tmp_path) == before
    again = heatbrief("new", pictures)
    assert again.code == 2 and "error[manifest-exists]" in again.err
    done = heatbrief("run", pictures, "--out", tmp_path / "out")
    assert done.code == 0, done.err
    assert done.out.strip().splitlines()[-1].startswith("Open ")


def test_check_names_what_cannot_be_used(heatbrief, pictures):
    heatbrief("new", pictures)
    (pictures / "ir" / "attic.tiff").write_bytes(b"II*\0")
    (pictures / "survey.yaml").unlink()
    assert "marked there: ir/attic.tiff." in heatbrief("new", pictures).out
    done = heatbrief("check", pictures)
    assert done.code == 3
    assert "attic.tiff" in done.err


def test_plan_writes_nothing(heatbrief, tmp_path):
    done = heatbrief("plan", DEMO, "--out", tmp_path / "out")
    assert done.code == 0
    assert "never computed here" in done.out
    assert not (tmp_path / "out").exists()


def test_schema_accepts_the_demo_and_refuses_a_mistake(heatbrief):
    schema = json.loads(heatbrief("schema").out)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    manifest = yaml.load((DEMO / "survey.yaml").read_text("utf-8"), Loader=AsEditorsDo)
    assert [error.message for error in validator.iter_errors(manifest)] == []
    manifest["conditions"]["skye"] = "clear"
    assert [error.message for error in validator.iter_errors(manifest)] != []


def test_schema_knows_the_settings_of_installed_steps(heatbrief):
    text = heatbrief("schema").out
    for name in (
        "envelope.insulation",
        "electrical.twins",
        "plumbing.wet_ground",
        "vehicle.exhaust",
        "heatbrief.season",
    ):
        assert name in text


def test_plugins_lists_every_domain_and_no_refusal(heatbrief):
    done = heatbrief("plugins")
    assert done.code == 0
    for word in ("envelope", "electrical", "plumbing", "vehicle", "heatbrief.tiff", "heatbrief.site"):
        assert word in done.out
    assert "Refused" not in done.out and "warning" not in done.err


@pytest.mark.parametrize("code", ["picture-missing", "envelope.insulation", "envelope", "heatbrief.radiance"])
def test_explain_knows_codes_steps_and_domains(heatbrief, code):
    done = heatbrief("explain", code)
    assert done.code == 0
    assert len(done.out) > 60


def test_explain_leads_from_a_step_to_its_code_and_sources(heatbrief):
    said = heatbrief("explain", "envelope.insulation").out
    file = re.search(r"^Written in: (.*heatbrief_envelope/insulation\.py), function run$", said, re.MULTILINE)[1]
    assert Path(file).is_file()
    assert "\nSource iso-6946: ISO 6946 surface resistances" in said and said.rstrip().endswith(")")
    assert "(default 0.05)" in said and "(left open)" in said and "None" not in said
    assert "looks at one thermogram at a time" in said
    assert "looks at all findings" in heatbrief("explain", "heatbrief.season").out


def test_explain_offers_near_names(heatbrief):
    done = heatbrief("explain", "picture-mising")
    assert (done.code, "picture-missing" in done.err) == (2, True)


@pytest.mark.parametrize("verb", VERBS)
def test_help_of_every_verb(heatbrief, verb):
    done = heatbrief(verb, "--help")
    assert done.code == 0
    assert done.out.startswith("Usage: heatbrief")


def test_a_mistyped_verb_gets_the_nearest(heatbrief):
    done = heatbrief("rnu")
    assert (done.code, "'run'" in done.err) == (2, True)


def test_module_and_version():
    done = subprocess.run([sys.executable, "-m", "heatbrief", "--version"], capture_output=True, text=True, check=True)
    assert done.stdout.startswith("heatbrief, version ")


def test_publish_refuses_what_is_no_result(heatbrief, tmp_path):
    done = heatbrief("publish", tmp_path)
    assert (done.code, "error[results-missing]" in done.err) == (2, True)


def test_two_properties_get_a_portfolio(heatbrief, pictures, tmp_path):
    heatbrief("new", pictures)
    other = tmp_path / "other"
    other.mkdir()
    text = (pictures / "survey.yaml").read_text("utf-8")
    name = next(line for line in text.splitlines() if "name:" in line)
    (other / "survey.yaml").write_text(
        text.replace(name, name.replace(name.split("name:")[1].strip(" }"), "Second house"), 1), "utf-8"
    )
    shutil.copytree(pictures / "ir", other / "ir")
    done = heatbrief("run", pictures, other, "--out", tmp_path / "out")
    assert done.code == 0, done.err
    page = (tmp_path / "out" / "index.html").read_text("utf-8")
    assert "Second house" in page
    assert done.out.strip().endswith(str(tmp_path / "out" / "index.html"))
