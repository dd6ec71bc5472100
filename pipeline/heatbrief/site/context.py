"""What every page needs: the results, the pictures, the words, and where each thing has its page."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from heatbrief.model.action import PlanItem
from heatbrief.model.caution import Caution
from heatbrief.model.estimate import Estimate
from heatbrief.model.finding import URGENCIES, VERDICTS, Finding
from heatbrief.model.quantity import Quantity
from heatbrief.model.results import ResultsDocument, ThermogramRecord
from heatbrief.site.format import percent_text, show
from heatbrief.site.page import safe_names
from heatbrief.site.pictures import Pictures
from heatbrief.site.prose import figures, numerals, own_words, point_numerals, typeset
from heatbrief.site.terms import linked
from heatbrief.site.titles import finding_hints, record_hints, told_apart
from heatbrief.site.words import Words, capital, sentence_case

Data = dict[str, Any]
MOST_LINKS = 12
PROSE = "en"
"""Language of the sentences of checks and plugins that nobody has translated."""
_STEP_NAME = re.compile(r"\b[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*\b")
TEMPERATURE_UNITS = frozenset({"degC", "K", "kelvin", "degF", "mK"})


def values_path(name: str) -> str:
    """Where the script with the values of a picture lies; `name` is safe."""
    return f"pictures/{name}-values.js"


@dataclass(frozen=True)
class Site:
    """One property's results, ready to be written about. `units` is "metric" or "us"."""

    results: ResultsDocument
    pictures: Pictures
    words: Words
    units: str

    @functools.cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Most urgent first, then by verdict; otherwise in the order of the results."""
        return tuple(
            sorted(self.results.findings, key=lambda one: (URGENCIES.index(one.urgency), VERDICTS.index(one.verdict)))
        )

    @functools.cached_property
    def finding_by_id(self) -> Mapping[str, Finding]:
        """The findings by their id."""
        return {one.id: one for one in self.results.findings}

    @functools.cached_property
    def record_by_id(self) -> Mapping[str, ThermogramRecord]:
        """The pictures' records by their id."""
        return {one.id: one for one in self.results.thermograms}

    @functools.cached_property
    def _record_about(self) -> Mapping[str, ThermogramRecord]:
        """The first record of each file and id."""
        return {name: one for one in reversed(self.results.thermograms) for name in (one.source, one.id)}

    @functools.cached_property
    def findings_on(self) -> Mapping[str, tuple[Finding, ...]]:
        """Findings of each picture by thermogram id, most urgent first."""
        return _grouped((one.thermogram, one) for one in self.findings)

    @functools.cached_property
    def values_of(self) -> Mapping[str, str]:
        """Path of the script with each picture's values, by thermogram id."""
        names = safe_names(one.id for one in self.results.thermograms)
        return {key: values_path(name) for key, name in names.items() if key in self.pictures.thermal}

    @functools.cached_property
    def alike(self) -> Mapping[tuple[str, int, int, str], Sequence[ThermogramRecord]]:
        """Pictures of one room, size and state, which can be laid over each other."""
        found: dict[tuple[str, int, int, str], list[ThermogramRecord]] = {}
        for one in self.results.thermograms:
            if one.id in self.values_of and one.room:
                found.setdefault((one.room, one.width, one.height, one.status), []).append(one)
        return found

    @functools.cached_property
    def caution_by_key(self) -> Mapping[str, Caution]:
        """Every caution of the document, and an empty one for each key that is used without its text."""
        used = [key for one in self.results.findings for key in one.cautions] + [
            key for item in self.results.plan for key in item.cautions
        ]
        given = {one.key: one for one in self.results.cautions}
        for key in used:
            given.setdefault(
                key, Caution(key, sentence_case(key.rpartition(".")[2]), "", (self.words.say("cautions.missing"),))
            )
        return given

    @functools.cached_property
    def order_of(self) -> Mapping[str, int]:
        """Number of each step of the plan by its action."""
        return {one.action: one.order for one in self.results.plan}

    @functools.cached_property
    def _paths(self) -> Mapping[str, Mapping[str, str]]:
        keys: Mapping[str, Iterable[str]] = {
            "findings": (one.id for one in self.results.findings),
            "thermograms": (one.id for one in self.results.thermograms),
            "cautions": self.caution_by_key,
        }
        return {
            folder: {key: f"{folder}/{name}.html" for key, name in safe_names(ids).items()}
            for folder, ids in keys.items()
        }

    @functools.cached_property
    def source_anchors(self) -> Mapping[str, str]:
        """Anchor on the sources page of every source in the results or quoted anywhere."""
        quoted = [one.key for one in self.results.sources]
        quoted += [key for one in self.results.findings for key in (*one.sources, *(gate.source for gate in one.gates))]
        quoted += [key for one in self.results.estimates for key in one.sources]
        quoted += [figure.source for one in self.results.cautions for figure in one.figures]
        return {key: f"source-{name}" for key, name in safe_names(key for key in quoted if key).items()}

    @functools.cached_property
    def own_words_in(self) -> re.Pattern[str] | None:
        """What finds the owner's own names and notes in a sentence."""
        return own_words(self.results)

    def prose(self, text: str) -> str:
        """A sentence of a check or plugin with its units set; the owner's own words in it stay as they are."""
        if text not in self._typeset:
            shown = self._texts.get(text)
            names = self.words.get("numbers")
            told = figures(text, names) if shown is None else point_numerals(shown, names)
            self._typeset[text] = typeset(self._with_titles(told), self.own_words_in)
        return self._typeset[text]

    def _with_titles(self, text: str) -> str:
        """A sentence with the titles of the steps it names, in quotation marks."""
        if "." not in text:
            return text
        return _STEP_NAME.sub(
            lambda one: (
                self.words.say("site.quoted", words=self.step_title(one[0])) if one[0] in self.step_titles else one[0]
            ),
            text,
        )

    @functools.cached_property
    def step_titles(self) -> Mapping[str, str]:
        """What the steps that took part are called where people read of them, by name; those without a title are left out."""
        return {one.name: self._texts.get(one.title, one.title) for one in self.results.run.steps if one.title}

    def step_title(self, name: str) -> str:
        """What a step is called; its name when it has no title."""
        return self.step_titles.get(name, name)

    def langs(self, texts: Iterable[str]) -> str:
        """The language some texts are shown in together: that of the page when all are translated."""
        return self.words.language if all(one in self._texts for one in texts) else PROSE

    @functools.cached_property
    def _texts(self) -> Mapping[str, str]:
        return self.results.texts.get(self.words.language, {})

    def lang(self, text: str) -> str:
        """The language a text of a check or plugin is shown in."""
        return self.words.language if text in self._texts else PROSE

    def label(self, name: str) -> str:
        """A readable name for a key: as its plugin gives it, else as the site does."""
        return sentence_case(self._texts[name]) if name in self._texts else self.words.label(name)

    def named(self, text: str) -> str:
        """A step's sentence without the id it starts with; the id of a finding or step becomes its title."""
        name, rest = self._about(text)
        return f"{capital(name)}: {self.prose(rest)}" if name else self.sentence(rest)

    def lang_named(self, text: str) -> str:
        """The language of such a sentence."""
        return self.lang(self._about(text)[1])

    def _about(self, text: str) -> tuple[str, str]:
        """Title of the finding or step that a sentence starts with, "" for a picture, and the rest."""
        head, mark, rest = text.partition(":")
        for key in (head, head.partition(",")[0]):
            if key in self.record_by_id:
                return "", text[len(key) :].lstrip(",: ")
        name = self.titles.get(head) or self.step_titles.get(head)
        return (name, rest.strip()) if mark and name else ("", text)

    def sentence(self, text: str) -> str:
        """A sentence of a check or plugin as it stands by itself: with a capital letter at its start."""
        return capital(self.prose(text))

    def source_name(self, source: str) -> Data:
        """What an entry is about: a picture by its name with a link, the whole survey in words, else the file."""
        record = self._record_about.get(source)
        if record is not None:
            return self.link("thermograms", record.id, self.picture_name(record.id))
        return {"text": self.words.say("not_analysed.survey") if source == "survey" else source, "url": ""}

    def numerals(self, text: str) -> str:
        """A number with its unit in the language of the page."""
        if text not in self._numerals:
            self._numerals[text] = numerals(text, self.words.get("numbers"))
        return self._numerals[text]

    @functools.cached_property
    def _typeset(self) -> dict[str, str]:
        return {}

    @functools.cached_property
    def _numerals(self) -> dict[str, str]:
        return {}

    @functools.cached_property
    def end_texts(self) -> dict[tuple[float, float, str], tuple[str, str]]:
        """The ends of colour scales in words, as far as they were asked for."""
        return {}

    def trade(self, who: str) -> str:
        """Who does a work, in the language of the page."""
        return str(self.words.get("trades").get(who, who))

    @functools.cached_property
    def _estimates(self) -> Mapping[str, tuple[Estimate, ...]]:
        return _grouped((one.finding, one) for one in self.results.estimates)

    @functools.cached_property
    def _works(self) -> Mapping[str, tuple[PlanItem, ...]]:
        ordered = sorted(self.results.plan, key=lambda one: one.order)
        return _grouped((key, item) for item in ordered for key in dict.fromkeys(item.findings))

    def path(self, folder: str, key: str) -> str:
        """Page of a finding, thermogram or caution; "" when there is none."""
        return self._paths[folder].get(key, "")

    @functools.cached_property
    def picture_names(self) -> Mapping[str, str]:
        """How each picture is called on the site, by id; no two alike."""
        return told_apart([(one.id, one.title or one.id, record_hints(one)) for one in self.results.thermograms])

    @functools.cached_property
    def titles(self) -> Mapping[str, str]:
        """How each finding is called on the site, by id; no two alike."""
        spots = self.words.get("picture.spots")
        named = [
            (
                one.id,
                self.sentence(one.title),
                finding_hints(one, self.record_by_id.get(one.thermogram), self.picture_name(one.thermogram), spots),
            )
            for one in self.findings
        ]
        return told_apart(named)

    def picture_name(self, thermogram: str) -> str:
        """How a picture is called on the site."""
        return self.picture_names.get(thermogram, thermogram)

    def estimates_of(self, finding: str) -> tuple[Estimate, ...]:
        """Estimates of a finding, or of the whole survey for ""."""
        return self._estimates.get(finding, ())

    def plan_of(self, finding: str) -> tuple[PlanItem, ...]:
        """Steps of the plan that serve a finding, in order."""
        return self._works.get(finding, ())

    def link(self, folder: str, key: str, text: str) -> Data:
        """Text with the page it leads to; "url" is empty when there is none."""
        return {"text": text, "url": self.path(folder, key)}

    def finding_link(self, key: str) -> Data:
        """A finding by its title."""
        return self.link("findings", key, self.titles.get(key, key))

    def finding_links(self, keys: Sequence[str], most: int = MOST_LINKS) -> list[Data]:
        """Findings by title; a long list is cut and says how many more there are."""
        links = [self.finding_link(key) for key in keys[:most]]
        more = len(keys) - len(links)
        return [*links, {"text": self.words.count("site.more", more), "url": "findings.html"}] if more > 0 else links

    def caution_link(self, key: str) -> Data:
        """A caution by its title, with the key the built site is checked for."""
        return {**self.link("cautions", key, self.prose(self.caution_by_key[key].title)), "key": key}

    def source_links(self, keys: Iterable[str]) -> list[Data]:
        """Sources by key, each to its place on the sources page."""
        return [{"text": key, "url": f"sources.html#{self.source_anchors[key]}"} for key in dict.fromkeys(keys) if key]

    @functools.cached_property
    def step_anchors(self) -> Mapping[str, str]:
        """Anchor on the method page of every step that took part."""
        return {key: f"step-{name}" for key, name in safe_names(one.name for one in self.results.run.steps).items()}

    def step_link(self, name: str) -> Data:
        """A step with its version, to its row on the method page; the bare name when the results do not list it."""
        version = next((str(one.version) for one in self.results.run.steps if one.name == name), "")
        if not version:
            return {"text": name, "url": ""}
        title = self.step_titles.get(name)
        said = self.words.say(
            "method.named", step=f"{sentence_case(title)} ({name})" if title else name, version=version
        )
        return {"text": said, "url": f"method.html#{self.step_anchors[name]}"}

    def quantity(self, quantity: Quantity, name: str = "") -> Data:
        """A quantity as the pages print it."""
        shown = show(quantity, self.units, percent=name in self.words.get("percent_labels"))
        return {
            "value": self.numerals(shown.value),
            "centre": self.numerals(shown.centre),
            "between": self.numerals(shown.between),
            "coverage": shown.coverage,
            "method": self.prose(shown.method),
            "how": linked(self.prose(shown.method)),
        }

    def quantity_rows(self, quantities: Mapping[str, Quantity | str]) -> list[Data]:
        """Named quantities or words as table rows, by name, so that stored results give the same page."""
        rows = []
        for name in sorted(quantities):
            given = quantities[name]
            shown = (
                self.quantity(given, name)
                if isinstance(given, Quantity)
                else {"value": "", "centre": "", "text": given, "between": "", "coverage": "", "method": "", "how": []}
            )
            rows.append({"name": self.label(name), **shown})
        return rows

    def badge(self, finding: Finding) -> Data:
        """Verdict, urgency and certainty in words and as codes for the style."""
        likelihood, percent = self.words.likelihood(finding.probability), percent_text(finding.probability)
        return {
            "urgency": finding.urgency,
            "verdict": finding.verdict,
            "urgency_word": self.words.get("urgency")[finding.urgency]["word"],
            "urgency_phrase": self.words.get("urgency")[finding.urgency]["phrase"],
            "verdict_word": self.words.get("verdict")[finding.verdict]["word"],
            "verdict_phrase": "{word}: {phrase}".format(**self.words.get("verdict")[finding.verdict]),
            "sure": self.words.say("finding.sure", likelihood=likelihood, percent=percent),
            "sure_short": self.words.say("finding.sure_short", likelihood=likelihood, percent=percent),
        }

    def place(self, finding: Finding) -> str:
        """Room, picture and region in a few words."""
        parts = (finding.room, self.picture_name(finding.thermogram) if finding.thermogram else "", finding.region)
        return " · ".join(dict.fromkeys(part for part in parts if part))

    def who(self, finding: Finding) -> str:
        """The trades a finding's work is left to."""
        return ", ".join(dict.fromkeys(self.trade(item.who) for item in self.plan_of(finding.id)))

    def is_unscaled(self, thermogram: str) -> bool:
        """True when no temperature may be printed about this picture."""
        record = self.record_by_id.get(thermogram)
        return record is not None and record.status == "unscaled"


def _grouped(pairs: Iterable[tuple[str, Any]]) -> dict[str, tuple[Any, ...]]:
    """Second parts by the first, in their order."""
    found: dict[str, list[Any]] = {}
    for key, one in pairs:
        found.setdefault(key, []).append(one)
    return {key: tuple(group) for key, group in found.items()}
