"""Rival explanations, parts of pages and publishers of a plugin, held to the contract."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import numpy as np

from heatbrief.api import PagePart, Publisher, RivalTest
from heatbrief.api.part_checks import MOST_PARTS, part_fault
from heatbrief.detect.areas import find_areas
from heatbrief.detect.case import Case
from heatbrief.model.finding import Finding, Rival, RivalStatus
from heatbrief.model.results import (
    FORMAT,
    PropertyInfo,
    ResultsDocument,
    RunInfo,
    SurveyInfo,
    ThermogramRecord,
)
from heatbrief.model.thermogram import Thermogram
from heatbrief.registry import Registry
from heatbrief.store.keys import digest_of
from heatbrief.testing.contract_run import HANG_SECONDS, Fault, Hangs, timed
from heatbrief.testing.contract_subjects import LARGE_KIND, context_of, pictures

LEAST_FILES = 1
"""A publisher that writes nothing has published nothing."""


def rival_faults(test: RivalTest, plugins: Registry) -> Iterable[Fault]:
    """(rule, message) of everything that is wrong with a rival explanation."""
    for one in test.checks:
        if one not in plugins.steps and one not in plugins.domains:
            yield (
                "keys",
                f"it asks to be weighed in {one!r}, and no installed plugin offers a check or inspection of that name",
            )
    for fact in test.facts:
        if not fact.help.strip():
            yield "words", f"the fact {fact.name!r} has no help"
    if not test.explanation.strip():
        yield "words", "it has no explanation"
    for kind, picture in pictures().items():
        if kind == LARGE_KIND:
            continue
        for told in (False, True):
            for case in _cases(test, picture, told):
                yield from _of_case(test, case, f"a picture that is {kind}")


def _cases(test: RivalTest, picture: Thermogram, told: bool) -> Iterable[Case]:
    from heatbrief.api.step import Step

    step = Step(test.name, "detect", 1, rival_faults, facts=test.facts)
    context = context_of(step, picture, told)
    region = context.regions[0]
    yield Case(test.name, "", picture, context, region=region)
    if picture.scale == "temperature" and np.isfinite(picture.values).any():
        for sign in ("warm", "cold"):
            for area in find_areas(picture, region.mask(*picture.shape) & picture.valid, sign)[:2]:
                yield Case(test.name, "", picture, context, region=region, area=area)


def _of_case(test: RivalTest, case: Case, what: str) -> Iterable[Fault]:
    try:
        answers = [timed(lambda: test.run(case), HANG_SECONDS)[0] for _ in range(2)]
    except Hangs as error:
        yield "time", f"on {what} it {error}"
        return
    except Exception as error:
        yield "errors", f"on {what} it raised {type(error).__name__}: {error}"
        return
    first = answers[0]
    if first is None:
        return
    if not isinstance(first, Rival) or first.status not in get_args(RivalStatus):
        yield "output", f"on {what} it returned {type(first).__name__} instead of a Rival with a known status"
        return
    if digest_of(first) != digest_of(answers[1]):
        yield "same input, same output", f"on {what} two runs differ"
    if not first.evidence.strip():
        yield "words", f"on {what} it gives no evidence"
    if first.status == "not testable" and not first.missing.strip():
        yield "words", f'on {what} it is "not testable" and does not say what is missing'


def part_faults(offer: PagePart, findings: Iterable[Finding]) -> Iterable[Fault]:
    """(rule, message) of everything that is wrong with parts of pages, on made-up results."""
    for kind, results in _documents(offer, tuple(findings)):
        before = digest_of(results)
        try:
            made = [timed(lambda: tuple(offer.run(results)), HANG_SECONDS)[0] for _ in range(2)]  # noqa: B023
        except Hangs as error:
            yield "time", f"on {kind} it {error}"
            continue
        except Exception as error:
            yield "errors", f"on {kind} it raised {type(error).__name__}: {error}"
            continue
        if digest_of(results) != before:
            yield "inputs", f"on {kind} it changed what it was given"
        if digest_of(made[0]) != digest_of(made[1]):
            yield "same input, same output", f"on {kind} two runs differ"
        if len(made[0]) > MOST_PARTS:
            yield "output", f"on {kind} it gives more than {MOST_PARTS} parts"
        for part in made[0]:
            if fault := part_fault(part, results):
                yield "output", f"on {kind}: {fault}"


def publisher_faults(offer: Publisher, findings: Iterable[Finding]) -> Iterable[Fault]:
    """(rule, message) of everything that is wrong with a publisher, on made-up results without pictures."""
    for kind, results in _documents(offer, tuple(findings)):
        states = []
        for _ in range(2):
            with tempfile.TemporaryDirectory(prefix="heatbrief-") as folder:
                out, objects = Path(folder) / "out", Path(folder) / "objects"
                out.mkdir()
                objects.mkdir()
                try:
                    timed(lambda: offer.run(results, objects, out, offer.settings()), HANG_SECONDS)  # noqa: B023
                except Hangs as error:
                    yield "time", f"on {kind} it {error}"
                    break
                except Exception as error:
                    yield "errors", f"on {kind} it raised {type(error).__name__}: {error}"
                    break
                files = sorted(path for path in out.rglob("*") if path.is_file())
                states.append({path.relative_to(out).as_posix(): path.read_bytes() for path in files})
        if len(states) == 2 and states[0] != states[1]:
            yield "same input, same output", f"on {kind} two runs wrote different files"
        if states and len(states[0]) < LEAST_FILES:
            yield "output", f"on {kind} it wrote nothing"


def _documents(offer: Any, findings: tuple[Finding, ...]) -> Iterable[tuple[str, ResultsDocument]]:
    """Made-up results: none, the plugin's own findings, and those of a picture without a scale."""
    unique = tuple({one.id: one for one in findings}.values())
    yield "results without findings", _document(offer, (), "analysed")
    yield "the plugin's own findings", _document(offer, unique, "analysed")
    bare = tuple(replace(one, measured={}) for one in unique)
    yield "findings of pictures without a scale", _document(offer, bare, "unscaled")


def _document(offer: Any, findings: tuple[Finding, ...], status: Any) -> ResultsDocument:
    ids = sorted({one.thermogram for one in findings})
    domain = getattr(offer, "domain", "") or offer.name.partition(".")[0]
    return ResultsDocument(
        FORMAT,
        PropertyInfo("Made-up house", "made-up-house", invented=True),
        SurveyInfo("survey.yaml", inspected=(domain,)),
        {},
        tuple(ThermogramRecord(one, f"{one}.tiff", "", 120, 90, status) for one in ids),
        findings,
        (),
        (),
        (),
        (),
        (),
        RunInfo("0"),
    )
