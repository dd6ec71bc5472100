"""What plugins hand over is hostile: wrong kinds, names, sizes and failures are refused by name and hide nothing else."""

from __future__ import annotations

import sys
import time
import types
import warnings
from dataclasses import replace
from datetime import date

import pytest
from heatbrief.api import API_VERSION, HeatbriefDeprecation, PagePart, PriceEntry, RivalTest, Step, StepOutput, hookimpl
from heatbrief.api.deprecation import API_HISTORY, DEPRECATIONS, api_fault, deprecated
from heatbrief.api.part_checks import MOST_PARTS, part_fault
from heatbrief.detect.rivals import LONGEST_EVIDENCE, argue
from heatbrief.engine.page_parts import with_parts
from heatbrief.model import Action, ActionCost, FigureRow, Finding, Part, PartFigure, PartTable, Quantity, Rival
from heatbrief.model.results import FORMAT, PropertyInfo, ResultsDocument, RunInfo, SurveyInfo, ThermogramRecord
from heatbrief.registry import build_registry
from heatbrief.testing import check_plugin
from heatbrief.testing.contract_subjects import pictures

MODULE = types.ModuleType("faulty_offers")
sys.modules["faulty_offers"] = MODULE


def at_top(function):
    """The function as if it stood at the top level of a plugin's module."""
    function.__module__, function.__qualname__ = MODULE.__name__, function.__name__
    setattr(MODULE, function.__name__, function)
    return function


@at_top
def sound(case):
    return Rival("splashes", "ruled out", "nobody bathed")


@at_top
def breaks(case):
    raise ZeroDivisionError("no water")


@at_top
def talks(case):
    return Rival("splashes", "ruled out", "x" * 9_000)


@at_top
def nonsense(case):
    return "splashes"


@at_top
def step_run(subject, settings, context):
    return StepOutput()


@at_top
def hangs(subject, settings, context):
    time.sleep(3.0)
    return StepOutput()


def plugin(api=None, **hooks):
    made = types.SimpleNamespace(
        **{
            name: hookimpl(lambda given=given: given() if callable(given) else given, specname=name)
            for name, given in hooks.items()
        }
    )
    if api is not None:
        made.HEATBRIEF_API = api
    return made


def registry_of(**hooks):
    return build_registry([("pool", "pool-dist 1.0", lambda: plugin(**hooks))])


def rival(run=sound, **changes):
    return RivalTest(**{"name": "pool.splashes", "version": 1, "explanation": "splashes", "run": run, **changes})


ACTION = Action("pool.test", "Test", "owner", "Test it.", priced_by="area")
COST = ActionCost(material=Quantity.between(5.0, 9.0, "USD/m2"))


@pytest.mark.parametrize(
    ("hook", "offer", "words"),
    [
        ("heatbrief_rivals", rival(name="roof.splashes"), "must start with 'pool'"),
        ("heatbrief_rivals", rival(run=lambda case: None), "top level"),
        ("heatbrief_rivals", rival(version=True), "version"),
        ("heatbrief_rivals", rival(explanation=7), "explanation must be text"),
        ("heatbrief_rivals", rival(checks=["plumbing"]), "checks must be a tuple"),
        ("heatbrief_rivals", rival(facts=("splashed",)), "must be a FactSpec"),
        ("heatbrief_page_parts", PagePart("pool.x", 1, "no function"), "run must be a function"),
        ("heatbrief_page_parts", "pool.x", "must be a PagePart"),
        ("heatbrief_prices", PriceEntry("pool.test", "9 USD"), "cost must be a ActionCost"),
        ("heatbrief_prices", PriceEntry("pool.none", COST), "no action of this name"),
        (
            "heatbrief_prices",
            PriceEntry("pool.test", ActionCost(material=Quantity.exact(5.0, "EUR/m2"))),
            "must be in USD/m2",
        ),
        (
            "heatbrief_prices",
            PriceEntry("pool.test", ActionCost(hours=Quantity.between(-1.0, 1.0, "h"))),
            "from 0 upwards",
        ),
        ("heatbrief_prices", PriceEntry("pool.test", ActionCost(life=1000)), "1 to 100"),
        ("heatbrief_actions", replace(ACTION, key="pool.\x1b[31mred"), "letters, digits"),
        ("heatbrief_actions", replace(ACTION, key="pool." + "x" * 200), "at most 100"),
        ("heatbrief_actions", replace(ACTION, title="x" * 30_000), "longer than"),
    ],
)
def test_faulty_offers_are_refused_by_name(hook, offer, words):
    registry = registry_of(**{"heatbrief_actions": (ACTION,), hook: (offer,)})
    assert len(registry.refused) == 1 and not getattr(registry, hook.removeprefix("heatbrief_"))
    problem = registry.refused[0]
    assert "pool-dist 1.0" in problem.where and problem.remedy
    assert words in problem.message and problem.message.isprintable() and len(problem.message) < 400


