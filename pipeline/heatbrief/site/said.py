"""Sentences about the whole plan in the language of the page."""

from __future__ import annotations

from collections.abc import Sequence

from heatbrief.model.action import PlanItem
from heatbrief.model.quantity import Quantity
from heatbrief.model.said import Said
from heatbrief.site.context import Site
from heatbrief.site.format import percent_text
from heatbrief.site.words import capital

INPUTS = ("first", "second")
"""Values that name an input of the sums."""


CORE_REASONS = ("safety comes first", "urgency of its findings")
"""How the reasons start that the core gives."""


def sentences(site: Site, said: Sequence[Said], texts: Sequence[str]) -> list[str]:
    """Coded sentences in the page's words; those that are not coded, or not known here, as they were written."""
    if len(said) != len(texts):
        return [site.prose(one) for one in texts]
    return [_sentence(site, code, text) for code, text in zip(said, texts, strict=True)]


def _sentence(site: Site, said: Said, text: str) -> str:
    template = site.words.get("said").get(said.code)
    if template is None:
        return site.prose(text)
    try:
        return str(template).format(**{name: _value(site, name, one) for name, one in said.values.items()})
    except (KeyError, IndexError, ValueError):
        return site.prose(text)


def _value(site: Site, name: str, value: Quantity | str) -> str:
    if isinstance(value, str):
        return input_name(site, value) if name in INPUTS else phrase(site, value)
    shown = site.quantity(value, "humidity" if name == "share" else "")
    if not shown["between"]:
        return str(shown["value"])
    return site.words.say("said.amount", between=shown["between"], coverage=percent_text(value.coverage))


def phrase(site: Site, text: str) -> str:
    """A fixed phrase of the core in the page's words, anything else as prose."""
    return str(site.words.get("phrases").get(text) or site.prose(text))


def input_name(site: Site, name: str) -> str:
    """An input of the sums, such as "area of Ceiling ...", in the page's words."""
    inputs = site.words.get("inputs")
    if name in inputs:
        return str(inputs[name])
    what, _, of = name.partition(" of ")
    if what == "hours" and of in inputs:
        return str(inputs[of])
    if what in inputs and "{of}" in inputs[what]:
        trades = site.words.get("trades")
        return str(inputs[what]).replace("{of}", str(trades[of]) if of in trades else phrase(site, of))
    return site.prose(name)


def reason(site: Site, item: PlanItem) -> str:
    """Why a step stands where it does: safety or urgency, and the steps that come before it; a reason in other words as
    it was written."""
    if not item.reason.startswith(CORE_REASONS):
        return site.prose(item.reason)
    say, numbers = site.words.say, site.order_of
    word = site.words.get("urgency").get(item.urgency, {"word": item.urgency})["word"]
    text = (
        say("plan.reason.safety") if item.reason.startswith(CORE_REASONS[0]) else say("plan.reason.urgency", word=word)
    )
    before = sorted({numbers[key] for key in item.after if key in numbers})
    if not before:
        return text
    *first, last = [str(one) for one in before]
    steps = f"{', '.join(first)}{site.words.get('plan.reason.last')}{last}" if first else last
    return f"{text}; {site.words.count('plan.reason.after', len(before), steps=steps)}"


def input_label(site: Site, name: str) -> str:
    """The same with a capital letter, for charts and tables."""
    return capital(input_name(site, name))
