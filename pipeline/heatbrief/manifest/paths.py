"""Paths written in a manifest: they stay below the survey's folder, also through links."""

from __future__ import annotations

import glob
import os
import re
from collections.abc import Sequence
from pathlib import Path

from heatbrief.manifest.nodes import CONTROL, Node, Problems, shown

MAX_MATCHES = 20_000
_DRIVE = re.compile(r"[A-Za-z]:/")
_GLOB = re.compile(r"[*?\[]")


class SurveyFolder:
    """The folder that every picture of a survey lies in."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._real = os.path.realpath(folder)
        self._parents: dict[str, bool] = {}

    def holds(self, text: str, node: Node, name: str, problems: Problems) -> bool:
        """False after adding a problem when the path leaves the folder. The file need not exist."""
        if CONTROL.search(text) or "\n" in text or "\t" in text:
            problems.add(
                node,
                "file-name",
                f"{name}: the name of {shown(text)} holds characters that cannot be written on a page",
                "Give the file a plain name.",
            )
            return False
        if "\\" in text or _DRIVE.match(text):
            problems.add(
                node,
                "path-form",
                f"{name}: {shown(text)} is not written with '/'",
                "Write a path such as ir/kitchen.tiff.",
            )
            return False
        if text.startswith("/") or ".." in text.split("/") or not self._real_inside(text):
            problems.add(
                node,
                "path-outside",
                f"{name}: {shown(text)} lies outside the survey's folder",
                "Put the file into the folder of the manifest and give the path from there.",
            )
            return False
        return True

    def _real_inside(self, text: str) -> bool:
        parent, leaf = os.path.split(text)
        inside = self._parents.get(parent)
        if inside is None:
            inside = self._parents[parent] = self._below(os.path.realpath(os.path.join(self._real, parent)))
        path = os.path.join(self._real, parent, leaf)
        return inside and (not os.path.islink(path) or self._below(os.path.realpath(path)))

    def _below(self, real: str) -> bool:
        return real == self._real or real.startswith(self._real.rstrip(os.sep) + os.sep)

    def matches(self, text: str) -> Sequence[str]:
        """The files that a pattern such as ir/*.tiff names, sorted; the text itself when nothing matches."""
        if not _GLOB.search(text) or os.path.lexists(os.path.join(self._real, text)):
            return (text,)
        found = []
        for match in glob.iglob(text, root_dir=self._real, recursive=True):
            if os.path.isfile(os.path.join(self._real, match)):
                found.append(match.replace(os.sep, "/"))
            if len(found) >= MAX_MATCHES:
                break
        return sorted(set(found)) or (text,)
