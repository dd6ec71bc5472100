"""Which part of heatbrief uses which published source, and which tests check that part.

`python tests/sources_table.py --write` renews the table in DEVELOPERS.md.

A part names a source by its key: as a string in code (`sources=("iso-6946",)`), in a YAML table, or in backticks or after
"Source:" in a docstring or comment. A test checks it when it names the key itself or, for a function that names it, when it imports
that function's module and names the function; for constants, private functions and tables, when it imports the module.
Worked examples of tests/published count for the function they call.
"""

from __future__ import annotations

import ast
import re
import sys
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from heatbrief.registry import Registry, load_registry

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = (ROOT / "pipeline" / "heatbrief", *sorted((ROOT / "plugins").glob("heatbrief_*")))
NAMED = re.compile(r"\bSources?:\s*((?:`?[a-z0-9-]+`?[,\s]+)*`?[a-z0-9-]+`?)")
MARKED = re.compile(r"\[(?:seen|memory|computed|common practice): ([a-z0-9-]+)\]")
KEYED = re.compile(r"\bsource: ([a-z0-9-]+)\s*[,}\n]")
OPEN, CLOSE = "<!-- sources -->", "<!-- /sources -->"


@dataclass(frozen=True)
class Use:
    """A place that names a source: a module ("heatbrief.physics.water") or a YAML file, and the function, if any."""

    key: str
    module: str
    function: str = ""


def uses(keys: set[str]) -> Iterator[Use]:
    """Every place in the packages that names a source."""
    for package in PACKAGES:
        for path in sorted(package.rglob("*.*")):
            if "testing" in path.parts or path.name.startswith("sources"):
                continue
            if path.suffix == ".py":
                yield from _in_code(path, package, keys)
            elif path.suffix == ".yaml":
                yield from (Use(key, _place(path, package)) for key in sorted(named_in(_own_part(path))))


def _own_part(path: Path) -> str:
    """The text of a table without the sources it offers itself."""
    return path.read_text("utf-8").partition("\nsources:\n")[0]


def named_in(text: str) -> set[str]:
    """Keys that a text names in one of the three ways of prose and tables, known or not."""
    flat = re.sub(r"\s+(#\s+)?", " ", text)
    listed = {key.strip("`") for found in NAMED.findall(flat) for key in re.split(r"[,\s]+", found)[: _listed(found)]}
    return {key for key in listed | set(MARKED.findall(text)) | set(KEYED.findall(text + "\n")) if key}


def _listed(found: str) -> int:
    """How many of the words belong to the list: those joined by commas."""
    words = found.split()
    return next((number for number, word in enumerate(words, 1) if not word.endswith(",")), len(words))


def _in_code(path: Path, package: Path, keys: set[str]) -> Iterator[Use]:
    text, place = path.read_text("utf-8"), _place(path, package)
    tree = ast.parse(text)
    spans = [node for node in tree.body if isinstance(node, (ast.FunctionDef, ast.ClassDef))]

    def at(line: int) -> str:
        return next((node.name for node in spans if node.lineno <= line <= node.end_lineno), "")

    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            named = {node.value} & keys or named_in(node.value) | set(re.findall(r"`([a-z0-9-]+)`", node.value)) & keys
            found |= {Use(key, place, at(node.lineno)) for key in named}
    for number, line in enumerate(text.splitlines(), 1):
        found |= {Use(key, place, at(number)) for key in named_in(line.partition("#")[2])}
    yield from sorted(found, key=lambda one: (one.key, one.function))


def _place(path: Path, package: Path) -> str:
    """Dotted name of a module, or package/file of a table."""
    inside = path.relative_to(package.parent)
    return ".".join(inside.with_suffix("").parts) if path.suffix == ".py" else inside.as_posix()


@dataclass(frozen=True)
class TestFile:
    """A file of tests: its text, the modules it imports and every name in it."""

    name: str
    text: str
    modules: frozenset[str]
    words: frozenset[str]


