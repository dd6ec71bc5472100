"""Which functions, classes, constants and methods of the packages nothing names: read from the syntax, nothing is run."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
HOMES = tuple(ROOT / name for name in ("pipeline", "plugins", "site_templates"))
TESTS = ROOT / "tests"
OFFERED_IN = (
    "DEVELOPERS.md",
    "README.md",
    "pipeline/heatbrief/api/hooks.yaml",
    "pipeline/heatbrief/testing/plugin_template/**/*.txt",
    "tests/external_plugin/**/*.py",
)
"""What plugin authors read and copy: a name that stands there is offered to them. Of Markdown only what is set as code."""

FOR_AUTHORS = tuple(
    f"heatbrief.{name}" for name in ("api", "arrays", "detect", "errors", "model", "physics", "testing")
)
"""What plugins may import."""

CALLED_BY_A_LIBRARY = {"hookimpl", "hookspec", "fixture", "command"}
"""Decorators by which pluggy, pytest and click find a function."""

Name = tuple[str, str]


@dataclass
class Module:
    """What a file defines at its top and in its classes, and where the names that it imports come from."""

    tree: ast.Module
    defined: dict[str, ast.stmt] = field(default_factory=dict)
    methods: set[str] = field(default_factory=set)
    imported: dict[str, Name] = field(default_factory=dict)


def read(path: Path) -> Module:
    found = Module(ast.parse(path.read_text("utf-8")))
    for node in found.tree.body:
        found.defined.update((name, node) for name in names_of(node) if not name.startswith("__"))
        if isinstance(node, ast.ClassDef):
            inner = (one.name for one in node.body if isinstance(one, ast.FunctionDef))
            found.methods.update(f"{node.name}.{name}" for name in inner if not name.startswith("__"))
    for node in ast.walk(found.tree):
        if isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.imported.update((one.asname or one.name, (node.module, one.name)) for one in node.names)
        elif isinstance(node, ast.Import):
            found.imported.update((one.asname, (one.name, "")) for one in node.names if one.asname)
    return found


def names_of(node: ast.stmt) -> list[str]:
    """Names that a statement at the top of a module defines."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        decorators = {word for one in node.decorator_list for word in re.findall(r"\w+", ast.unparse(one))}
        return [] if decorators & CALLED_BY_A_LIBRARY else [node.name]
    if isinstance(node, ast.Assign):
        return [name.id for target in node.targets for name in ast.walk(target) if isinstance(name, ast.Name)]
    return [node.target.id] if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name) else []


def modules() -> dict[str, Module]:
    """Every Python file of the packages and below tests/, by the name it is imported by."""
    found = {}
    for home in (*HOMES, TESTS):
        for path in sorted(home.rglob("*.py")):
            parts = path.relative_to(home).with_suffix("").parts
            found[("tests." if home == TESTS else "") + ".".join(parts).removesuffix(".__init__")] = read(path)
    return found


def home_of(known: dict[str, Module], module: str, name: str) -> Name:
    """Where a name is defined that may have been handed on by packages; (module, "") for a module."""
    if f"{module}.{name}" in known and known[module].imported.get(name, (module, name)) == (module, name):
        return f"{module}.{name}", ""
    seen: set[Name] = set()
    while module in known and name not in known[module].defined and (module, name) not in seen:
        seen.add((module, name))
        module, name = known[module].imported.get(name, ("", ""))
    return module, name


def uses(known: dict[str, Module], name: str) -> Iterator[Name]:
    """What the statements of a module name, not counting a definition within itself, nor what a package hands on."""
    module = known[name]
    homes = {local: home_of(known, *origin) for local, origin in module.imported.items()}
    for statement in module.tree.body:
        own = set(names_of(statement))
        for node in ast.walk(statement):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                if node.id in homes:
                    yield homes[node.id]
                elif node.id in module.defined and node.id not in own:
                    yield name, node.id
            elif isinstance(node, ast.Attribute):
                whole = ast.unparse(node.value)
                where = homes.get(whole, (whole, ""))
                if where[0] in known and not where[1]:
                    yield home_of(known, where[0], node.attr)
                elif whole.isidentifier() and whole not in module.defined:  # may go through modules in a loop
                    yield from ((one, node.attr) for one, within in homes.values() if not within)


def unused() -> list[str]:
    """`module.name` and `module.Class.name` of the packages for what neither they nor the benchmarks name, sorted."""
    known = modules()
    users = [name for name in known if not name.startswith("tests.") or name.startswith("tests.benchmarks.")]
    named = {one for name in users for one in uses(known, name)}
    called = {node.attr for name in users for node in ast.walk(known[name].tree) if isinstance(node, ast.Attribute)}
    called |= words_of((ROOT / "site_templates").rglob("*.html"))
    offered, found = words_of(path for pattern in OFFERED_IN for path in ROOT.glob(pattern)), set()
    for module in users:
        if not module.startswith("tests."):
            free = {name for name in known[module].defined if (module, name) not in named}
            free |= {name for name in known[module].methods if name.partition(".")[2] not in called}
            words = offered if module.startswith(FOR_AUTHORS) else set()
            found |= {f"{module}.{name}" for name in free if name.rpartition(".")[2] not in words}
    return sorted(found)


def words_of(files: Iterable[Path]) -> set[str]:
    return {word for path in files for word in re.findall(r"\w+", code_of(path))}


def code_of(path: Path) -> str:
    """What an author can write after a text: of Markdown the code, without names of files and the tables made from code."""
    text = path.read_text("utf-8")
    if path.suffix != ".md":
        return text
    text = re.sub(r"<!-- (\w+) -->.*?<!-- /\1 -->", "", text, flags=re.DOTALL)
    return re.sub(r"[\w/]+\.(?:py|yaml)\b", "", " ".join(re.findall(r"```.*?```|`[^`\n]+`", text, re.DOTALL)))
