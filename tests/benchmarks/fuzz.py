"""Damaged and made-up input for whatever reads files: `python tests/benchmarks/fuzz.py [--json] [--runs N]`.

Readers of pictures, the manifest, weather files, scales beside pictures, picture objects, and results documents with
the pages and the comparison made of them (these take so long that they get a fortieth of the runs). Guided by coverage
where atheris is installed (`pip install atheris`), else samples with random damage: bits flipped, pieces cut out,
doubled, exchanged, and numbers set to extremes. A crash is whatever is neither a result nor the error meant for it
(StepError, UserError), and a process that dies or takes longer than 20 seconds for one input. Crashing inputs are kept
in the folder that --keep names. Inputs that once crashed lie in tests/corpus/ and are tried first.
"""

from __future__ import annotations

import argparse
import io
import json
import math
import os
import random
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path

import numpy as np
import tifffile

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from benchmarks import fuzz_documents as documents

RUNS, SEED, SECONDS, MEMORY = 20000, 4, 20, 3 << 30
SUFFIXES = (".tiff", ".avi", ".png", ".jpg", ".csv", ".tsv", ".npy", ".npz", ".yaml", *documents.KINDS)
SHARE = {documents.RESULTS: 1 / 40}
CORPUS = Path(__file__).resolve().parents[1] / "corpus"
COUNTS = np.random.default_rng(1).integers(20000, 40000, (12, 16)).astype(np.uint16)
SURVEY = Path(__file__).resolve().parents[2] / "surveys" / "lanternmoth-lane-9" / "survey.yaml"
EXTREMES = (
    b"\x00\x00\x00\x00",
    b"\xff\xff\xff\xff",
    b"\xff\xff\xff\x7f",
    b"\x00\x00\x00\x80",
    b"1e999",
    b"nan",
    b"-1",
    b"*a",
    b"&a [",
    b"!!",
    b"\n- ",
    b": ",
    b"{{",
    b"../",
)


def seeds() -> dict[str, list[bytes]]:
    """Small sound files by suffix."""
    from PIL import Image

    def made(save: Callable[[io.BytesIO], object]) -> bytes:
        stream = io.BytesIO()
        save(stream)
        return stream.getvalue()

    grey = Image.fromarray((COUNTS >> 8).astype(np.uint8))
    tiffs = [
        made(lambda s, k=kind: tifffile.imwrite(s, COUNTS, **k))
        for kind in (
            {},
            {"bigtiff": True},
            {"compression": "zlib", "predictor": 2},
            {"compression": "lzw"},
            {"tile": (16, 16)},
            {"byteorder": ">"},
        )
    ]
    rows = [",".join(f"{value / 100:.2f}" for value in row) for row in COUNTS]
    manifest = (
        b"format: 1\nproperty: {name: A, address: B}\ninspect: [envelope]\n"
        b"conditions: {inside_air: 20 degC +- 1 K, wind: 1 m/s}\n"
        b"camera: {noise: 50 mK}\nthermograms:\n  - {file: a.tiff, shows: wall, distance: 2 m,\n"
        b"     scale: {kelvin_per_count: 0.01},\n"
        b"     regions: [{name: r, box: [1, 2, 3, 4], shows: wall}]}\nstages:\n"
        b"  detect: [{envelope.insulation: {with: {}}}]\n"
    )
    return {
        ".tiff": tiffs,
        ".png": [made(lambda s: grey.save(s, "PNG")), made(lambda s: Image.fromarray(COUNTS).save(s, "PNG"))],
        ".jpg": [made(lambda s: grey.save(s, "JPEG"))],
        ".csv": ["\n".join(rows).encode(), "\n".join(rows).encode("utf-16")],
        ".avi": [b"RIFF\x24\0\0\0AVI LIST\x14\0\0\0hdrlavih\x38\0\0\0" + bytes(64)],
        ".tsv": ["\n".join(rows).replace(",", "\t").encode()],
        ".npy": [made(lambda s: np.save(s, COUNTS)), made(lambda s: np.save(s, COUNTS.astype(">f4")))],
        ".npz": [made(lambda s: np.savez(s, a=COUNTS)), made(lambda s: np.savez_compressed(s, a=COUNTS))],
        ".yaml": [manifest, SURVEY.read_bytes()[:6000]],
        **{kind: documents.seeds(kind) for kind in documents.KINDS},
    }


