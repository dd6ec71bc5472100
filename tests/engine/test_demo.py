"""The invented demo property, end to end: findings in all domains, nothing recomputed, reasons named."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from heatbrief.cli.again import FILE as AGAIN
from heatbrief.store.folders import HIDDEN
from support import ROOT, results_of, tree_state

DEMO = ROOT / "surveys" / "lanternmoth-lane-9"
SLUG = "lanternmoth-lane-9"


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo run once; tests that change something work on copies."""
    import subprocess
    import sys

    out = tmp_path_factory.mktemp("demo") / "published"
    done = subprocess.run(
        [sys.executable, "-m", "heatbrief", "run", str(ROOT / "surveys"), "--out", str(out)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return out, done.stdout


def copy_of(demo, tmp_path: Path) -> tuple[Path, Path]:
    """A copy of the survey folder and of what the run published for it."""
    survey, out = tmp_path / "survey", tmp_path / "published"
    shutil.copytree(DEMO, survey)
    shutil.copytree(demo[0], out)
    return survey, out


def test_findings_in_all_four_domains(demo):
    results = results_of(demo[0], SLUG)
    serious = {finding["domain"] for finding in results["findings"] if finding["verdict"] in ("defect", "suspect")}
    assert serious == {"envelope", "electrical", "plumbing", "vehicle"}
    assert results["property"]["invented"] is True


def test_summary_says_where_the_site_is_and_what_to_do_first(demo):
    out, said = demo
    page = said.strip().splitlines()[-1].removeprefix("Open ")
    assert Path(page).is_file()
    first = results_of(out, SLUG)["plan"][0]
    assert f"First: {first['title']} ({first['who']})." in said


def test_a_second_run_changes_no_byte_and_computes_nothing(demo, heatbrief):
    out, _ = demo
    before = tree_state(out)
    done = heatbrief("run", ROOT / "surveys", "--out", out)
    assert done.code == 0
    assert "nothing to compute, all results reused" in done.out
    after = tree_state(out)
    after.pop(f"{HIDDEN}/{AGAIN}", None)  # the words of this run; none were remembered of the first
    assert after == before
    assert "0 jobs to do" in heatbrief("plan", ROOT / "surveys", "--out", out).out


def test_another_number_of_workers_gives_the_same_bytes(demo, heatbrief, tmp_path):
    out = tmp_path / "serial"
    assert heatbrief("run", DEMO, "--out", out, "--jobs", 1).code == 0
    for name in ("results.json", "findings.csv", "plan.csv"):
        assert (out / SLUG / name).read_bytes() == (demo[0] / SLUG / name).read_bytes()


def test_publish_rebuilds_the_same_site_from_results_alone(demo, heatbrief, tmp_path):
    results = tmp_path / "elsewhere"
    shutil.copytree(demo[0] / SLUG, results, ignore=shutil.ignore_patterns("site"))
    assert heatbrief("publish", results, "--out", tmp_path / "again").code == 0
    again, first = tree_state(tmp_path / "again" / SLUG / "site"), tree_state(demo[0] / SLUG / "site")
    assert again == first


def change(survey: Path, old: str, new: str) -> None:
    manifest = survey / "survey.yaml"
    text = manifest.read_text("utf-8")
    assert old in text
    manifest.write_text(text.replace(old, new, 1), "utf-8")


def test_a_changed_picture_recomputes_that_picture_and_what_uses_it(demo, heatbrief, tmp_path):
    survey, out = copy_of(demo, tmp_path)
    assert "0 jobs to do" in heatbrief("plan", survey, "--out", out).out
    shutil.copyfile(survey / "ir" / "north-bedroom-ceiling.tiff", survey / "ir" / "study-ceiling.tiff")
    said = heatbrief("plan", survey, "--out", out).out.splitlines()
    todo = [line.split() for line in said if line.strip().startswith("do ")]
    assert {words[1] for words in todo} == {"study-ceiling", "survey"}
    assert any("the picture changed" in line for line in said)


def test_a_changed_price_recomputes_estimates_only(demo, heatbrief, tmp_path):
    survey, out = copy_of(demo, tmp_path)
    manifest = survey / "survey.yaml"
    manifest.write_text(manifest.read_text("utf-8").replace("0.16 USD/kWh", "0.21 USD/kWh"), "utf-8")
    said = [line for line in heatbrief("plan", survey, "--out", out).out.splitlines() if line.strip().startswith("do ")]
    assert said
    assert all("· estimate ·" in line and "prices changed" in line for line in said)


def test_incremental_and_cold_runs_agree(demo, heatbrief, tmp_path):
    survey, out = copy_of(demo, tmp_path)
    change(survey, "inside_air: 24 degC", "inside_air: 23 degC")
    assert heatbrief("run", survey, "--out", out).code == 0
    assert heatbrief("run", survey, "--out", tmp_path / "cold").code == 0
    assert (out / SLUG / "results.json").read_bytes() == (tmp_path / "cold" / SLUG / "results.json").read_bytes()
    assert tree_state(out / SLUG / "site") == tree_state(tmp_path / "cold" / SLUG / "site")


def test_lost_objects_and_a_damaged_cache_are_made_again(demo, heatbrief, tmp_path):
    survey, out = copy_of(demo, tmp_path)
    wanted = tree_state(out / SLUG)
    lost = next((out / SLUG / "objects").glob("*.png"))
    lost.unlink()
    assert heatbrief("run", survey, "--out", out).code == 0
    assert tree_state(out / SLUG) == wanted
    (out / ".heatbrief" / SLUG / "cache.sqlite").write_bytes(b"not a database")
    assert heatbrief("run", survey, "--out", out).code == 0
    assert tree_state(out / SLUG) == wanted


def test_fail_on_a_level(demo, heatbrief):
    levels = [finding["urgency"] for finding in results_of(demo[0], SLUG)["findings"]]
    assert "now" in levels
    assert heatbrief("run", DEMO, "--out", demo[0], "--fail-on", "now").code == 1


def test_unscaled_picture_has_no_temperature(demo):
    record = next(one for one in results_of(demo[0], SLUG)["thermograms"] if one["status"] == "unscaled")
    assert all(quantity["unit"] == "count" for quantity in record["statistics"].values())


def test_every_number_leads_to_the_step_the_file_and_the_source(demo, heatbrief):
    results = results_of(demo[0], SLUG)
    took_part = {step["name"]: step["version"] for step in results["run"]["steps"]}
    quoted = {source["key"]: source for source in results["sources"]}
    site = demo[0] / SLUG / "site"
    pages = [file.read_text("utf-8") for file in sorted((site / "findings").glob("*.html"))]
    method = (site / "method.html").read_text("utf-8")
    asked: dict[str, str] = {}
    shown = 0
    for finding in results["findings"]:
        (page,) = [text for text in pages if f"<bdi>{finding['id']}</bdi></dd>" in text]
        estimates = [one for one in results["estimates"] if one["finding"] == finding["id"]]
        for step, sources in [
            (finding["check"], finding["sources"]),
            *((one["step"], one["sources"]) for one in estimates),
        ]:
            link = re.search(
                rf'href="[./]*/method\.html#(step-[^"]+)"><bdi>[^<]*\({re.escape(step)}\), version (\d+)<', page
            )
            assert link, (finding["id"], step)
            assert int(link[2]) == took_part[step]
            assert f'<details id="{link[1]}">' in method and f"</b> <code>{step}</code>" in method
            asked.setdefault(step, heatbrief("explain", step).out)
            file, function = re.search(r"^Written in: (.+\.py), function (\w+)$", asked[step], re.MULTILINE).groups()
            assert re.search(rf"^def {function}\(", (ROOT / file).read_text("utf-8"), re.MULTILINE), (file, function)
            assert set(sources) <= quoted.keys() and all(quoted[key]["mark"] for key in sources)
            shown += 1
    assert shown > 25
    assert {one["id"] for one in results["estimates"] if not one["step"]} == {
        "plan-total", "plan-drivers", "plan-cost-drivers", "plan-budget", "bill-check",
    }  # fmt: skip
