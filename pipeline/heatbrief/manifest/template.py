"""The text of a first manifest for a folder of pictures: what can be read is filled in, what cannot is asked."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from heatbrief.errors import UserError
from heatbrief.manifest.asked import Asked, asked_lines
from heatbrief.manifest.glance import SUFFIXES, Glance, glance
from heatbrief.manifest.names import slug
from heatbrief.manifest.nodes import CONTROL

VISIBLE = (".jpg", ".jpeg")
SKIPPED = frozenset({"published"})
VISIBLE_FOLDERS = frozenset({"visible", "photo", "photos"})
"""Names of folders in which every picture is a visible one."""
FLOOR_FOLDERS = frozenset({"plan", "plans", "floors", "floor plans"})
"""Names of folders whose pictures are drawings of the property from above."""
MOST_PICTURES = 20_000

_DATE = re.compile(
    r"(?<!\d)(20\d\d)[-_.]?(0[1-9]|1[0-2])[-_.]?(0[1-9]|[12]\d|3[01])"
    r"(?:[T_ -]?([01]\d|2[0-3])[-_.h]?([0-5]\d)(?:[-_.m]?([0-5]\d))?)?(?!\d)"
)
_COUNTER = re.compile(r"[-_ ]*\d+$")
_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9/._-]*")


@dataclass(frozen=True)
class _Found:
    """One picture of the folder, with paths from there."""

    file: str
    glance: Glance
    taken: str
    view: str
    visible: str


BROKEN_MARK = "    # This file cannot be read as a picture. Copy it again from the camera, or delete its lines here."
LEAST_LETTERS = 4
SAYS_NOTHING = frozenset(
    {"image", "picture", "photo", "thermal", "thermogram", "infrared", "scan", "shot", "file", "copy"}
)
"""Words of file names that do not say what a picture shows."""


@dataclass(frozen=True)
class FirstManifest:
    """text: that of a `survey.yaml`; broken: the files in it that cannot be read as pictures."""

    text: str
    broken: tuple[str, ...]


def first_manifest(
    folder: Path, inspect: Sequence[str] = (), shots: Sequence[Asked] = (), language: str = ""
) -> FirstManifest:
    """A `survey.yaml` for the pictures below a folder.

    inspect   kinds of inspection, asked for when there are none; shots: what was to be noted at which picture
    language  of the site, where it is not English
    Raises UserError when the folder does not exist or holds no pictures.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise UserError.single(
            "path-missing", folder, "there is no such folder", "Name the folder that holds the pictures."
        )
    found = [_look(folder, path, seen, visible) for path, seen, visible in _pictures(folder)]
    if not found:
        raise UserError.single(
            "no-pictures",
            folder,
            f"there are no pictures ({', '.join(SUFFIXES)}) in this folder",
            "Put the pictures into it, in folders if you like.",
        )
    shared = _shared_numbers(found)
    lines = [
        *_head(folder, found, inspect, language),
        *_defaults(found, shared),
        *_floors(folder),
        "",
        "thermograms:",
        *_entries(found, shared, shots),
    ]
    return FirstManifest("\n".join(lines) + "\n", tuple(one.file for one in found if one.glance.broken))


def quoted(text: str) -> str:
    """Text as a YAML value: plain when that is safe, else in double quotes."""
    if _PLAIN.fullmatch(text) and text.lower() not in ("null", "true", "false", "yes", "no", "on", "off", "y", "n"):
        return text
    special = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t"}
    return '"' + "".join(special.get(one) or (one if one.isprintable() else f"\\U{ord(one):08x}") for one in text) + '"'


def _pictures(folder: Path) -> list[tuple[Path, Glance, str]]:
    """Pictures below the folder in the order of their paths, each with the visible picture of the same stem, if any."""
    pictures: list[tuple[Path, Glance]] = []
    colour: list[tuple[Path, Glance]] = []
    for path in _files(folder):
        folders = {part.lower() for part in path.relative_to(folder).parts[:-1]}
        if _is_drawing(folder, path):
            continue
        if path.suffix.lower() in VISIBLE or (folders & VISIBLE_FOLDERS and path.suffix.lower() == ".png"):
            colour.append((path, Glance(colour=True)))
        elif path.suffix.lower() in SUFFIXES and len(pictures) < MOST_PICTURES:
            seen = glance(path)
            (colour if seen.colour else pictures).append((path, seen))
    own = Counter(_key(path.relative_to(folder), False) for path, _ in pictures)
    for path, seen in colour:  # a colour picture of nothing else is listed, so that the run says why it cannot be read
        if seen.size and not own[_key(path.relative_to(folder), False)]:
            pictures.append((path, seen))
    visible: dict[str, str] = {}
    for path, _ in colour:
        inside = path.relative_to(folder)
        visible.setdefault(_key(inside, True), inside.as_posix())
        visible.setdefault(_key(inside, False), inside.as_posix())
    chosen = []
    for path, seen in sorted(pictures, key=lambda one: one[0].relative_to(folder).as_posix()):
        inside = path.relative_to(folder)
        far = visible.get(_key(inside, False), "") if own[_key(inside, False)] == 1 else ""
        chosen.append((path, seen, visible.get(_key(inside, True), far) if not seen.colour else ""))
    return chosen


