"""Scenes from YAML: the same dataclasses, field by field, with every mistake reported at once."""

from __future__ import annotations

import difflib
import math
import types
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from heatbrief.errors import Problem, UserError
from heatbrief.testing.fields import Part
from heatbrief.testing.floor import Floor, floor_from
from heatbrief.testing.parts import PARTS
from heatbrief.testing.scene import Imager, Scene

MOST_BYTES = 1_000_000
Export = Literal["16-bit", "8-bit"]


@dataclass(frozen=True)
class Shot:
    """A scene with the files it becomes. 8-bit: stretched greys, as from a camera that keeps no scale."""

    scene: Scene
    picture: str
    visible: str = ""
    export: Export = "16-bit"


def load_shots(path: Path) -> tuple[Shot, ...]:
    """All pictures described in a `scenes.yaml`. Raises UserError listing every problem."""
    plain = _read(path)
    problems: list[Problem] = []
    shots = _shots(plain, _Place(str(path), problems))
    if problems:
        raise UserError(problems)
    return shots


def load_floors(path: Path) -> tuple[Floor, ...]:
    """The drawings of the property described in a `scenes.yaml`. Raises UserError for the first that is wrong."""
    plain = _read(path)
    found = []
    for number, one in enumerate((plain.get("floors") or ()) if isinstance(plain, dict) else (), 1):
        try:
            found.append(floor_from(one))
        except ValueError as error:
            raise UserError.single("scene", f"{path}: floor {number}", str(error)) from error
    return tuple(found)


def _read(path: Path) -> Any:
    import yaml

    path = Path(path)
    if not path.is_file() or path.stat().st_size > MOST_BYTES:
        raise UserError.single(
            "scenes-file", path, f"no readable file of at most {MOST_BYTES} bytes", "Give a folder with a scenes.yaml."
        )
    try:
        plain: Any = yaml.safe_load(path.read_text(encoding="utf-8"))
    except (yaml.YAMLError, UnicodeDecodeError) as error:
        raise UserError.single("scenes-file", path, f"not YAML: {error}") from error
    return plain


@dataclass(frozen=True)
class _Place:
    where: str
    problems: list[Problem]

    def at(self, name: object) -> _Place:
        return _Place(f"{self.where}: {name}", self.problems)

    def wrong(self, message: str, remedy: str = "") -> None:
        self.problems.append(Problem(self.where, "scene", message, remedy))


def _shots(plain: Any, place: _Place) -> tuple[Shot, ...]:
    if not isinstance(plain, dict) or plain.get("format") != 1 or not isinstance(plain.get("scenes"), list):
        place.wrong("needs `format: 1` and a list of `scenes`")
        return ()
    for name in plain.keys() - {"format", "camera", "defaults", "scenes", "floors"}:
        place.wrong(f"unknown key {name!r}")
    defaults = plain.get("defaults") or {}
    if not isinstance(defaults, dict):
        place.wrong("`defaults` must be a mapping of scene fields")
        return ()
    common = {**defaults, "imager": plain.get("camera") or {}}
    found: list[Shot] = []
    for number, entry in enumerate(plain["scenes"], 1):
        if not isinstance(entry, dict):
            place.wrong(f"scene {number} is not a mapping")
            continue
        found.extend(_frames(dict(entry), common, place.at(f"scene {entry.get('name', number)}")))
    names = [shot.picture for shot in found]
    for name in sorted({name for name in names if names.count(name) > 1}):
        place.wrong(f"two scenes are written to {name!r}", "Give each its own name.")
    return tuple(found)


