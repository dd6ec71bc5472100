"""How quick whole runs are, as ratios within one call.

    python tests/benchmarks/throughput.py [--json] [--pictures N] [--script] [--no-checks]

The floor is what nobody can leave out: decoding the same pictures, encoding the pictures that were published as Pillow does
at its quickest, and writing the same pages, on as many processes. The script is what a user would write instead with numpy,
scipy, scikit-image, matplotlib and MkDocs: an annotated picture, a list of cold areas and a page for each file. All pictures
are searched by the checks of the envelope; --no-checks leaves that out, as in a survey that names nothing under `inspect:`.
Times of one machine say little; ratios of one call say more. Other work on the machine makes all of them worse.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import tifffile

PICTURES, WIDTH, HEIGHT, PROCESSES = 100, 640, 480, 2
HEAD = """\
format: 1
property: Large house
{inspect}conditions: {{inside_air: 22 degC, outside_air: 2 degC, humidity: 40 %}}
camera: {{noise: 50 mK, accuracy: 2 K, band: [8 um, 14 um]}}
thermograms:
"""
ROW = (
    "  - {{file: ir/{number:04}.tiff, shows: 'outside wall, from inside', room: room {room}, "
    "distance: 2 m, scale: {{kelvin_per_count: 0.01}}, "
    "regions: [{{name: wall, shows: wall}}]}}\n"
)


def write_survey(folder: Path, pictures: int, checks: bool = True) -> Path:
    """A survey of walls, every fifth with a cold patch."""
    (folder / "ir").mkdir(parents=True, exist_ok=True)
    noise = np.random.default_rng(1).normal(29400.0, 5.0, (HEIGHT, WIDTH))
    for number in range(pictures):
        values = np.roll(noise, (number // WIDTH, number * 37), axis=(0, 1))  # no two alike
        if number % 5 == 0:
            values[150:260, 200 : 320 + number % 60] -= 200.0
        tifffile.imwrite(folder / f"ir/{number:04}.tiff", values.astype(np.uint16))
    manifest(folder, pictures, checks)
    return folder


def manifest(folder: Path, pictures: int, checks: bool) -> None:
    head = HEAD.format(inspect="inspect: [envelope]\n" if checks else "")
    rows = (ROW.format(number=number, room=number % 9) for number in range(pictures))
    (folder / "survey.yaml").write_text(head + "".join(rows), "utf-8")


def with_bytecode(folder: Path) -> None:
    """Let Python keep compiled modules as it does wherever it may, so that no run has to compile heatbrief again."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    os.environ["PYTHONPYCACHEPREFIX"] = str(folder)


@dataclass(frozen=True)
class Took:
    """Seconds of one run, by the clock and of all its processes' work, which other work on the machine changes less."""

    wall: float
    cpu: float