def _files(folder: Path) -> Iterator[Path]:
    """Files below the folder in the order of their paths, without hidden and published ones and unwritable names."""
    for path in sorted(folder.rglob("*"), key=lambda one: one.relative_to(folder).as_posix()):
        inside = path.relative_to(folder)
        hidden = any(part.startswith(".") or part in SKIPPED for part in inside.parts)
        unwritable = re.search(r"[\n\t\\]", inside.as_posix()) or CONTROL.search(inside.as_posix())
        if not hidden and not unwritable and not path.is_symlink() and path.is_file():
            yield path


def _is_drawing(folder: Path, path: Path) -> bool:
    folders = {part.lower() for part in path.relative_to(folder).parts[:-1]}
    return bool(folders & FLOOR_FOLDERS) and path.suffix.lower() in (".png", *VISIBLE)


def _floors(folder: Path) -> list[str]:
    """Drawings of the property, with a question where the rooms are on them."""
    found = [path.relative_to(folder) for path in _files(folder) if _is_drawing(folder, path)]
    where = "  # Where on the drawing is each room? [x, y] in pixels from its top left."
    if not found:
        return [
            "",
            "# Is there a drawing of the property from above? Findings are shown on it.",
            "# floors:",
            "#   - {name: ground floor, picture: plan/ground-floor.png, places: {kitchen: [120, 80]}}",
        ]
    lines = ["", "floors:", where]
    for inside in found:
        lines.append(f"  - name: {quoted(inside.stem.replace('-', ' ').replace('_', ' '))}")
        lines += [f"    picture: {quoted(inside.as_posix())}", "    # places: {kitchen: [120, 80]}"]
    return lines


def _key(inside: Path, with_folder: bool) -> str:
    return (inside.with_suffix("").as_posix() if with_folder else inside.stem).casefold()


def _look(folder: Path, path: Path, seen: Glance, visible: str) -> _Found:
    found = _DATE.search(path.stem)
    taken = ""
    if found:
        year, month, day, hour, minute, second = found.groups()
        taken = f"{year}-{month}-{day}" + (f"T{hour}:{minute}" + (f":{second}" if second else "") if hour else "")
        taken = taken if _exists(taken) else ""
    stem = _DATE.sub("", path.stem) if taken else _COUNTER.sub("", path.stem)
    inside = path.relative_to(folder)
    return _Found(inside.as_posix(), seen, taken, f"{inside.parent.as_posix()}/{stem.strip(' -_.')}", visible)


def _exists(taken: str) -> bool:
    from datetime import datetime

    try:
        datetime.fromisoformat(taken)
    except ValueError:
        return False
    return True


def _head(folder: Path, found: list[_Found], inspect: Sequence[str], language: str) -> list[str]:
    name = folder.resolve().name
    name = name if name and not CONTROL.search(name) and "\n" not in name and "\t" not in name else "property"
    days = sorted({one.taken[:10] for one in found if one.taken})
    return [
        "# A survey: what was looked at, when, and what is known about it. Lines that start with # are questions.",
        "# Remove the # where you know the answer. Values carry units. `heatbrief check` tells what is missing.",
        "format: 1",
        f"property: {{name: {quoted(name)}}}",
        *([f"language: {language}"] if language not in ("", "en") else []),
        "# Who lives or works there, and where is it?   property: {name: …, address: …, client: …, surveyor: …}",
        f"date: {days[0]}" if days else "# When was the survey?\n# date: 2026-07-14",
        "",
        *(
            [f"inspect: [{', '.join(inspect)}]"]
            if inspect
            else [
                "# What is to be inspected? Any of: envelope, electrical, plumbing, vehicle.",
                "# inspect: [envelope]",
            ]
        ),
        "",
        "conditions:",
        "  # How warm was it inside?",
        "  # inside_air: 21 degC",
        "  # How warm was it outside?",
        "  # outside_air: 38 degC",
        "  # How humid was the air inside?",
        "  # humidity: 45 %",
        "  # How strong was the wind?",
        "  # wind: 1.5 m/s",
        "  # How was the sky? clear, partly cloudy or overcast",
        "  # sky: clear",
        "  # How long since the sun last stood on the surfaces? Since the last rain?",
        "  # hours_without_sun: 5 h",
        "  # hours_without_rain: 48 h",
        "",
        "# What does the camera's data sheet say?",
        "# camera: {field_of_view: [56 deg, 42 deg], noise: 50 mK, accuracy: 2 K, band: [8 um, 14 um]}",
        "# What do energy and work cost?",
        "# prices: {electricity: 0.16 USD/kWh}",
    ]