def test_files() -> list[TestFile]:
    """Every test_*.py below tests/."""
    found = []
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        modules = set()
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module:
                modules |= {node.module, *(f"{node.module}.{one.name}" for one in node.names)}
            elif isinstance(node, ast.Import):
                modules |= {one.name for one in node.names}
        text = path.read_text("utf-8")
        words = frozenset(re.findall(r"[\w-]+", text))
        found.append(TestFile(path.relative_to(ROOT / "tests").as_posix(), text, frozenset(modules), words))
    return found


def examples() -> Mapping[str, set[str]]:
    """Files of worked examples by the dotted name of the function they call."""
    found: dict[str, set[str]] = defaultdict(set)
    for path in sorted((ROOT / "tests" / "published").glob("*.yaml")):
        for name in re.findall(r"^  function: ([\w.]+)$", path.read_text("utf-8"), re.MULTILINE):
            found[name].add(f"published/{path.name}")
    return found


def _loaders() -> dict[str, str]:
    """The module that reads a table, by the table's place: the one beside it that names it."""
    found = {}
    for package in PACKAGES:
        for path in package.rglob("*.yaml"):
            for module in sorted(path.parent.glob("*.py")):
                if re.search(rf"[\"']{re.escape(path.stem)}(\.yaml)?[\"']", module.read_text("utf-8")):
                    found[_place(path, package)] = _place(module, package)
    return found


def _tests_of(
    use: Use, files: list[TestFile], loaders: Mapping[str, str], published: Mapping[str, set[str]]
) -> Iterator[str]:
    module = loaders.get(use.module, use.module)
    public = use.function and not use.function.startswith("_") and module == use.module
    for name, places in published.items():
        if name == f"{module}.{use.function}" or (not public and name.startswith(f"{module}.")):
            yield from places
    for one in files:
        named = use.key in one.words and re.search(rf"[\"'`\s]{re.escape(use.key)}[\"'`,.\s]", one.text)
        imported = module in one.modules or f"{module}.{use.function}" in one.modules
        if named or (imported and (not public or use.function in one.words)):
            yield one.name


def rows(registry: Registry) -> list[tuple[str, str, str, str]]:
    """(key, mark, used by, tests) of every source, by key."""
    files, loaders, published = test_files(), _loaders(), examples()
    by_module = defaultdict(list)
    for step in registry.steps.values():
        by_module[step.run.__module__].append(step.name)
    used, tested = defaultdict(set), defaultdict(set)
    for step in registry.steps.values():
        for key in step.sources:
            used[key].add(f"`{step.name}`")
            tested[key] |= set(_tests_of(Use(key, step.run.__module__), files, loaders, published))
    for use in uses(set(registry.sources)):
        names = by_module.get(use.module, ())
        used[use.key] |= {f"`{name}`" for name in names} or {_short(use.module)}
        tested[use.key] |= set(_tests_of(use, files, loaders, published))
    return [
        (key, source.mark, ", ".join(sorted(used[key])), ", ".join(sorted(tested[key])))
        for key, source in sorted(registry.sources.items())
    ]


def _short(module: str) -> str:
    """A place as a reader of the repository finds it: below pipeline/heatbrief/, or below plugins/."""
    path = module if "/" in module else module.replace(".", "/") + ".py"
    return path.removeprefix("heatbrief/")


def table(registry: Registry) -> str:
    """The table as DEVELOPERS.md carries it."""
    head = ["| source | mark | used by | tested in tests/ |", "|---|---|---|---|"]
    return "\n".join(
        [*head, *(f"| `{key}` | {mark} | {used} | {tests} |" for key, mark, used, tests in rows(registry))]
    )


def main() -> int:
    text = table(load_registry())
    if "--write" not in sys.argv:
        sys.stdout.write(f"{text}\n")
        return 0
    path = ROOT / "DEVELOPERS.md"
    before, _, rest = path.read_text("utf-8").partition(OPEN)
    path.write_text(f"{before}{OPEN}\n{text}\n{CLOSE}{rest.partition(CLOSE)[2]}", "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