def test_a_hook_that_never_ends_or_leaves_is_refused():
    def endless():
        while True:
            yield ACTION

    def leaves():
        raise SystemExit(3)

    for hook in (endless, leaves):
        registry = registry_of(heatbrief_actions=hook, heatbrief_rivals=(rival(),))
        assert [one.code for one in registry.refused] == ["plugin-refused"] and set(registry.rivals) == {
            "pool.splashes"
        }


# --- API versions and what is on its way out ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("api", "taken"), [(None, True), (1, True), (API_VERSION, True), (API_VERSION + 1, False), (0, False), ("2", False)]
)
def test_a_plugin_says_for_which_api_it_was_written(api, taken):
    registry = build_registry([("pool", "pool-dist 1.0", lambda: plugin(api, heatbrief_actions=(ACTION,)))])
    assert bool(registry.actions) is taken and bool(registry.refused) is not taken
    assert taken or "API" in registry.refused[0].message


def test_who_must_be_updated_is_named():
    assert "heatbrief must be updated" in api_fault(API_VERSION + 1) and "the plugin must be updated" in api_fault(0)


def test_the_table_of_deprecations_gives_time_and_an_answer():
    days = [date.fromisoformat(day) for day, _ in API_HISTORY.values()]
    assert list(API_HISTORY) == list(range(1, API_VERSION + 1)) and days == sorted(days)
    for one in DEPRECATIONS.values():
        since, until = date.fromisoformat(one.since), date.fromisoformat(one.until)
        assert (until - since).days >= 365 and since in days and one.instead


def test_what_is_deprecated_warns_its_caller_and_is_told_by_the_registry_and_the_contract():
    with pytest.warns(HeatbriefDeprecation, match=r"Step\.api .* after 2027-11-25.*HEATBRIEF_API") as caught:
        Step("pool.x", "detect", 1, step_run, api=1)
    assert caught[0].filename == __file__
    made = registry_of(heatbrief_steps=lambda: (Step("pool.x", "detect", 1, step_run, summary="s", api=1),))
    assert set(made.steps) == {"pool.x"} and not made.refused
    assert [one.code for one in made.warned] == ["plugin-deprecated"] and "pool-dist 1.0" in made.warned[0].where
    with pytest.warns(HeatbriefDeprecation, match="HEATBRIEF_API"):
        check_plugin("pool", registry=made)
    with warnings.catch_warnings():
        warnings.simplefilter("error", HeatbriefDeprecation)
        Step("pool.x", "detect", 1, step_run)


def test_a_function_can_be_deprecated():
    marked = deprecated("Publisher.api")(lambda number: number + 1)
    with pytest.warns(HeatbriefDeprecation, match=r"Publisher\.api") as caught:
        assert marked(2) == 3
    assert caught[0].filename == __file__
    with pytest.raises(KeyError):
        deprecated("nothing of the table")


# --- rival explanations ---------------------------------------------------------------------------------------------


def case(*rivals):
    from heatbrief.api import Context
    from heatbrief.detect import Case

    return Case("plumbing.cold_ground", "plumbing", pictures()["ordinary"], Context(rivals=rivals))


def test_a_rival_is_weighed_where_it_asks_to_be_or_is_named():
    asked = rival(checks=("plumbing.cold_ground",))
    assert argue(case(asked), ())[0] == (Rival("splashes", "ruled out", "nobody bathed"),)
    assert argue(case(rival(checks=("plumbing",))), ())[1] == {"splashes"}
    assert argue(case(rival(checks=("vehicle",))), ())[0] == ()
    found, heavy = argue(case(rival(strong=False)), ("pool.splashes",))
    assert len(found) == 1 and heavy == frozenset()
    assert len(argue(case(asked), ("pool.splashes",))[0]) == 1


