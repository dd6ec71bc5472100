"""What changed, as since.json and one page that needs no other file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from heatbrief.model.changes import ChangedFinding, Changes, FindingState
from heatbrief.pages import single_page
from heatbrief.site.format import percent_text
from heatbrief.site.words import Words
from heatbrief.store.codec import to_lines
from heatbrief.store.files import write_atomic
from heatbrief.store.results import DIGITS


def write_changes(changes: Changes, folder: Path) -> Path:
    """Write since.json and index.html into a folder; returns the page. Raises UserError when the folder refuses."""
    write_atomic(folder / "since.json", to_lines(changes, DIGITS).encode("utf-8"))
    page = folder / "index.html"
    write_atomic(page, changes_text(changes).encode("utf-8"))
    return page


def changes_text(changes: Changes) -> str:
    """The page. Every text of the surveys is escaped by the template."""
    words = Words(changes.language)
    title = words.say("since.title", property=changes.name)
    foot = words.say("since.foot", version=changes.heatbrief, before=changes.before or "-", now=changes.now)
    data = {
        "lead": lead(changes, words),
        "new": [_state(one, words) for one in changes.new],
        "gone": [_state(one, words) for one in changes.gone],
        "changed": [_changed(one, words) for one in changes.changed],
        "inputs": [{**asdict(one), "kind": words.get("since.kind")[one.kind]} for one in changes.inputs],
        "any": changes.any,
    }
    return single_page("since.html", title, changes.name, foot, data, changes.invented, changes.language)


def lead(changes: Changes, words: Words) -> str:
    """What changed in one sentence."""
    if changes.first:
        return words.say("since.first")
    if not changes.any:
        return words.say("since.nothing")
    parts: Mapping[str, Any] = {name: getattr(changes, name) for name in ("new", "gone", "changed", "inputs")}
    return words.say("since.lead", **{name: len(found) for name, found in parts.items()})


def _state(one: FindingState, words: Words) -> dict[str, str]:
    return {
        "title": one.title,
        "place": one.place,
        "verdict": words.get("verdict")[one.verdict]["word"],
        "urgency": one.urgency,
        "urgency_word": words.get("urgency")[one.urgency]["word"],
        "sure": words.numerals(f"{percent_text(one.probability)} %"),
    }


def _changed(one: ChangedFinding, words: Words) -> dict[str, Any]:
    names = {name: words.say(f"since.{name}") for name in ("verdict", "urgency", "probability")}
    what = [names.get(name) or words.label(name.removeprefix("measured ")) for name in one.what]
    return {"now": _state(one.now, words), "before": _state(one.before, words), "what": ", ".join(what)}
