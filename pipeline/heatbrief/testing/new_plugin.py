"""A separate, tested, installable plugin project from the template that ships with heatbrief."""

from __future__ import annotations

import keyword
import re
from collections.abc import Collection, Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable

from heatbrief.errors import UserError

TEMPLATE, SUFFIX = "plugin_template", ".txt"
"""Folder of the template; its files carry one more ending, so that nothing takes them for this package's own code."""
NAME = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")
MOST_LETTERS = 30
RESERVED = frozenset({"heatbrief", "builtin", "site", "test", "tests", "names", "default"})


def project_files(name: str, taken: Collection[str] = ()) -> Mapping[str, str]:
    """Text of every file of the project, by its path in the project's folder.

    name   prefix of everything the plugin offers, such as "pool"
    taken  names of plugins that are installed
    Raises UserError "plugin-name" for a name that cannot be one.
    """
    check_name(name, taken)
    plain = name.replace("_", " ")
    words = {"@name@": name, "@dashed@": name.replace("_", "-"), "@words@": plain, "@title@": plain.capitalize()}
    return {
        _filled(path, words).removesuffix(SUFFIX): _filled(text, words)
        for path, text in _walk(files("heatbrief.testing") / TEMPLATE, "")
    }


def check_name(name: str, taken: Collection[str] = ()) -> None:
    """Raise UserError "plugin-name" unless a plugin may be called so."""
    wrong = ""
    if not NAME.fullmatch(name) or len(name) > MOST_LETTERS:
        wrong = f"a name has small letters, digits and single underscores, starts with a letter and has at most {MOST_LETTERS} characters"
    elif keyword.iskeyword(name) or keyword.issoftkeyword(name) or name in RESERVED or name.startswith("heatbrief"):
        wrong = "the name means something else already"
    elif name in taken:
        wrong = "a plugin of that name is installed"
    if wrong:
        near = "_".join(re.findall(r"[a-z0-9]+", name.lower()))[:MOST_LETTERS].strip("_")
        good = near if near != name and NAME.fullmatch(near) and near not in taken else "pool"
        raise UserError.single("plugin-name", repr(name), wrong, f"Choose another, such as {good!r}.")


def _walk(folder: Traversable, path: str) -> list[tuple[str, str]]:
    found = []
    for one in sorted(folder.iterdir(), key=lambda each: each.name):
        inside = f"{path}{one.name}"
        if one.is_dir():
            found += _walk(one, f"{inside}/")
        elif one.name.endswith(SUFFIX):
            found.append((inside, one.read_text("utf-8")))
    return found


def _filled(text: str, words: Mapping[str, str]) -> str:
    for place, word in words.items():
        text = text.replace(place, word)
    return text