@pytest.mark.parametrize(
    ("run", "words"), [(breaks, "ZeroDivisionError: no water"), (nonsense, "str instead of a Rival")]
)
def test_a_rival_that_fails_is_not_testable_and_the_check_goes_on(run, words):
    (found,), heavy = argue(case(rival(run, checks=("plumbing",))), ())
    assert found.status == "not testable" and words in found.evidence and "pool.splashes" in found.missing
    assert heavy == {"splashes"}


def test_long_evidence_is_cut():
    assert len(argue(case(rival(talks, checks=("plumbing",))), ())[0][0].evidence) == LONGEST_EVIDENCE


# --- parts of pages -------------------------------------------------------------------------------------------------

FINDING = Finding("f", "pool", "pool.x", "deck", "", "t", "s", "defect", "soon", 0.9)
SHARE = Quantity.between(0.2, 0.4, "1")
RESULTS = ResultsDocument(
    FORMAT, PropertyInfo("House", "house"), SurveyInfo("survey.yaml", inspected=("pool",)), {},
    (ThermogramRecord("deck", "deck.tiff", "", 8, 8, "unscaled"),), (FINDING,), (), (), (), (), (), RunInfo("0"),
)  # fmt: skip


def figure(*rows):
    return PartFigure("c", "a", tuple(FigureRow("r", one) for one in rows))


def test_a_proper_part_has_no_fault():
    table = PartTable("c", ("a", "b"), (("words", SHARE),))
    assert part_fault(Part("finding", "t", "f", ("words",), (table,), (figure(SHARE),)), RESULTS) == ""


@pytest.mark.parametrize(
    ("part", "words"),
    [
        ("<b>bold</b>", "must be a Part"),
        (Part("start", "t"), "no page 'start'"),
        (Part("finding", "t", "g"), "no finding 'g'"),
        (Part("index", "t", "f"), "has no subject"),
        (Part("index", ""), "title is empty"),
        (Part("index", "t", paragraphs=("x" * 3_000,)), "3,000 characters"),
        (Part("index", "t", paragraphs=("x",) * 21), "at most 20"),
        (Part("index", "t", paragraphs=["x"]), "must be a tuple"),
        (Part("index", "t", tables=(PartTable("c", ("a",), (("x", "y"),)),)), "2 cells"),
        (Part("index", "t", tables=(PartTable("c", ("a",), (("x",),) * 201),)), "at most 200"),
        (Part("index", "t", tables=(PartTable("c", ("a",), ((3.0,),)),)), "a cell must be text"),
        (Part("index", "t", figures=(figure(),)), "without rows"),
        (Part("index", "t", figures=(figure(SHARE, Quantity.exact(1.0, "K")),)), "several units"),
        (Part("index", "t", figures=(figure(Quantity.exact(1.0, "<b>")),)), "a unit '<b>'"),
        (Part("finding", "t", "f", figures=(figure(Quantity.exact(3.0, "K")),)), "without a scale"),
    ],
)  # fmt: skip
def test_faulty_parts_are_named(part, words):
    assert words in part_fault(part, RESULTS)


@at_top
def too_many(results):
    return (Part("index", "t") for _ in range(MOST_PARTS + 1))


@at_top
def fails(results):
    raise RuntimeError("no pool")


@at_top
def markup(results):
    return (Part("index", "<script>alert(1)</script>{{7*7}}", paragraphs=("**bold** <img src=x>",)),)


@pytest.mark.parametrize(("run", "code"), [(too_many, "part-refused"), (fails, "step-failed")])
def test_what_is_refused_is_listed_and_the_others_stay(run, code):
    registry = registry_of(heatbrief_page_parts=(PagePart("pool.bad", 1, run), PagePart("pool.good", 1, markup)))
    made = with_parts(RESULTS, registry)
    (listed,) = made.not_analysed
    assert (listed.code, listed.step, listed.failed) == (code, "pool.bad", True) and listed.remedy
    assert [one.name for one in made.parts] == ["pool.good"] and made.parts[0].plugin == "pool-dist 1.0"


def test_a_part_of_another_inspection_is_not_made():
    registry = registry_of(heatbrief_page_parts=(PagePart("pool.bad", 1, fails, domain="roof"),))
    assert with_parts(RESULTS, registry) == RESULTS


def test_markup_is_shown_as_it_stands(tmp_path):
    from heatbrief.site.build import build_site

    registry = registry_of(heatbrief_page_parts=(PagePart("pool.good", 1, markup),))
    build_site(with_parts(replace(RESULTS, thermograms=(), findings=()), registry), tmp_path, tmp_path / "site")
    page = (tmp_path / "site" / "index.html").read_text("utf-8")
    assert "&lt;script&gt;alert(1)&lt;/script&gt;{{7*7}}" in page and "**bold** &lt;img src=x&gt;" in page
    assert "<script>alert" not in page and "<img src=x" not in page


