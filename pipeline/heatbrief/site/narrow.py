"""A site as far as one page may look, and a key of all there is to see.

A page that is made from such a view can be known to have stayed as it was without being worked out again.
"""

from __future__ import annotations

import functools
import hashlib
import io
import pickle
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from operator import attrgetter
from typing import Any

from heatbrief.model.finding import Finding
from heatbrief.model.results import Brief, ResultsDocument, ThermogramRecord
from heatbrief.site.context import Site
from heatbrief.site.pictures import Pictures

_SHARED = (
    "_paths",
    "source_anchors",
    "caution_by_key",
    "order_of",
    "own_words_in",
    "_typeset",
    "_numerals",
    "end_texts",
)
"""What a site works out from all of its pictures and findings, or remembers while pages are made; in keys where it matters."""
_BY_PICTURE: tuple[str, ...] = ("values_of", "picture_names")
_BY_FINDING: tuple[str, ...] = ("titles",)
"""The same by the id of a picture or finding. A page sees those of its own, so their entries are in its key."""


@dataclass(frozen=True)
class View:
    """What one page may look at: some pictures and findings with all that belongs to them, of others how they are called."""

    narrow: Narrow
    whole: Sequence[ThermogramRecord]
    near: Sequence[ThermogramRecord]
    told: Sequence[Finding]
    beside: Sequence[Finding]

    def key_with(self, more: Any) -> str:
        """Digest of all there is to see, and of what else the page is made from, such as which page comes next."""
        narrow, site = self.narrow, self.narrow.site
        parts = [narrow.common, *(narrow.of_record(one.id) for one in self.whole)]
        parts += ["/", *(narrow.of_stub(one.id) for one in self.near), "/"]
        parts += [
            *(narrow.of_finding(one.id) for one in self.told),
            "/",
            *(narrow.of_called(one.id) for one in self.beside),
        ]
        return hashlib.sha256(
            "\0".join((site.units, *parts, repr(more))).encode("utf-8", "backslashreplace")
        ).hexdigest()

    @functools.cached_property
    def site(self) -> Site:
        """A site that holds nothing else."""
        return self.narrow.cut(self)