def corpus(suffix: str) -> list[bytes]:
    """Inputs of a kind that once crashed."""
    return [path.read_bytes() for path in sorted(CORPUS.glob(f"*{suffix}"))]


def changed(suffix: str, data: bytes, chance: random.Random) -> bytes:
    """The input with damage that suits its kind: documents keep their form in nine of ten cases."""
    if suffix == documents.RESULTS and chance.random() < 0.9:
        return documents.damaged_document(data, chance)
    return damaged(data, chance)


def damaged(data: bytes, chance: random.Random) -> bytes:
    """The bytes with one to six damages."""
    found = bytearray(data)
    for _ in range(chance.randint(1, 6)):
        at, size = chance.randrange(len(found) + 1), chance.choice((1, 2, 4, 8, 64))
        match chance.randrange(6):
            case 0 if at < len(found):
                found[at] ^= 1 << chance.randrange(8)
            case 1:
                del found[at : at + size]
            case 2:
                found[at:at] = found[at : at + size] * chance.choice((1, 2, 50))
            case 3:
                found[at : at + size] = chance.randbytes(size)
            case 4:
                found[at : at + 4] = chance.choice(EXTREMES)
            case 5:
                other = chance.randrange(len(found) + 1)
                found[at : at + size] = found[other : other + size]
    return bytes(found)


def target(suffix: str, folder: Path) -> Callable[[bytes], None]:
    """A function that gives bytes to the reader of a suffix, or to the manifest, and lets only real faults out."""
    from heatbrief.api import Context, NoSettings, StepError, View
    from heatbrief.errors import UserError
    from heatbrief.manifest.load import load_manifest
    from heatbrief.model.thermogram import Picture
    from heatbrief.readers import STEPS
    from heatbrief.registry import load_registry

    if suffix in documents.KINDS:
        return documents.target(suffix, folder)
    path = folder / f"survey{suffix}"
    if suffix == ".yaml":
        plugins = load_registry()
        (folder / "a.tiff").touch()

        def manifest(data: bytes) -> None:
            path.write_bytes(data)
            try:
                load_manifest(path, plugins)
            except UserError as error:
                str(error)

        return manifest
    step = next(one for one in STEPS if suffix in one.suffixes)
    context = Context(view=View(thermogram="a", source=path.name, scale=(0.01, 0.0)))

    def reader(data: bytes) -> None:
        path.write_bytes(data)
        try:
            given = step.run(path, NoSettings(), context)
            found = [given] if isinstance(given, Picture) else list(given)
            assert all(isinstance(one, Picture) for one in found), "no picture"
        except StepError as error:
            str(error)

    return reader


def worker(suffix: str, runs: int, seed: int, keep: Path, guided: bool) -> None:
    """One suffix in a process of its own; the input at hand lies in `keep` until it is survived."""
    import signal
    import warnings

    warnings.simplefilter("ignore")
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY)) if not guided else None
    with tempfile.TemporaryDirectory(prefix="heatbrief-fuzz-") as name:
        with _instrumented(guided):
            call = target(suffix, Path(name))
        counted = [0]

        def one(data: bytes) -> None:
            current = keep / f"now{suffix}"
            current.write_bytes(data)
            signal.alarm(SECONDS)
            try:
                call(data)
            except Exception as error:
                current.rename(keep / f"crash-{abs(hash(data)):x}{suffix}")
                print(f"{suffix}: {type(error).__name__}: {str(error)[:200]}", file=sys.stderr)
            signal.alarm(0)
            counted[0] += 1
            if counted[0] % 20 == 0 or counted[0] >= runs:
                (keep / f"count{suffix}").write_text(str(counted[0]))

        if guided:
            _guided(one, suffix, runs, seed, Path(name))
            return
        chance, sound = random.Random(f"{seed}{suffix}"), seeds()[suffix]
        for data in corpus(suffix):
            one(data)
        for _ in range(runs):
            one(changed(suffix, chance.choice(sound), chance))
        (keep / f"now{suffix}").unlink(missing_ok=True)


