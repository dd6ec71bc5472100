"""Kinds of input beside pictures and the manifest for `fuzz.py`: results documents, picture objects, weather, sidecars."""

from __future__ import annotations

import contextlib
import copy
import dataclasses
import importlib.util
import io
import json
import random
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

WEATHER, RESULTS, OBJECT, SIDECAR = ".weather", ".results", ".object", ".sidecar"
KINDS = (WEATHER, RESULTS, OBJECT, SIDECAR)
ODD: tuple[Any, ...] = (
    None,
    True,
    0,
    -1,
    1.5,
    10**9,
    10**400,
    1e308,
    -1e308,
    1e-320,
    float("nan"),
    float("inf"),
    "",
    "x",
    "..",
    "../../../tmp/heatbrief-escaped",
    "con",
    "a" * 5000,
    "<script>alert(1)</script>",
    "{{7*7}}{% raw %}",
    "=1+1",
    "\x00\x1b\u202e\ud800",
    [],
    {},
    [[1, 2], [3]],
    {"value": 1, "unit": "K", "low": 5, "high": -5, "coverage": 7, "method": ""},
)


def seeds(kind: str) -> list[bytes]:
    """Small sound inputs of a kind."""
    if kind == RESULTS:
        return [document()]
    if kind == OBJECT:
        return [_png(np.arange(12 * 16, dtype=np.uint16).reshape(12, 16) * 300)]
    if kind == SIDECAR:
        return [b"kelvin_per_count: 0.01\nzero_at: -10 degC\n", b"values: degC\n"]
    hours = "\n".join(f"2025-01-{1 + n // 24:02d}T{n % 24:02d}:00,{10 - n % 24},70" for n in range(60))
    lines = "\n".join("2001,1,1,1,60,?9,1.5,-3,70,100000" for _ in range(40))
    return [
        f"time,temperature (C),humidity\n{hours}\n".encode(),
        ("LOCATION,Somewhere,AA,BBB,TMY3,1,40.0,-100.0,-6.0,300.0\n" + "HEAD,1\n" * 7 + lines).encode(),
        (
            "1,SOMEWHERE,AA,-6.0,40.0,-100.0,300\nDate (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C)\n01/01/1999,01:00,2.5\n"
            * 9
        ).encode(),
    ]


def document(objects: Path | None = None) -> bytes:
    """The invented results document of the site's tests, with its pictures kept in `objects`."""
    from heatbrief.store.results import results_text

    with tempfile.TemporaryDirectory() as spare:
        return results_text(_sample().sample(objects or Path(spare))).encode()


def _sample() -> ModuleType:
    """tests/site/sample.py, which is found by its path."""
    for name in ("sample_content", "sample"):
        if name not in sys.modules:
            file = Path(__file__).resolve().parents[1] / "site" / f"{name}.py"
            spec = importlib.util.spec_from_file_location(name, file)
            assert spec is not None and spec.loader is not None
            sys.modules[name] = importlib.util.module_from_spec(spec)
            spec.loader.exec_module(sys.modules[name])
    return sys.modules["sample"]


def _png(counts: np.ndarray) -> bytes:
    from PIL import Image

    stream = io.BytesIO()
    Image.fromarray(counts).save(stream, "PNG")
    return stream.getvalue()


def damaged_document(data: bytes, chance: random.Random) -> bytes:
    """The document with one to four values exchanged, removed or doubled."""
    tree = copy.deepcopy(json.loads(data))
    for _ in range(chance.randint(1, 4)):
        places = list(_places(tree))
        if not places:
            break
        holder, key = chance.choice(places)
        match chance.randrange(5):
            case 0:
                del holder[key]
            case 1 if isinstance(holder, list):
                holder.append(copy.deepcopy(holder[key]))
            case 2:
                other, at = chance.choice(places)
                holder[key] = copy.deepcopy(other[at]) if len(json.dumps(other[at])) < 20_000 else None
            case _:
                holder[key] = chance.choice(ODD)
    with contextlib.suppress(UnicodeEncodeError, ValueError):
        return json.dumps(tree, ensure_ascii=chance.random() < 0.9).encode("utf-8", "surrogatepass")
    return data


def _places(tree: Any) -> Iterator[tuple[Any, Any]]:
    children = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in list(children):
        yield tree, key
        yield from _places(value)


def target(kind: str, folder: Path) -> Callable[[bytes], None]:
    """A function that gives bytes to what reads this kind, and lets only real faults out."""
    return {WEATHER: _weather, RESULTS: _results, OBJECT: _object, SIDECAR: _sidecar}[kind](folder)


def _weather(folder: Path) -> Callable[[bytes], None]:
    from heatbrief.engine.named_files import _text
    from heatbrief.errors import StepError
    from heatbrief.estimate.weather import read_weather

    path = folder / "weather.csv"

    def read(data: bytes) -> None:
        path.write_bytes(data)
        with contextlib.suppress(StepError):
            read_weather(_text(path, path.name), path.name)

    return read


def _sidecar(folder: Path) -> Callable[[bytes], None]:
    from heatbrief.api import Context, NoSettings, StepError
    from heatbrief.readers import STEPS

    (folder / "a.npy").write_bytes(b"")
    np.save(folder / "a.npy", np.full((4, 5), 29000, np.uint16))
    step = next(one for one in STEPS if ".npy" in one.suffixes)
    from heatbrief.readers.sidecar import sidecar_path

    def read(data: bytes) -> None:
        sidecar_path(folder / "a.npy").write_bytes(data)
        with contextlib.suppress(StepError):
            step.run(folder / "a.npy", NoSettings(), Context())

    return read


def _object(folder: Path) -> Callable[[bytes], None]:
    from heatbrief.errors import UserError
    from heatbrief.model.results import StoredArray
    from heatbrief.site.pictures import draw_photo, read_counts
    from heatbrief.store.arrays import stored_values

    array = StoredArray("a.png", 10.0, 0.01, "degC", 16, 12, ((3, 4),))

    def read(data: bytes) -> None:
        (folder / "a.png").write_bytes(data)
        stored_values(array, folder)
        draw_photo(folder, "a.png", "photos/a.jpg")
        with contextlib.suppress(UserError):
            read_counts(array, folder)

    return read


def _results(folder: Path) -> Callable[[bytes], None]:
    from heatbrief.compare import compare, read_survey
    from heatbrief.compare.page import page_text
    from heatbrief.compare.write import write_comparison
    from heatbrief.errors import UserError
    from heatbrief.site.build import _prepare
    from heatbrief.site.made import Made
    from heatbrief.site.pages import pages_for
    from heatbrief.site.settings import SiteSettings
    from heatbrief.site.words import Words
    from heatbrief.store.results import read_results, results_text

    sound = folder / "sound"
    sound.mkdir()
    document(folder / "objects")
    (sound / "results.json").write_bytes(document(sound / "objects"))
    before = read_survey(sound)

    def read(data: bytes) -> None:
        (folder / "results.json").write_bytes(data)
        try:
            results = read_results(folder)
            results_text(results)
            made = Made(folder / "drawn")
            for page in pages_for(_prepare(results, folder / "objects", SiteSettings(), Words(), made, None)):
                dict(page.data)
            after = read_survey(folder)
            same = dataclasses.replace(after.results, property=before.results.property)
            comparison = compare(before, dataclasses.replace(after, results=same))
            write_comparison(comparison, folder / "compare")
            page_text(comparison, before, after)
        except UserError as error:
            str(error)

    return read
