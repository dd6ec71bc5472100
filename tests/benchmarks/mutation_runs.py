"""Tests of a copied tree in forked processes: which lines each test runs, and whether tests notice a changed source."""

from __future__ import annotations

import ast
import compileall
import contextlib
import gc
import hashlib
import importlib
import importlib.machinery
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

PLACES = ("pipeline", "plugins", "site_templates")
CRASHED, UNSEEN = 70, 71


def copy_tree(root: Path, home: Path) -> Path:
    """`home`/tree with the files of the checkout at `root`, only what has changed written again."""
    tree = home / "tree"
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard", "-z"], cwd=root, capture_output=True, text=True, check=True
    )
    wanted = {name for name in listed.stdout.split("\0") if name and (root / name).is_file()}
    for name in wanted:
        source, target = root / name, tree / name
        state = source.stat()
        if not target.is_file() or (target.stat().st_mtime, target.stat().st_size) != (state.st_mtime, state.st_size):
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(source, target)
    for path in tree.rglob("*"):
        if path.is_file() and "__pycache__" not in path.parts and path.relative_to(tree).as_posix() not in wanted:
            path.unlink()
    for place in (*PLACES, "tests"):
        compileall.compile_dir(tree / place, quiet=2)
    data, link = root.parent / "shared", home / "shared"  # open measurements, where they are on this machine
    if data.is_dir() and not link.exists():
        link.symlink_to(data.resolve())
    return tree


class Chosen:
    """A pytest plugin that keeps the named tests, in the given order."""

    def __init__(self, names: Iterable[str]):
        self.order = {name: number for number, name in enumerate(names)}

    def pytest_collection_modifyitems(self, config, items):
        items[:] = sorted((one for one in items if one.nodeid in self.order), key=lambda one: self.order[one.nodeid])


class Watched:
    """A pytest plugin that notes for each test that passes its seconds and the lines of our sources it runs."""

    def __init__(self, tree: Path):
        import coverage

        self.tree, self.found = tree, {}
        self.coverage = coverage.Coverage(
            data_file=None, config_file=False, include=[str(tree / place / "*") for place in PLACES[:2]]
        )

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item, nextitem):
        start = time.process_time()
        self.coverage.switch_context(item.nodeid)
        try:
            return (yield)
        finally:
            self.coverage.switch_context("")
            self.found.setdefault(item.nodeid, {"passed": False})["seconds"] = time.process_time() - start

    def pytest_runtest_logreport(self, report):
        if report.when == "call":
            self.found[report.nodeid] = {"passed": report.passed}

    def _is_library(self, module: object) -> bool:
        return not (getattr(module, "__file__", None) or str(self.tree)).startswith(str(self.tree))

    def write(self, path: Path) -> None:
        self.coverage.stop()
        data = self.coverage.get_data()
        lines: dict[str, dict[str, list[int]]] = {}
        for file in data.measured_files():
            name = Path(file).relative_to(self.tree).as_posix()
            for line, contexts in data.contexts_by_lineno(file).items():
                for context in contexts:
                    if self.found.get(context, {}).get("passed"):
                        lines.setdefault(context, {}).setdefault(name, []).append(line)
        tests = {
            name: {"seconds": one["seconds"], "lines": lines.get(name, {})}
            for name, one in self.found.items()
            if one["passed"]
        }
        failed = sorted(name for name, one in self.found.items() if not one["passed"])
        modules = sorted(name for name, one in list(sys.modules.items()) if self._is_library(one))
        path.write_text(json.dumps({"tests": tests, "left_out": failed, "modules": modules}))


def run_pytest(tree: Path, files: Iterable[str], *plugins: object) -> int:
    """pytest in this process on files of the tree, silent; asserts are left as they are, so that sources are too."""
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    os.chdir(tree)
    words = ["-x"] if any(isinstance(one, Chosen) for one in plugins) else []
    off = [word for name in ("cacheprovider", "xdist", "faulthandler") for word in ("-p", f"no:{name}")]
    place = [f"--rootdir={tree}", "-c", str(tree / "pyproject.toml")]
    return int(pytest.main([*files, "-q", "--tb=no", "--assert=plain", *words, *off, *place], [*plugins]))


def replace_source(path: Path, source: str) -> list[str]:
    """Have imports of this process take `source` for what stands in the file at `path`; the list gets what did so."""
    loader, read = importlib.machinery.SourceFileLoader, importlib.machinery.SourceFileLoader.get_code
    seen: list[str] = []

    def get_code(self, name):
        if self.path == str(path):
            seen.append(name)
            return compile(source, str(path), "exec", dont_inherit=True)
        return read(self, name)

    loader.get_code = get_code
    return seen