def _instrumented(guided: bool) -> AbstractContextManager[object]:
    """Readers and manifest imported so that their coverage is seen."""
    if not guided:
        return nullcontext()
    import atheris

    return atheris.instrument_imports(
        include=[
            "heatbrief.readers",
            "heatbrief.manifest",
            "heatbrief.estimate.weather",
            "heatbrief.store",
            "heatbrief.compare",
        ]
    )


def _guided(one: Callable[[bytes], None], suffix: str, runs: int, seed: int, folder: Path) -> None:
    import atheris

    (folder / "corpus").mkdir()
    for number, data in enumerate([*seeds()[suffix], *corpus(suffix)]):
        (folder / "corpus" / f"{number}").write_bytes(data)

    def mutated(data: bytes, most: int, number: int) -> bytes:
        chance = random.Random(number)
        try:
            return changed(suffix, data, chance)[:most]
        except ValueError:  # no document any more
            return damaged(data, chance)[:most]

    own = {"custom_mutator": mutated} if suffix == documents.RESULTS else {}
    atheris.Setup(
        [
            sys.argv[0],
            f"-runs={runs}",
            f"-seed={seed}",
            "-max_len=60000" if own else "-max_len=8000",
            "-verbosity=0",
            "-print_final_stats=0",
            str(folder / "corpus"),
        ],
        one,
        **own,
    )
    atheris.Fuzz()


def measure(runs: int, keep: Path, seed: int = SEED, guided: bool = False) -> dict[str, int]:
    """Share the runs among the suffixes; count inputs that were tried and inputs that crashed."""
    keep.mkdir(parents=True, exist_ok=True)
    done, common = 0, (1.0 - sum(SHARE.values())) / (len(SUFFIXES) - len(SHARE))
    for suffix in SUFFIXES:
        command = [
            sys.executable,
            __file__,
            "--worker",
            suffix,
            "--runs",
            str(math.ceil(runs * SHARE.get(suffix, common))),
            "--seed",
            str(seed),
            "--keep",
            str(keep),
        ]
        found = subprocess.run(
            [*command, *(["--guided"] if guided else [])],
            check=False,
            stdout=subprocess.DEVNULL,
            env={**os.environ, "PYTHONHASHSEED": "0"},
        )
        now, count = keep / f"now{suffix}", keep / f"count{suffix}"
        if count.exists():
            done += int(count.read_text() or 0)
            count.unlink()
        if found.returncode and now.exists():
            now.rename(keep / f"died{suffix}")
            print(f"{suffix}: the process ended with {found.returncode}", file=sys.stderr)
        now.unlink(missing_ok=True)
    return {"runs": done, "crashes": sum(1 for path in keep.iterdir() if path.name.startswith(("crash-", "died")))}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="only the last line, as JSON")
    parser.add_argument("--runs", type=int, default=RUNS)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--keep", type=Path, default=None, help="folder for inputs that crash")
    parser.add_argument("--plain", action="store_true", help="random damage even where atheris is installed")
    parser.add_argument("--worker", choices=SUFFIXES, help=argparse.SUPPRESS)
    parser.add_argument("--guided", action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.worker:
        worker(given.worker, given.runs, given.seed, given.keep, given.guided)
        return
    try:
        import atheris  # noqa: F401

        guided = not given.plain
    except ImportError:
        guided = False
    keep = given.keep or Path(tempfile.mkdtemp(prefix="heatbrief-crashes-"))
    found = measure(max(len(SUFFIXES), given.runs), keep, given.seed, guided)
    if not given.json:
        print(
            f"{found['runs']} inputs {'guided by coverage' if guided else 'with random damage'}, "
            f"{found['crashes']} crashes, kept in {keep}"
        )
    print(json.dumps(found))


if __name__ == "__main__":
    main()
