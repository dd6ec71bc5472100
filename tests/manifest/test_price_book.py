"""The example price book under a survey's own prices, and prices that do not fit."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from heatbrief.api.offers import PriceEntry
from heatbrief.errors import UserError
from heatbrief.manifest.load import load_manifest
from heatbrief.model import Action, Quantity
from heatbrief.model.costs import ActionCost

from .fake_registry import REGISTRY as PLAIN

KINDS = {"envelope.air-seal": "piece", "envelope.fill-wall": "area", "pool.wrap": "length", "pool.plain": ""}
OFFERED = {"pool.wrap": PriceEntry("pool.wrap", ActionCost(cost=Quantity.exact(7.0, "USD")))}
REGISTRY = SimpleNamespace(
    steps=PLAIN.steps,
    publishers=PLAIN.publishers,
    domains=PLAIN.domains,
    actions={key: Action(key, key, "contractor", "does", priced_by=kind) for key, kind in KINDS.items()},
    prices=OFFERED,
)


def load(folder, more, registry=REGISTRY):
    path = folder / "survey.yaml"
    path.write_text(f"format: 1\nproperty: X\nthermograms: [a.tiff]\n{more}\n", "utf-8")
    return load_manifest(path, registry)


def codes(folder, more, registry=REGISTRY):
    with pytest.raises(UserError) as caught:
        load(folder, more, registry)
    return [(one.code, one.where.split(":")[-2], one.message) for one in caught.value.problems]


def test_the_book_fills_what_the_survey_does_not_say(tmp_path):
    stated = "{contractor: 70 USD/h}, actions: {envelope.air-seal: {cost: 5 USD}}"
    found = load(tmp_path, f"costs: {{book: example, years: 7, labour: {stated}}}")
    costs = found.costs
    assert costs.labour["contractor"] == Quantity.exact(70.0, "USD/h") and costs.labour["workshop"].unit == "USD/h"
    assert costs.actions["envelope.air-seal"] == ActionCost(cost=Quantity.exact(5.0, "USD")), (
        "not mixed with the book's"
    )
    assert costs.actions["envelope.borescope"].fixed.unit == "USD" and costs.years == 7
    assert found.stated_costs == {"labour.contractor", "actions.envelope.air-seal"}
    assert costs.actions["pool.wrap"].cost.value == 7.0, "offered by a plugin"


@pytest.mark.parametrize("costs", ["", "costs: {book: none}", "costs: {years: 7}", "costs:"])
def test_without_being_asked_the_book_stays_closed(tmp_path, costs):
    found = load(tmp_path, costs)
    assert dict(found.costs.actions) == {} == dict(found.costs.labour) and found.stated_costs == frozenset()


def test_own_prices_win_over_those_a_plugin_offers(tmp_path):
    found = load(tmp_path, "costs: {book: example, actions: {pool.wrap: {fixed: 3 USD}}}")
    assert found.costs.actions["pool.wrap"] == ActionCost(fixed=Quantity.exact(3.0, "USD"))
    plain = SimpleNamespace(**{**vars(REGISTRY), "prices": {}})
    assert "pool.wrap" not in load(tmp_path, "costs: {book: example}", plain).costs.actions


def test_the_book_is_in_dollars(tmp_path):
    (found,) = codes(tmp_path, "costs: {book: example}\ncurrency: EUR")
    assert found[:2] == ("two-currencies", "4") and found[2].startswith("the example price book is in USD")


@pytest.mark.parametrize(
    ("costs", "code", "word"),
    [
        ("labour: {wizard: 5 USD/h}", "unknown-price", "'wizard'"),
        ("actions: {pool.warp: {cost: 5 USD}}", "unknown-price", "'pool.warp'"),
        ("labour: {contractor: 5 USD}", "price-unit", "an hour of contractor must be in USD/h, got USD"),
        ("labour: {contractor: 5 USD/m2}", "price-unit", "got USD/m2"),
        ("actions: {pool.wrap: {cost: 5 USD/m}}", "price-unit", "cost of pool.wrap must be in USD, got USD/m"),
        ("actions: {pool.wrap: {fixed: 5 USD/m}}", "price-unit", "fixed of pool.wrap must be in USD"),
        ("actions: {pool.wrap: {material: 5 USD/m2}}", "price-unit", "must be in USD/m, got USD/m2"),
        ("actions: {envelope.fill-wall: {material: 5 USD/m}}", "price-unit", "must be in USD/m2"),
        ("actions: {envelope.air-seal: {material: 5 USD/m2}}", "price-unit", "must be in USD, got"),
        ("actions: {pool.plain: {material: 5 USD/m2}}", "price-unit", "must be in USD, got"),
        ("budget: 5 USD/m2", "price-unit", "budget must be in USD"),
        ("budget: 5 EUR, labour: {contractor: 5 USD/h}", "two-currencies", ""),
        ("labour: {contractor: 5 USD/h}, actions: {pool.wrap: {cost: 5 EUR}}", "two-currencies", "cost of pool.wrap"),
    ],
)
def test_prices_that_do_not_fit(tmp_path, costs, code, word):
    found = codes(tmp_path, f"costs: {{{costs}}}\ncurrency: USD")
    assert [one[0] for one in found] == [code] and word in found[0][2] and found[0][1] == "4"


@pytest.mark.parametrize(
    "costs",
    [
        "labour: {contractor: 5 USD/h}",
        "actions: {pool.wrap: {material: 5 USD/m}}",
        "actions: {envelope.fill-wall: {material: 5 USD/m2}}",
        "actions: {envelope.air-seal: {material: 5 USD}}",
        "actions: {pool.plain: {material: 5 USD, cost: 3 USD, fixed: 2 USD}}",
        "budget: 5 USD",
    ],
)
def test_prices_that_do(tmp_path, costs):
    assert load(tmp_path, f"costs: {{{costs}}}").costs


def test_without_known_actions_any_unit_of_material_is_taken(tmp_path):
    bare = SimpleNamespace(**{**vars(REGISTRY), "actions": {}, "prices": {}})
    for unit in ("USD", "USD/m", "USD/m2"):
        assert load(tmp_path, f"costs: {{actions: {{any.thing: {{material: 5 {unit}}}}}}}", bare)
    assert codes(tmp_path, "costs: {actions: {any.thing: {material: 5 USD/kWh}}}", bare)[0][0] == "price-unit"


def test_prices_of_work_say_the_currency_too(tmp_path):
    assert load(tmp_path, "costs: {budget: 5 EUR}").currency == "EUR"
    assert load(tmp_path, "costs: {actions: {pool.wrap: {fixed: 5 EUR}}}").currency == "EUR"
    assert load(tmp_path, "costs: {labour: {contractor: 5 EUR/h}}").currency == "EUR"