@dataclass
class Job:
    """Work for a forked process, and what became of it: the exit code, or None when it took too long.

    limit: seconds of processor time; ten times that on the clock.
    """

    work: Callable[[], int]
    limit: float
    code: int | None = None
    start: float = 0.0
    seconds: float = 0.0


def in_forks(jobs: Iterable[Job], at_once: int) -> Iterator[Job]:
    """Run each job in a process of its own, `at_once` of them; yields them as they end. Ends only its own processes."""
    waiting, running = iter(jobs), {}
    try:
        while True:
            while len(running) < at_once and (job := next(waiting, None)) is not None:
                running[_fork(job)] = job
            if not running:
                return
            yield from _ended(running)
            time.sleep(0.005)
    finally:
        for number in running:
            _end(number)


def _ended(running: dict[int, Job]) -> Iterator[Job]:
    for number, job in list(running.items()):
        job.seconds = time.monotonic() - job.start
        late = job.seconds > 10 * job.limit
        if late:
            _end(number)
        done, status = os.waitpid(number, 0 if late else os.WNOHANG)
        if done:
            del running[number]
            _end(number)
            code = os.waitstatus_to_exitcode(status)
            job.code = None if late or code in (-signal.SIGXCPU, -signal.SIGKILL) else code
            yield job


def _fork(job: Job) -> int:
    sys.stdout.flush()
    job.start = time.monotonic()
    number = os.fork()
    if number:
        return number
    code = CRASHED
    try:
        os.setpgid(0, 0)
        seconds = int(job.limit) + int(time.process_time()) + 1
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
        code = job.work()
    finally:
        os._exit(code)


def _end(number: int) -> None:
    """End the process group of a process forked here."""
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(number, signal.SIGKILL)


def digest(tree: Path, names: Iterable[str]) -> str:
    """One digest of files and their names; of Python what runs and on which line, so not the comments."""
    total = hashlib.sha256()
    for name in sorted(names):
        content = (tree / name).read_bytes()
        total.update(name.encode() + b"\0" + (_bare(content) if name.endswith(".py") else content) + b"\0")
    return total.hexdigest()[:24]


def _bare(content: bytes) -> bytes:
    tree = ast.parse(content)
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value:
            node.value, node.end_lineno, node.end_col_offset = "", 0, 0
        if hasattr(node, "col_offset"):
            node.col_offset = node.end_col_offset = 0
    return ast.dump(tree, include_attributes=True).encode()


def preload(modules: Iterable[str]) -> None:
    """Import libraries once, so that forked processes have them; ours must be read by each process anew."""
    for name in modules:
        with contextlib.suppress(Exception):
            importlib.import_module(name)
    if any(name.startswith("heatbrief") for name in sys.modules):
        raise SystemExit("a library has imported heatbrief, so that changes of it would not be seen")
    gc.freeze()


def measure(tree: Path, home: Path, files: Iterable[str], at_once: int) -> dict[str, dict]:
    """For each test file what `Watched` noted, remembered as long as the sources, the file and what tests share stay."""
    sources = [path.relative_to(tree).as_posix() for place in PLACES[:2] for path in (tree / place).rglob("*.*")]
    sources = [name for name in sources if name.endswith((".py", ".yaml"))]
    common = digest(tree, [*sources, "tests/support.py", "pyproject.toml"])
    kept = home / "coverage"
    kept.mkdir(exist_ok=True)
    found, jobs = {}, []
    for name in files:
        folder = (tree / name).parent
        beside = [path.relative_to(tree).as_posix() for path in (*folder.glob("conftest.py"), *folder.glob("*/*.yaml"))]
        target = kept / f"{digest(tree, {name, *beside})}-{common}.json"
        found[name] = target
        if not target.exists():
            jobs.append(Job(lambda name=name, target=target: _watch(tree, name, target), 900.0))
    for path in set(kept.iterdir()) - set(found.values()):
        path.unlink()
    for _ in in_forks(jobs, at_once):
        pass
    return {name: json.loads(path.read_text()) for name, path in found.items() if path.exists()}


def _watch(tree: Path, name: str, target: Path) -> int:
    watched = Watched(tree)
    watched.coverage.start()
    code = run_pytest(tree, [name], watched)
    watched.write(target)
    return code