def _frames(entry: dict[str, Any], common: dict[str, Any], place: _Place) -> list[Shot]:
    """The shots of one entry: one, or one for each of its `frames`, which may change its fields and `add` parts."""
    export, visible = entry.pop("export", "16-bit"), entry.pop("visible", True)
    frames = entry.pop("frames", None)
    if export not in get_args(Export) or not isinstance(visible, bool):
        place.wrong("`export` is 16-bit or 8-bit, `visible` is true or false")
        return []
    if frames is not None and not (isinstance(frames, list) and all(isinstance(one, dict) for one in frames)):
        place.wrong("`frames` is a list of mappings")
        return []
    texture = {} if frames is None else {"texture": entry.get("name", "")}
    shots = []
    for frame in frames or [{}]:
        scene = _scene({**entry, **texture, **frame}, common, place)
        if scene is not None:
            suffix = "tiff" if export == "16-bit" else "png"
            picture = f"visible/{scene.name}.png" if visible else ""
            shots.append(Shot(scene, f"ir/{scene.name}.{suffix}", picture, export))
    return shots


def _scene(entry: dict[str, Any], common: dict[str, Any], place: _Place) -> Scene | None:
    own = {**common, **entry}
    parts, more = own.pop("parts", []), own.pop("add", [])
    imager = _build(Imager, {**dict(common.get("imager") or {}), **dict(entry.get("imager") or {})}, place.at("camera"))
    own.pop("imager", None)
    if not isinstance(own.get("name"), str) or not _plain_name(own["name"]):
        place.wrong("needs a `name` of letters, digits and hyphens")
        return None
    if not isinstance(parts, list) or not isinstance(more, list):
        place.wrong("`parts` and `add` are lists")
        return None
    built = [_part(one, place.at(f"part {number}")) for number, one in enumerate([*parts, *more], 1)]
    scene = _build(Scene, own, place)
    if scene is None or imager is None or any(one is None for one in built):
        return None
    values = {one.name: getattr(scene, one.name) for one in fields(Scene)}
    return Scene(**{**values, "imager": imager, "parts": tuple(one for one in built if one)})


def _plain_name(name: str) -> bool:
    return bool(name) and all(letter.isascii() and (letter.isalnum() or letter == "-") for letter in name)


def _part(entry: Any, place: _Place) -> Part | None:
    if not isinstance(entry, dict) or entry.get("part") not in PARTS:
        kind = entry.get("part") if isinstance(entry, dict) else entry
        near = difflib.get_close_matches(str(kind), PARTS, 1)
        place.wrong(f"no part of kind {kind!r}", f"Did you mean {near[0]}?" if near else f"Kinds: {', '.join(PARTS)}.")
        return None
    result: Part | None = _build(
        PARTS[entry["part"]], {key: value for key, value in entry.items() if key != "part"}, place
    )
    return result


def _build(cls: type, entry: dict[str, Any], place: _Place) -> Any:
    """An instance of a frozen dataclass, or None after noting what is wrong."""
    hints, before, values = _hints(cls), len(place.problems), {}
    for key, value in entry.items():
        if key not in hints or is_dataclass(hints[key]):
            near = difflib.get_close_matches(str(key), hints, 1)
            place.wrong(f"unknown key {key!r}", f"Did you mean {near[0]}?" if near else "")
        elif not _fits(value, hints[key]):
            place.wrong(f"{key}: {value!r} does not fit", f"Expected {hints[key]}.")
        else:
            values[key] = _frozen(value, hints[key])
    if len(place.problems) > before:
        return None
    try:
        return cls(**values)
    except UserError as error:
        place.problems.extend(error.problems)
        return None


def _hints(cls: type) -> dict[str, Any]:
    settable = {one.name for one in fields(cls) if one.init}
    return {name: hint for name, hint in get_type_hints(cls).items() if name in settable}


def _fits(value: Any, hint: Any) -> bool:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return any(_fits(value, one) for one in inner)
    if origin is Literal:
        return value in inner
    if origin is tuple:
        if not isinstance(value, (list, tuple)):
            return False
        if len(inner) == 2 and inner[1] is Ellipsis:
            return all(_fits(one, inner[0]) for one in value)
        return len(value) == len(inner) and all(_fits(one, two) for one, two in zip(value, inner, strict=True))
    if hint is float:
        return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    if hint is int:
        return isinstance(value, int) and not isinstance(value, bool) and value >= 0
    return isinstance(value, hint)


def _frozen(value: Any, hint: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return tuple(_frozen(one, float) for one in value)
    return float(value) if hint is float else value