def _worked() -> float:
    """Seconds of work of all processes that this one has waited for."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def run(survey: Path, out: Path) -> Took:
    """One `heatbrief run` in a process of its own."""
    begun, worked = time.perf_counter(), _worked()
    done = subprocess.run(
        [sys.executable, "-m", "heatbrief", "run", str(survey), "--out", str(out), "--jobs", str(PROCESSES)],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise SystemExit(done.stderr[-2000:])
    return Took(time.perf_counter() - begun, _worked() - worked)


def floor(survey: Path, published: Path) -> float:
    """Seconds to decode all pictures, to encode what was published of each, and to write the same pages again."""
    files, site = sorted(survey.glob("ir/*.tiff")), published / "site"
    pages = [path.read_bytes() for path in site.rglob("*.html")]
    pictures = [
        path
        for path in [*site.rglob("*.png"), *site.rglob("*.webp"), *site.rglob("*.jpg"), *published.glob("objects/*")]
        if path.is_file()
    ]
    begun = time.perf_counter()
    with ProcessPoolExecutor(PROCESSES) as pool:
        list(pool.map(_decode, files, chunksize=8))
        list(pool.map(_encode, pictures, chunksize=8))
    with tempfile.TemporaryDirectory() as folder:
        for number, data in enumerate(pages):
            Path(folder, f"{number}.html").write_bytes(data)
    return time.perf_counter() - begun


def _decode(path: Path) -> int:
    return int(tifffile.imread(path).size)


def _encode(path: Path) -> None:
    """Decode a published picture and encode it again the same way; decoding is a small part."""
    import io

    from PIL import Image

    with Image.open(path) as picture:
        kind = picture.format
        picture.load()
        options = {"PNG": {"compress_level": 1}, "JPEG": {"quality": 82}, "WEBP": {"quality": 80}}.get(str(kind), {})
        picture.save(io.BytesIO(), kind, **options)


def script(survey: Path, out: Path) -> float:
    """Seconds of the straightforward script for the same pictures, in one process as such scripts are."""
    begun = time.perf_counter()
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt
    from scipy import ndimage
    from skimage import measure, morphology

    docs = out / "docs"
    docs.mkdir(parents=True)
    for path in sorted(survey.glob("ir/*.tiff")):
        kelvin = tifffile.imread(path) * 0.01
        smooth = ndimage.gaussian_filter(kelvin, 2.0)
        cold = morphology.remove_small_objects(smooth < np.median(smooth) - 1.0, max_size=50)
        found = measure.regionprops(measure.label(cold))
        figure, axes = plt.subplots(1, 2, figsize=(10, 4), dpi=110)
        shown = axes[0].imshow(kelvin - 273.15, cmap="inferno")
        figure.colorbar(shown, ax=axes[0])
        for outline in measure.find_contours(cold.astype(float), 0.5):
            axes[0].plot(outline[:, 1], outline[:, 0], "w")
        axes[1].hist(kelvin.ravel() - 273.15, 100)
        figure.savefig(docs / f"{path.stem}.png")
        plt.close(figure)
        rows = "".join(f"| {one.label} | {one.area} |\n" for one in found)
        (docs / f"{path.stem}.md").write_text(
            f"# {path.stem}\n\n![picture]({path.stem}.png)\n\n| area | pixels |\n|---|---|\n{rows}"
        )
    (docs / "index.md").write_text("# Report\n")
    (out / "mkdocs.yml").write_text("site_name: Report\n")
    subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "-q", "-f", str(out / "mkdocs.yml"), "-d", str(out / "site")],
        check=True,
        capture_output=True,
    )
    return time.perf_counter() - begun


def in_own_process(function: Callable[[Path, Path], float], *paths: Path) -> float:
    with ProcessPoolExecutor(1) as pool:
        return pool.submit(function, *paths).result()


def peak_mb(survey: Path, out: Path) -> float:
    """Peak memory of the largest worker of a run, without what it shares with the process that started it counted twice."""
    sizes: list[int] = []
    started = subprocess.Popen(
        [sys.executable, "-m", "heatbrief", "run", str(survey), "--out", str(out), "--jobs", str(PROCESSES)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    while started.poll() is None:
        for child in _children(started.pid):
            found = re.search(r"VmHWM:\s+(\d+)", _text(Path(f"/proc/{child}/status")))
            name = _text(Path(f"/proc/{child}/cmdline"))
            if found and "mkdocs" not in name:
                sizes.append(int(found[1]))
        time.sleep(0.05)
    return (
        round(max(sizes) / 1024, 1)
        if sizes
        else round(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024, 1)
    )


def _children(number: int) -> list[str]:
    return _text(Path(f"/proc/{number}/task/{number}/children")).split()


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8", "replace")
    except OSError:
        return ""


def measure_all(pictures: int, with_script: bool, checks: bool) -> dict[str, float | int | bool | None]:
    """All ratios, of one survey in a folder of its own."""
    with tempfile.TemporaryDirectory(prefix="heatbrief-throughput-") as name:
        folder = Path(name)
        with_bytecode(folder / "bytecode")
        survey = write_survey(folder / "survey", pictures, checks)
        few = write_survey(folder / "few", max(4, pictures // 10), checks)
        manifest(survey, pictures - 1, checks)
        run(few, folder / "out-warm")
        small = run(few, folder / "out-few")
        cold = run(survey, folder / "out")
        manifest(survey, pictures, checks)
        one_new = run(survey, folder / "out")
        time.sleep(2.1)
        run(survey, folder / "out")
        unchanged = min((run(survey, folder / "out") for _ in range(2)), key=lambda one: one.wall)
        least = in_own_process(floor, survey, folder / "out" / "large-house")
        by_script = in_own_process(script, survey, folder / "script") if with_script else None
        return {
            "pictures": pictures,
            "checks": checks,
            "cold_over_floor": round(cold.wall / least, 2),
            "speedup_over_script": None if by_script is None else round(by_script / cold.wall, 2),
            "unchanged_s": round(unchanged.wall, 2),
            "one_new_over_cold": round(one_new.wall / cold.wall, 3),
            "cost_growth": round((cold.wall / pictures) / (small.wall / max(4, pictures // 10)), 2),
            "worker_peak_mb": peak_mb(survey, folder / "out-peak"),
            "cold_ms_per_picture": round(1000.0 * cold.wall / pictures, 1),
            "floor_ms_per_picture": round(1000.0 * least / pictures, 1),
            "cold_cpu_ms_per_picture": round(1000.0 * cold.cpu / pictures, 1),
            "one_new_cpu_s": round(one_new.cpu, 2),
            "unchanged_cpu_s": round(unchanged.cpu, 2),
        }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="only the last line, as JSON")
    parser.add_argument("--pictures", type=int, default=PICTURES)
    parser.add_argument("--script", action="store_true", help="also time the script")
    parser.add_argument("--no-checks", action="store_true", help="only calibrate and publish")
    given = parser.parse_args()
    os.environ["OMP_NUM_THREADS"] = "1"
    found = measure_all(max(5, given.pictures), given.script, not given.no_checks)
    if not given.json:
        for name, value in found.items():
            print(f"{name:22} {value}")
    print(json.dumps(found))


if __name__ == "__main__":
    main()