# --- time -----------------------------------------------------------------------------------------------------------


def test_a_step_that_hangs_is_left_behind_and_named(monkeypatch):
    from heatbrief.testing import contract_run

    monkeypatch.setattr(contract_run.called, "__defaults__", (None, 0.2))
    steps = (Step("pool.slow", "detect", 1, hangs, summary="s"),)
    faults = check_plugin("pool", registry=registry_of(heatbrief_steps=lambda: steps))
    assert [(one.offer, one.rule) for one in faults] == [("pool.slow", "time")] and "0.2 s" in faults[0].message


def test_a_step_beyond_its_budget_is_named(monkeypatch):
    from heatbrief.testing import contract_run

    monkeypatch.setattr(contract_run, "SECONDS", -1.0)
    monkeypatch.setattr(contract_run, "SECONDS_PER_MEGAPIXEL", 0.0)
    steps = (Step("pool.slow", "detect", 1, step_run, summary="s"),)
    faults = check_plugin("pool", registry=registry_of(heatbrief_steps=lambda: steps))
    assert {one.rule for one in faults} == {"time"} and "budget" in faults[0].message


# --- in a run -------------------------------------------------------------------------------------------------------


@at_top
def publish_badly(results, objects, out, settings):
    (out / "half.txt").write_text("half", "utf-8")
    raise RuntimeError("no paper")


@pytest.fixture
def one_picture(tmp_path):
    import numpy as np
    import tifffile

    house = tmp_path / "house"
    house.mkdir()
    tifffile.imwrite(house / "a.tiff", np.full((60, 80), 29500, np.uint16))
    text = "format: 1\nproperty: House\ninspect: [plumbing]\nthermograms:\n  - {file: a.tiff, shows: irrigated ground, scale: {kelvin_per_count: 0.01}}\n"
    (house / "survey.yaml").write_text(text, "utf-8")
    return house


def test_a_publisher_that_fails_is_named_and_what_it_published_before_stays(
    one_picture, tmp_path, heatbrief, monkeypatch
):
    from heatbrief.api import Publisher
    from heatbrief.cli import common
    from heatbrief.registry import load_registry

    own, bad = load_registry(), Publisher("pool.paper", 1, publish_badly)
    registry = replace(
        own, publishers={**own.publishers, "pool.paper": bad}, owners={**own.owners, "pool.paper": "pool 1.0"}
    )
    monkeypatch.setattr(common, "load_registry", lambda: registry)
    survey = one_picture / "survey.yaml"
    survey.write_text(
        survey.read_text("utf-8") + "stages: {publish: [{use: pool.paper}, {use: heatbrief.site}]}\n", "utf-8"
    )
    kept = tmp_path / "out" / "house" / "pool.paper" / "before.txt"
    kept.parent.mkdir(parents=True)
    kept.write_text("before", "utf-8")
    done = heatbrief("run", one_picture, "--out", tmp_path / "out")
    assert (
        done.code == 3 and "error[publisher-failed]" in done.err and "no paper" in done.err and "pool 1.0" in done.err
    )
    assert [path.name for path in kept.parent.iterdir()] == ["before.txt"]
    assert (tmp_path / "out" / "house" / "site" / "index.html").is_file()
    assert not [path for path in (tmp_path / "out" / "house").iterdir() if ".tmp-" in path.name]


def test_a_check_is_stale_when_a_rival_it_may_weigh_is_another(one_picture, tmp_path):
    from heatbrief.engine.plan import make_plan
    from heatbrief.manifest.load import load_manifest
    from heatbrief.registry import load_registry

    def keys(*rivals):
        registry = replace(load_registry(), rivals={one.name: one for one in rivals})
        plan = make_plan(load_manifest(one_picture / "survey.yaml", registry), registry, tmp_path / "out")
        return {job.step: job.key.digest for job in plan.jobs if job.stage == "detect"}

    plain = keys()
    weighed = keys(rival(checks=("plumbing.cold_ground",)))
    assert {name for name in plain if plain[name] != weighed[name]} == {"plumbing.cold_ground"}
    assert keys(rival(checks=("plumbing.cold_ground",), version=2)) != weighed
    assert keys(rival(checks=("vehicle",))) == plain