def _shared_numbers(found: list[_Found]) -> str:
    """What the numbers of most files are, for the scale that all share; whole ones when there are as many of each."""
    kinds = Counter(one.glance.numbers for one in found if one.glance.numbers != "unknown")
    return max(sorted(kinds, reverse=True), key=lambda kind: kinds[kind]) if kinds else "unknown"


def _defaults(found: list[_Found], shared: str) -> list[str]:
    lines = ["", "defaults:"]
    if shared == "integer":
        lines += [
            "  # The files hold whole numbers. How many kelvin is one count? Without it they are no temperatures.",
            "  # If count 0 is not 0 K, add what it stands for:   {kelvin_per_count: 0.025, zero_at: -100 degC}",
            "  # scale: {kelvin_per_count: 0.01}",
        ]
    elif shared == "decimal":
        lines += [
            "  # The files hold decimal numbers. Are they temperatures, and in which unit: degC, kelvin or degF?",
            "  # scale: {values: degC}",
        ]
    else:
        lines += ["  # How do the recorded numbers become temperatures?", "  # scale: {kelvin_per_count: 0.01}"]
    if len(found) > 1:
        lines += ["  # A picture to which this does not apply has a `scale:` of its own; no scale: {values: counts}."]
    return [
        *lines,
        "  # What is most of the surface made of?",
        "  # material: painted plaster",
        "  # How far away was the camera?",
        "  # distance: 2.4 m",
    ]


def _own_scale(numbers: str, shared: str) -> list[str]:
    """The question for a file whose numbers are of another kind than those of most."""
    if numbers in ("unknown", shared):
        return []
    if numbers == "decimal":
        asked, example = "Decimal numbers, unlike most: temperatures, in degC, kelvin or degF?", "{values: degC}"
    else:
        asked, example = "Whole numbers, unlike most: how many kelvin is one count?", "{kelvin_per_count: 0.01}"
    return [f"    # {asked}", f"    # scale: {example}"]


def _words_of(view: str) -> str:
    """What a file name says of its picture, as words; "" for a bare counter."""
    words = re.sub(r"[\W_]+", " ", view.rpartition("/")[2]).strip()
    told = [
        one for one in words.split() if len(one) >= LEAST_LETTERS and one.isalpha() and one.lower() not in SAYS_NOTHING
    ]
    return words if told else ""


def _shows_line(words: str) -> str:
    return f"    # shows: {quoted(words)}" if words else "    # shows:"


def _entries(found: list[_Found], shared: str, shots: Sequence[Asked] = ()) -> list[str]:
    views = Counter(one.view for one in found)
    lines: list[str] = []
    asked: set[str] = set()
    for number, one in enumerate(found):
        lines.append(f"  - file: {quoted(one.file)}")
        if one.glance.broken:
            lines.append(BROKEN_MARK)
        if one.glance.size:
            lines.append(f"    size: [{one.glance.size[0]}, {one.glance.size[1]}]")
        if one.taken:
            lines.append(f"    taken: {one.taken}")
        if views[one.view] > 1 and slug(one.view, "") and not one.view.endswith("/"):
            lines += (
                []
                if one.view in asked
                else [
                    "    # Are this and the next pictures one fixed view over time? Then give them all the same name:"
                ]
            )
            asked.add(one.view)
            lines.append(f"    # sequence: {quoted(slug(one.view))}")
        if one.visible:
            lines.append(f"    visible: {quoted(one.visible)}")
        if number == 0:
            lines += [
                "    # What does each picture show, and in which room? Such as:   shows: ceiling under the attic, from inside"
            ]
        lines += asked_lines(one.file, shots) or [_shows_line(_words_of(one.view))]
        lines += _own_scale(one.glance.numbers, shared)
    return lines
