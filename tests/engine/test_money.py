"""Prices, weather and bills from manifests to results and tables: one set of numbers everywhere."""

from __future__ import annotations

import csv
import json
import shutil
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from heatbrief.cli import again
from heatbrief.errors import UserError
from heatbrief.manifest.load import load_manifest
from heatbrief.registry import load_registry
from heatbrief.site.format import show
from heatbrief.store.results import read_results
from support import ROOT, results_of

DEMO = ROOT / "surveys" / "lanternmoth-lane-9"
PICTURES = ("north-bedroom-ceiling", "living-room-wall")
SURVEY = """\
format: 1
property: Made-up House
inspect: [envelope]
conditions: {{inside_air: 24 degC, outside_air: 38 degC, reflected: 24.3 degC, sun: none, wind: 1.2 m/s, sky: clear,
             hours_steady: 24 h, hours_without_sun: 24 h, hours_without_rain: 240 h, humidity: 35 %}}
camera: {{field_of_view: [56 deg, 42 deg], noise: 50 mK, accuracy: 2 K}}
prices: {{electricity: 0.12 .. 0.20 USD/kWh}}
{more}
settings:
  heatbrief.season: {{{season}}}
defaults: {{scale: {{kelvin_per_count: 0.01}}, material: painted plaster, distance: 1.7 m}}
thermograms:
  - {{file: ir/north-bedroom-ceiling.tiff, shows: "ceiling, from inside", regions: [{{name: ceiling, shows: ceiling}}]}}
  - {{file: ir/living-room-wall.tiff, shows: "outside wall, from inside", regions: [{{name: north wall, shows: wall}}]}}
"""
SEASON = "weather: weather.csv, heating_system: heat pump, cooling_system: air conditioner"
SLUG = "made-up-house"


def weather(shift: float = 0.0) -> bytes:
    n = np.arange(8760)
    celsius = 16 + shift - 11 * np.cos(2 * np.pi * n / 8760) - 5 * np.cos(2 * np.pi * n / 24)
    start = np.datetime64("2025-01-01T00:00")
    return (
        "time,temperature (C)\n"
        + "".join(f"{start + np.timedelta64(int(i), 'h')},{one:.2f}\n" for i, one in zip(n, celsius, strict=True))
    ).encode()


@pytest.fixture
def house(survey):
    """A survey folder with two of the demonstration's pictures: house(more, season)."""

    def make(more: str = "costs: {book: example, budget: 600 USD}", season: str = SEASON):
        pictures = {f"ir/{name}.tiff": DEMO / "ir" / f"{name}.tiff" for name in PICTURES}
        return survey(SURVEY.format(more=more, season=season), {**pictures, "weather.csv": weather()})

    return make


def estimates(results, kind):
    return [one for one in results["estimates"] if one["kind"] == kind]


def test_a_weather_file_reaches_the_brief(house, heatbrief, tmp_path):
    out = tmp_path / "out"
    assert heatbrief("run", house(), "--out", out).code == 0
    results = results_of(out, SLUG)
    seasons = estimates(results, "yearly-energy")
    assert len(seasons) == 2 and all(
        {"yearly_cost", "yearly_energy", "yearly_emissions"} <= set(one["quantities"]) for one in seasons
    )
    assert any("counted from weather.csv" in row["origin"] for row in seasons[0]["assumptions"])
    assert results["brief"]["total"]["yearly_saving"]["unit"] == "USD/a" and results["brief"]["example_prices"] is True


def test_only_the_season_is_computed_again_when_the_weather_changes(house, heatbrief, tmp_path):
    out, folder = tmp_path / "out", house()
    heatbrief("run", folder, "--out", out)
    before = estimates(results_of(out, SLUG), "yearly-energy")[0]["quantities"]["yearly_energy"]["value"]
    assert "0 jobs to do" in heatbrief("plan", folder, "--out", out).out
    (folder / "weather.csv").write_bytes(weather(4.0))
    told = heatbrief("plan", folder, "--out", out).out
    assert "a file that the settings name changed" in told and "1 job" in told
    heatbrief("run", folder, "--out", out)
    assert estimates(results_of(out, SLUG), "yearly-energy")[0]["quantities"]["yearly_energy"]["value"] != before


def test_a_missing_weather_file_is_listed_and_the_rest_goes_on(house, heatbrief, tmp_path):
    folder, out = house(), tmp_path / "out"
    (folder / "weather.csv").unlink()
    heatbrief("run", folder, "--out", out)
    results = results_of(out, SLUG)
    failed = [one for one in results["not_analysed"] if one["failed"]]
    assert [(one["code"], one["step"]) for one in failed] == [("named-file", "heatbrief.season")]
    assert "weather.csv" in failed[0]["message"] and results["findings"] and results["plan"]


