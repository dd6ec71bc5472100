"""Every message code can be explained, and every explained code exists."""

from __future__ import annotations

import ast
from pathlib import Path

from heatbrief.codes import load_codes

ROOT = Path(__file__).resolve().parents[1]
MAKERS = {"StepError": 0, "single": 0, "Problem": 1, "NotAnalysed": 1}
"""Call -> position of the code among its arguments."""


def used_codes() -> dict[str, str]:
    found = {}
    for path in [*(ROOT / "pipeline").rglob("*.py"), *(ROOT / "plugins").rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                values = node.args[MAKERS[name]:MAKERS[name] + 1] if name in MAKERS else []
                values += [keyword.value for keyword in node.keywords if keyword.arg == "code"]
                found.update({one.value: f"{path}:{node.lineno}" for one in values if isinstance(one, ast.Constant)})
    return found


def test_every_code_is_explained():
    missing = {code: place for code, place in used_codes().items() if code not in load_codes()}
    assert not missing


def test_no_code_is_explained_in_vain():
    source = "\n".join(path.read_text("utf-8") for path in [*(ROOT / "pipeline").rglob("*.py"), *(ROOT / "plugins").rglob("*.py")])
    assert [code for code in load_codes() if f'"{code}"' not in source] == []


def test_explanations_are_whole_sentences():
    for code, entry in load_codes().items():
        for text in (entry.title, entry.cause, entry.remedy):
            assert text and text[0].isupper(), code
        assert entry.cause.endswith(".") and entry.remedy.endswith("."), code
