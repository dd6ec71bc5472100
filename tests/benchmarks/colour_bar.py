"""How well temperatures come back from pictures with a colour bar: `python tests/benchmarks/colour_bar.py [--json]`.

Real recordings (castle wall, Thermitage, MIT licence; degC = raw / 40 - 100) are drawn with general-purpose colour
tables, with a bar and with printed ends rounded to a tenth of a degree, saved as PNG and JPEG, and read back.
For comparison: published-method errors on one synthetic scene, in % of the span, radiometry.md section 11 [computed].
"""

from __future__ import annotations

import argparse
import io
import json
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from heatbrief.api import ColourBar, Context, NoSettings, View
from heatbrief.model.thermogram import Picture
from heatbrief.readers.picture import read
from PIL import Image, ImageDraw

DATA = Path(__file__).resolve().parents[3] / "shared" / "data" / "castle-wall"
MAPS = ("viridis", "inferno", "cividis", "gray", "turbo", "batlow", "rainbow4")
FORMS = {
    "png": {"format": "PNG"},
    "q95 4:4:4": {"format": "JPEG", "quality": 95, "subsampling": 0},
    "q90 4:2:0": {"format": "JPEG", "quality": 90, "subsampling": 2},
    "q75 4:2:0": {"format": "JPEG", "quality": 75, "subsampling": 2},
}
MARGIN, BAR_WIDTH, GAP = 40, 18, 12
TEXT = ((8, 8, "16.4 C  noon"), (180, 120, "+"))


def table(name: str) -> np.ndarray | None:
    """256 x 3 colours of 0 to 255 from a general-purpose collection, or None when it is not installed."""
    try:
        if name == "batlow":
            from cmcrameri import cm

            found = cm.batlow(np.arange(256))
        elif name == "rainbow4":
            import colorcet

            found = colorcet.cm["rainbow4"](np.arange(256))
        else:
            import matplotlib

            found = matplotlib.colormaps[name](np.arange(256))
    except (ImportError, KeyError, AttributeError):
        return None
    return np.rint(found[:, :3] * 255).astype(np.uint8)


def scenes() -> Iterator[tuple[str, np.ndarray]]:
    """Names and temperatures [degC]: the real recordings, or invented scenes where those are absent."""
    files = sorted(DATA.glob("*_raw16.tiff"))
    if files:
        import tifffile

        for file in files:
            yield file.name.removesuffix("_raw16.tiff"), tifffile.imread(file) / 40.0 - 100.0
        return
    for seed in range(4):
        rng = np.random.default_rng(seed)
        y, x = np.mgrid[:240, :320] / 320
        scene = 15 + 4 * np.sin(3 * x + seed) * np.cos(4 * y) + rng.normal(0, 0.05, x.shape)
        scene[80:120, 200:260] += 6
        yield f"invented {seed}", scene


def draw(
    celsius: np.ndarray, colours: np.ndarray, ends: tuple[float, float], text: bool
) -> tuple[Image.Image, ColourBar]:
    """The picture with its bar on a black ground, and what a manifest would say about it."""
    height, width = celsius.shape
    page = np.zeros((height, width + GAP + BAR_WIDTH + MARGIN, 3), np.uint8)
    level = np.clip(np.rint((celsius - ends[0]) / (ends[1] - ends[0]) * 255), 0, 255).astype(int)
    page[:, :width] = colours[level]
    length, top = (height - 40), 20
    run = np.rint(np.linspace(255, 0, length)).astype(int)
    page[top : top + length, width + GAP : width + GAP + BAR_WIDTH] = colours[run][:, None]
    image = Image.fromarray(page)
    if text:
        pen = ImageDraw.Draw(image)
        for x, y, words in TEXT:
            pen.text((x, y), words, fill=(255, 255, 255), font_size=18)
    box = (width + GAP, top, BAR_WIDTH, length)
    printed = (round(ends[0], 1), round(ends[1], 1))
    overlays = tuple((x - 4, y - 2, 11 * len(words) + 8, 28) for x, y, words in TEXT) if text and grey(colours) else ()
    return image, ColourBar(box, printed, 0.1 / 12**0.5, "up", (0, 0, width, height), overlays)


def grey(colours: np.ndarray) -> bool:
    """True for a table of greys: white text is then a colour of the bar, and the owner has to point at it."""
    return bool((np.ptp(colours.astype(int), axis=1) == 0).all())