def test_results_tables_and_pages_hold_the_same_numbers(house, heatbrief, tmp_path):
    """To the last digit that is shown: JSON and CSV digit for digit, pages by the one function that formats."""
    out = tmp_path / "out"
    heatbrief("run", house(), "--out", out)
    results = results_of(out, SLUG)
    with (out / SLUG / "plan.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    told = {(row["order"], row["quantity"]): row for row in rows if row["quantity"]}
    stored = {
        (str(item["order"]), name): value for item in results["plan"] for name, value in item["quantities"].items()
    }
    assert set(told) == set(stored) and any(name == "cost" for _, name in told)
    for key, row in told.items():
        assert [float(row[part]) for part in ("value", "low", "high")] == [
            stored[key][part] for part in ("value", "low", "high")
        ], key
    document = read_results(out / SLUG)
    page = (out / SLUG / "site" / "plan.html").read_text("utf-8")
    for item in document.plan:
        for name in ("cost", "yearly_saving"):
            if name in item.quantities:
                assert show(item.quantities[name]).centre.split("\u00a0")[0] in page, (item.action, name)


def test_lines_add_up_to_the_total_in_both_forms(house, heatbrief, tmp_path):
    out = tmp_path / "out"
    heatbrief("run", house(), "--out", out)
    results = results_of(out, SLUG)
    for name in ("cost", "yearly_saving", "yearly_energy", "yearly_emissions"):
        lines = [item["quantities"][name]["value"] for item in results["plan"] if name in item["quantities"]]
        assert sum(lines) == pytest.approx(results["brief"]["total"][name]["value"], rel=1e-9), name
        assert results["brief"]["total"][name] == estimates(results, "total")[0]["quantities"][name]


def test_the_same_survey_gives_the_same_bytes(house, heatbrief, tmp_path):
    folder = house()
    for out in ("one", "two"):
        heatbrief("run", folder, "--out", tmp_path / out, "--jobs", "1" if out == "one" else "2")
    names = ("results.json", "plan.csv", "findings.csv")
    assert all(
        (tmp_path / "one" / SLUG / name).read_bytes() == (tmp_path / "two" / SLUG / name).read_bytes() for name in names
    )


def test_a_change_of_price_or_budget_alone_is_noticed(house, heatbrief, tmp_path):
    out = tmp_path / "out"
    folder = house()
    heatbrief("run", folder, "--out", out)
    first = results_of(out, SLUG)
    text = (
        (folder / "survey.yaml")
        .read_text("utf-8")
        .replace("budget: 600 USD", "budget: 60 USD, years: 40, labour: {contractor: 1 USD/h}")
    )
    (folder / "survey.yaml").write_text(text, "utf-8")
    assert heatbrief("run", folder, "--out", out).code == 0
    second = results_of(out, SLUG)
    costs = [one["brief"]["total"]["cost"]["value"] for one in (first, second)]
    assert costs[1] < costs[0] and estimates(second, "budget")[0]["quantities"]["budget"]["value"] == 60.0


def test_a_bill_that_is_too_small_is_flagged_on_the_list(house, heatbrief, tmp_path):
    out = tmp_path / "out"
    heatbrief("run", house("bill: {electricity: 2 kWh}"), "--out", out)
    results = results_of(out, SLUG)
    assert [one["code"] for one in results["not_analysed"] if one["code"] == "claim-beyond-bill"] and results["brief"][
        "flags"
    ]


# --- the firm's file -----------------------------------------------------------------------

FIRM = """\
prices: {electricity: 0.30 USD/kWh}
costs:
  labour: {contractor: 90 USD/h}
  actions:
    envelope.add-attic-insulation: {material: 20 USD/m2, hours: 2 h, life: 40}
settings:
  heatbrief.season:
    {heating_degree_days: 2000 K d, heating_system: heat pump, cooling_degree_days: 900 K d, cooling_efficiency: 3}
  envelope.insulation: {smallest: 0.07 m2}
"""


def test_no_file_that_a_manifest_names_is_forgotten_when_a_run_is_said_again(house, heatbrief, tmp_path, monkeypatch):
    monkeypatch.setattr(again, "SETTLED_NS", -(10**18))
    folder = house("include: firm.yaml\nbill: {electricity: {file: bill.csv}}\ncosts: {book: example}")
    days = [f"2025-{month:02}-01" for month in range(1, 13)] + ["2026-01-01"]
    months = ["start,end,amount (kWh)", *(f"{first},{after},900" for first, after in pairwise(days))]
    (folder / "firm.yaml").write_text(FIRM, "utf-8")
    (folder / "bill.csv").write_text("\n".join(months) + "\n", "utf-8")
    for _ in range(2):
        done = heatbrief("run", folder, "--out", tmp_path / "out")
    assert "nothing to compute" in done.out, done.err
    named = {path for path in folder.rglob("*") if path.suffix in (".yaml", ".csv", ".tiff")}
    watched = {Path(one) for one in json.loads((tmp_path / "out" / ".heatbrief" / again.FILE).read_text())["paths"]}
    assert len(named) == 6 and named < watched and folder / "ir" in watched


def test_a_firm_keeps_prices_and_rules_in_one_file(house, heatbrief, tmp_path):
    """Its price book and its limits come by `include`; the manifest's own entries win, and the example fills the
    rest."""
    folder = house(
        "include: firm.yaml\ncosts: {book: example, labour: {contractor: 70 USD/h}}", "heating_degree_days: 1500 K d"
    )
    (folder / "firm.yaml").write_text(FIRM, "utf-8")
    manifest = load_manifest(folder / "survey.yaml", load_registry())
    costs = manifest.costs
    assert costs.labour["contractor"].value == 70.0 and "workshop" in costs.labour
    assert (
        costs.actions["envelope.add-attic-insulation"].life == 40
        and costs.actions["envelope.add-attic-insulation"].fixed is None
    )
    assert manifest.stated_costs == {"labour.contractor", "actions.envelope.add-attic-insulation"}
    season = manifest.settings["heatbrief.season"]
    assert season.heating_degree_days.value == 1500.0 and season.cooling_degree_days.value == 900.0
    assert manifest.settings["envelope.insulation"].smallest == 0.07
    assert manifest.prices["electricity"].value == 0.16, "the manifest's own price wins"
    out = tmp_path / "out"
    heatbrief("run", folder, "--out", out)
    origins = {item["action"]: item["price_origin"] for item in results_of(out, SLUG)["plan"]}
    assert origins["envelope.add-attic-insulation"] == "given in the survey"
    assert "example price book" in origins.values()


@pytest.mark.parametrize(
    ("more", "code", "word"),
    [
        ("costs: {actions: {envelope.air-seel: {cost: 5 USD}}}", "unknown-price", "envelope.air-seal"),
        ("costs: {labour: {wizard: 5 USD/h}}", "unknown-price", "wizard"),
        ("costs: {labour: {contractor: 5 USD}}", "price-unit", "USD/h"),
        ("costs: {actions: {envelope.fill-wall: {material: 5 USD}}}", "price-unit", "USD/m2"),
        ("costs: {budget: 5 EUR}", "two-currencies", "EUR"),
        ("costs: {book: example}\ncurrency: EUR", "two-currencies", ""),
        ("costs: {book: mine}", "unknown-choice", "example"),
        ("bill: {electricity: {months: [1 kWh, 2 kWh]}}", "bad-settings", "days"),
        ("bill: {electricity: 12 m}", "bad-quantity", ""),
        ("emissions: {electricity: 0.2 kg}", "bad-quantity", "kg/kWh"),
    ],
)
def test_faults_in_prices_are_named_where_they_stand(house, more, code, word):
    folder = house(more)
    with pytest.raises(UserError) as caught:
        load_manifest(folder / "survey.yaml", load_registry())
    found = [one for one in caught.value.problems if one.code == code]
    assert found and "survey.yaml:" in found[0].where
    assert any(word in one.message + one.remedy for one in found)


def test_a_weather_file_outside_the_folder_is_refused(house):
    folder = house(season="weather: ../weather.csv")
    with pytest.raises(UserError) as caught:
        load_manifest(folder / "survey.yaml", load_registry())
    assert {one.code for one in caught.value.problems} == {"path-outside"}


# --- the example price book ----------------------------------------------------------------


def test_the_example_book_has_every_action_that_somebody_is_paid_for(house):
    registry = load_registry()
    costs = load_manifest(house() / "survey.yaml", registry).costs
    missing = {
        key
        for key, one in registry.actions.items()
        if (one.who != "owner" or one.priced_by) and key not in costs.actions
    }
    assert missing == set() and set(costs.actions) <= set(registry.actions)
    assert {one.who for one in registry.actions.values()} - {"owner"} <= set(costs.labour)
    repairs = {key for key, one in registry.actions.items() if one.kind == "repair" and key in costs.actions}
    assert {
        key
        for key in repairs
        if not any((one := costs.actions[key], one.fixed, one.material, one.hours, one.hours_per_unit)[1:])
    } == set()


def test_the_example_book_can_be_copied_into_a_firms_file(house, tmp_path):
    folder = house("include: firm.yaml")
    book = ROOT / "pipeline" / "heatbrief" / "estimate" / "price_book.yaml"
    assert book.read_text("utf-8").startswith("# EXAMPLE")
    shutil.copy(book, folder / "firm.yaml")
    manifest = load_manifest(folder / "survey.yaml", load_registry())
    assert "actions.envelope.air-seal" in manifest.stated_costs


def test_the_demonstration_shows_money():
    manifest = load_manifest(DEMO / "survey.yaml", load_registry())
    assert manifest.costs.book == "example" and manifest.costs.budget is not None and manifest.bill
