"""The architecture is a test: imports point downwards only."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PIPELINE = ROOT / "pipeline" / "heatbrief"

MAY_IMPORT = {
    "arrays": set(),
    "errors": set(),
    "model": {"errors"},
    "physics": {"physics"},
    "api": {"model", "errors"},
    "manifest": {"model", "errors", "api", "physics"},
    "detect": {"model", "errors", "api", "physics"},
    "readers": {"model", "errors", "api", "physics"},
    "calibrate": {"model", "errors", "api", "physics"},
    "estimate": {"model", "errors", "api", "physics", "detect"},
    "store": {"model", "errors"},
    "codes": set(),
    "registry": {"model", "errors", "api", "detect"},
    "engine": {"model", "errors", "api", "manifest", "registry", "store", "detect", "readers", "calibrate", "estimate"},
    "site": {"model", "errors", "store", "api", "codes"},
    "pages": {"model", "errors", "api", "site"},
    "compare": {"model", "errors", "api", "physics", "detect", "store", "site", "pages"},
    "builtin": {"model", "api", "detect", "readers", "calibrate", "estimate", "physics", "site"},
    "testing": {"model", "errors", "api", "physics", "registry", "calibrate", "detect", "readers", "store"},
}
"""Part of the package -> parts it may import besides itself and `arrays`. `cli` may import everything."""

PLUGIN_MAY_IMPORT = {"api", "arrays", "model", "physics", "detect", "errors"}


def imported(path: Path) -> set[tuple[str, int]]:
    """Modules a file imports, with the line."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            found.add((node.module, node.lineno))
        elif isinstance(node, ast.Import):
            found.update((alias.name, node.lineno) for alias in node.names)
    return found


def part_of(path: Path) -> str:
    return path.relative_to(PIPELINE).parts[0].removesuffix(".py")


def own_files() -> list[Path]:
    return sorted(path for path in PIPELINE.rglob("*.py") if part_of(path) not in ("__init__", "__main__", "cli"))


@pytest.mark.parametrize("path", own_files(), ids=lambda path: path.relative_to(PIPELINE).as_posix())
def test_imports_point_downwards(path):
    part = part_of(path)
    for module, line in imported(path):
        if module.startswith(("heatbrief_",)):
            assert part in ("manifest", "site", "pages") and module.startswith("heatbrief_site"), (
                f"{path}:{line}: {module}"
            )
        if module.startswith("heatbrief."):
            target = module.split(".")[1]
            assert target in (part, "arrays") or target in MAY_IMPORT[part], (
                f"{path}:{line}: {part} may not import {target}"
            )


def plugin_files() -> list[Path]:
    return sorted((ROOT / "plugins").rglob("*.py"))


@pytest.mark.parametrize("path", plugin_files(), ids=lambda path: path.relative_to(ROOT).as_posix())
def test_plugins_use_public_names_only(path):
    own = path.relative_to(ROOT / "plugins").parts[0]
    for module, line in imported(path):
        if module.startswith("heatbrief_"):
            assert module.split(".")[0] == own, f"{path}:{line}: a plugin may not import another plugin"
        if module.startswith("heatbrief."):
            assert module.split(".")[1] in PLUGIN_MAY_IMPORT, f"{path}:{line}: {module} is not public for plugins"


@pytest.mark.parametrize("heavy", ["scipy", "PIL", "mkdocs", "pint", "yaml", "tifffile", "cattrs", "numpy.testing"])
def test_the_command_starts_without_heavy_libraries(heavy):
    code = f"import heatbrief.cli, sys; sys.exit({heavy!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize("heavy", ["scipy", "PIL", "mkdocs", "pint", "tifffile"])
def test_plugins_load_without_heavy_libraries(heavy):
    code = (
        f"from heatbrief.registry import load_registry; load_registry(); import sys; sys.exit({heavy!r} in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    "path",
    sorted([*PIPELINE.rglob("*.py"), *(ROOT / "plugins").rglob("*.py"), *(ROOT / "tests").rglob("*.py")]),
    ids=lambda path: path.relative_to(ROOT).as_posix(),
)
def test_files_are_short_and_say_what_they_are_for(path):
    text = path.read_text("utf-8")
    assert text.count("\n") <= 500
    if "tests" not in path.relative_to(ROOT).parts[:1]:
        assert ast.get_docstring(ast.parse(text)), f"{path} has no docstring"


def folders_of_tests() -> list[Path]:
    made = ("__pycache__", ".")
    return [one for one in sorted((ROOT / "tests").rglob("*")) if one.is_dir() and not one.name.startswith(made)]


def purpose_of(folder: Path) -> str:
    """Docstring of the file that speaks for a folder, "" without one."""
    for name in ("__init__.py", "conftest.py"):
        if (folder / name).is_file():
            return ast.get_docstring(ast.parse((folder / name).read_text("utf-8"))) or ""
    return ""


@pytest.mark.parametrize("folder", folders_of_tests(), ids=lambda path: path.relative_to(ROOT).as_posix())
def test_every_folder_of_tests_says_what_it_is_for(folder):
    """A folder with code by itself; one that holds data is named by the folder above."""
    if any(folder.glob("*.py")):
        assert len(purpose_of(folder).split()) > 5, f"give {folder} a conftest.py whose first lines say what it is for"
    else:
        assert f"`{folder.name}/`" in purpose_of(folder.parent), f"name `{folder.name}/` in the conftest.py above it"


@pytest.mark.parametrize(
    "folder",
    sorted({path.parent for path in (*PIPELINE.rglob("*.py"), *(ROOT / "plugins").rglob("*.py"))}),
    ids=lambda path: path.relative_to(ROOT).as_posix(),
)
def test_every_package_says_what_it_is_for(folder):
    assert len(purpose_of(folder).split()) > 5, folder