class Narrow:
    """Makes views of a site."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.rest = replace(
            site.results, thermograms=(), findings=(), estimates=(), plan=(), not_analysed=(), brief=Brief()
        )
        words = site.own_words_in.pattern if site.own_words_in else ""
        self.common = digest_of((self.rest, site.words.language, words, site.source_anchors, dict(site.caution_by_key)))
        self._place = {one.id: at for at, one in enumerate(site.results.thermograms)}
        self._rank = {one.id: at for at, one in enumerate(site.results.findings)}
        self._known: dict[tuple[str, str], str] = {}

    def view(
        self,
        whole: Iterable[ThermogramRecord] = (),
        near: Iterable[ThermogramRecord] = (),
        told: Iterable[Finding] = (),
        beside: Iterable[Finding] = (),
    ) -> View:
        """Pictures and findings to be seen whole, and others of which only what they are called is to be seen."""
        own, tales = {one.id: one for one in whole}, {one.id: one for one in told}
        others = {one.id: one for one in near if one.id not in own}
        titles = {one.id: one for one in beside if one.id not in tales}
        by_place, by_rank = (lambda one: self._place[one.id]), (lambda one: self._rank[one.id])
        return View(
            self,
            sorted(own.values(), key=by_place),
            sorted(others.values(), key=by_place),
            sorted(tales.values(), key=by_rank),
            sorted(titles.values(), key=by_rank),
        )

    def cut(self, view: View) -> Site:
        """The site of a view."""
        site, own = self.site, {one.id for one in view.whole}
        records = sorted([*view.whole, *map(_stub, view.near)], key=lambda one: self._place[one.id])
        findings = sorted([*view.told, *map(_called, view.beside)], key=lambda one: self._rank[one.id])
        pictures = Pictures(
            {one.id: site.pictures.thermal[one.id] for one in records if one.id in site.pictures.thermal},
            {key: one for key in own if (one := site.pictures.photos.get(key))},
            {tale.id: one for tale in view.told if (one := site.pictures.crops.get(tale.id))},
            site.pictures.scale,
            site.pictures.photo_failures & own,
        )
        results: ResultsDocument = replace(
            self.rest,
            thermograms=tuple(records),
            findings=tuple(findings),
            estimates=tuple(one for tale in view.told for one in site.estimates_of(tale.id)),
            plan=tuple({id(item): item for tale in view.told for item in site.plan_of(tale.id)}.values()),
        )
        narrowed = replace(site, results=results, pictures=pictures)
        vars(narrowed)["_works"] = {tale.id: site.plan_of(tale.id) for tale in view.told}
        vars(narrowed).update({name: getattr(site, name) for name in (*_SHARED, *_BY_PICTURE, *_BY_FINDING)})
        return narrowed

    def of_record(self, key: str) -> str:
        """Digest of a picture with what was drawn of it."""
        return self._digest("record", key, lambda: (self._record(key), self._drawn(key)))

    def of_stub(self, key: str) -> str:
        """Digest of what a picture is called."""
        return self._digest("stub", key, lambda: (_stub(self._record(key)), self._drawn(key)))

    def of_finding(self, key: str) -> str:
        """Digest of a finding with its estimates, works and picture."""
        site = self.site

        def parts() -> tuple[Any, ...]:
            works = site.plan_of(key)
            earlier = [(one, site.order_of.get(one)) for work in works for one in work.after]
            own = (site.finding_by_id[key], site.estimates_of(key), works, earlier)
            return (*own, site.pictures.crops.get(key), self._name(key))

        return self._digest("finding", key, parts)

    def of_called(self, key: str) -> str:
        """Digest of what a finding is called."""
        return self._digest("called", key, lambda: (_called(self.site.finding_by_id[key]), self._name(key)))

    def _name(self, key: str) -> Any:
        return self.site.path("findings", key), [getattr(self.site, name).get(key) for name in _BY_FINDING]

    def _record(self, key: str) -> ThermogramRecord:
        return self.site.record_by_id[key]

    def _drawn(self, key: str) -> Any:
        site = self.site
        drawn = (site.pictures.thermal.get(key), site.pictures.photos.get(key), key in site.pictures.photo_failures)
        return drawn, site.path("thermograms", key), [getattr(site, name).get(key) for name in _BY_PICTURE]

    def _digest(self, kind: str, key: str, make: Callable[[], Any]) -> str:
        if (kind, key) not in self._known:
            self._known[kind, key] = digest_of(make())
        return self._known[kind, key]


class _Parts(dict[type, Callable[[Any], Any]]):
    """How a frozen dataclass is taken apart: by its fields at once, which is much quicker than what the language does."""

    def __missing__(self, kind: type) -> Callable[[Any], Any]:
        if not is_dataclass(kind) or len(fields(kind)) < 2:
            raise KeyError(kind)
        parts = attrgetter(*(one.name for one in fields(kind)))
        self[kind] = found = lambda one: (kind, parts(one))
        return found


_PARTS = _Parts()


def digest_of(value: Any) -> str:
    """Digest of plain values and frozen dataclasses; the same for equal ones, however they came about."""
    stream = io.BytesIO()
    pickler = pickle.Pickler(stream, 5)
    pickler.fast = True  # without looking for parts that are the same object
    pickler.dispatch_table = _PARTS
    pickler.dump(value)
    return hashlib.sha256(stream.getbuffer()).hexdigest()


def _stub(record: ThermogramRecord) -> ThermogramRecord:
    return ThermogramRecord(
        record.id, "", "", record.width, record.height, record.status, record.title, record.room, record.taken
    )


def _called(finding: Finding) -> Finding:
    return replace(
        finding,
        summary="",
        measured={},
        rivals=(),
        gates=(),
        actions=(),
        cautions=(),
        sources=(),
        classes=(),
        next_time=(),
    )