def recovered(image: Image.Image, bar: ColourBar, form: dict[str, object], folder: Path) -> Picture:
    """Saved in a form and read back through the reader of pictures."""
    data = io.BytesIO()
    image.save(data, **form)
    path = folder / ("a.png" if form["format"] == "PNG" else "a.jpg")
    path.write_bytes(data.getvalue())
    (picture,) = read(path, NoSettings(), Context(view=View(thermogram="one", colour_bar=bar)))
    return picture


def score(picture: Picture, celsius: np.ndarray, ends: tuple[float, float]) -> dict[str, float]:
    """Errors [K] of pixels that are neither masked nor at an end of the bar, against the recording itself."""
    kelvin = picture.values
    used = np.isfinite(kelvin) & (kelvin > picture.floor) & (kelvin < picture.ceiling)
    inside = (celsius > ends[0]) & (celsius < ends[1])
    error = (kelvin - 273.15 - celsius)[used]
    warm = ((kelvin - picture.floor) / (picture.ceiling - picture.floor))[used]
    standard = np.hypot(picture.read_error, picture.read_shared * np.hypot(warm, 1.0 - warm))
    span = ends[1] - ends[0]
    return {
        "pixels": int(used.sum()),
        "square_sum": float((error**2).sum()),
        "within": float((np.abs(error) <= 1.959964 * standard).mean()),
        "rms_percent": 100 * float(np.sqrt((error**2).mean())) / span,
        "mean_percent": 100 * float(np.abs(error).mean()) / span,
        "p99_percent": 100 * float(np.percentile(np.abs(error), 99)) / span,
        "max_percent": 100 * float(np.abs(error).max()) / span,
        "stated_percent": 100 * float(np.sqrt((standard**2).mean())) / span,
        "masked": float(1 - np.isfinite(kelvin)[inside].mean()),
    }


def run(folder: Path, say=print, maps: tuple[str, ...] = MAPS, each: int = 1) -> dict[str, object]:
    """Every map and form, and one scene out of `each`; the totals."""
    known = {name: colours for name in maps if (colours := table(name)) is not None}
    if not known:
        raise SystemExit("install matplotlib, cmcrameri or colorcet: the benchmark takes its colours from them")
    say(f"scenes: {'castle wall recordings' if DATA.is_dir() else 'INVENTED, the recordings are not on this machine'}")
    say("map       form          rms K  rms % mean %  p99 %  max % stated  within  masked")
    rng, every = np.random.default_rng(11), []
    for name, colours in known.items():
        for form, options in FORMS.items():
            found = []
            for number, (_, celsius) in enumerate(scenes()):
                if number % each:
                    continue
                low, high = np.percentile(celsius, (0.2, 99.8)) if number % 2 else (celsius.min(), celsius.max())
                ends = (float(low - rng.uniform(0, 0.1)), float(high + rng.uniform(0, 0.1)))
                image, bar = draw(celsius, colours, ends, text=number % 3 == 0)
                found.append(score(recovered(image, bar, options, folder), celsius, ends))
            every += found
            mean = {key: float(np.mean([one[key] for one in found])) for key in found[0]}
            rms = _rms(found)
            say(
                f"{name:10s}{form:11s}{rms:8.4f}{mean['rms_percent']:7.3f}{mean['mean_percent']:7.3f}"
                f"{mean['p99_percent']:7.3f}"
                f"{mean['max_percent']:7.2f}{mean['stated_percent']:7.3f}{mean['within']:8.4f}{mean['masked']:8.4f}"
            )
    total = sum(one["pixels"] for one in every)
    return {
        "pictures": len(every),
        "rms_error_k": round(_rms(every), 4),
        "within_bounds": round(sum(one["within"] * one["pixels"] for one in every) / total, 4),
        "invented": not DATA.is_dir(),
    }


def _rms(found: list[dict[str, float]]) -> float:
    return float(np.sqrt(sum(one["square_sum"] for one in found) / sum(one["pixels"] for one in found)))


def main() -> None:
    """Print the table and, with --json, one last line for machines."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--json", action="store_true", help="end with one line of JSON")
    as_json = parser.parse_args().json
    with tempfile.TemporaryDirectory() as folder:
        totals = run(Path(folder))
    print(json.dumps(totals) if as_json else "\n".join(f"{key}: {value}" for key, value in totals.items()))


if __name__ == "__main__":
    main()
