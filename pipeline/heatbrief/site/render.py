"""MkDocs as a small, replaceable last step: a docs folder, a configuration, a subprocess."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import yaml
from heatbrief_site import resource, theme_dir

from heatbrief.errors import HeatbriefError
from heatbrief.site.page import Page, clean, source_text
from heatbrief.site.words import Words

TIMEOUT_SECONDS = 900
_KEPT_VARIABLES = (
    "PATH",
    "PYTHONPATH",
    "PYTHONHOME",
    "VIRTUAL_ENV",
    "LD_LIBRARY_PATH",
    "SYSTEMROOT",
    "TEMP",
    "TMP",
    "TMPDIR",
)
VIEWER_SCRIPTS = tuple(
    f"viewer{part}.js" for part in ("-data", "-paint", "-charts", "-draw", "-region", "-compare", "")
)
"""Scripts of a picture's page in the order in which they need each other."""
PROSE = "en"
"""Language of the sentences of checks and plugins, whatever that of the page."""
_NOT_OURS = ("sitemap.xml", "sitemap.xml.gz", "404.html")


def render(
    pages: Iterable[Page],
    files: Mapping[str, bytes],
    work: Path,
    site_dir: Path,
    name: str,
    sections: Iterable[str],
    extra: Mapping[str, Any],
) -> None:
    """Build `site_dir` from pages and other files.

    work      an empty folder for the build
    sections  paths of the pages in the navigation, with their titles taken from the pages
    extra     what all templates see as `config.extra`
    Raises HeatbriefError with MkDocs' own words when it refuses.
    """
    docs = work / "docs"
    titles = {}
    for page in pages:
        _write(docs / page.source, source_text(page).encode("utf-8"))
        titles[page.path] = page.title
    for path, data in files.items():
        _write(docs / path, data)
    with theme_dir() as theme:
        settings = {
            "site_name": clean(name) or "-",
            "docs_dir": str(docs),
            "site_dir": str(site_dir),
            "strict": True,
            "plugins": [],
            "use_directory_urls": False,
            "theme": {"name": None, "custom_dir": str(theme), "locale": "en"},
            "nav": [
                {
                    extra["t"]["sections"].get(path.removesuffix(".html"), titles[path]): path.removesuffix(".html")
                    + ".md"
                }
                for path in sections
            ],
            "not_in_nav": "findings/\nthermograms/\ncautions/\n",
            "extra": clean(dict(extra)),
            "validation": {
                "nav": {"omitted_files": "warn", "not_found": "warn", "absolute_links": "warn"},
                "links": {
                    "not_found": "warn",
                    "anchors": "warn",
                    "absolute_links": "warn",
                    "unrecognized_links": "warn",
                },
            },
        }
        config = work / "mkdocs.yml"
        config.write_text(yaml.safe_dump(settings, allow_unicode=True, sort_keys=True), encoding="utf-8")
        _run_mkdocs(config, work)
    for unwanted in _NOT_OURS:
        (site_dir / unwanted).unlink(missing_ok=True)


def extras(words: Words, foot: str, invented: bool, **more: Any) -> dict[str, Any]:
    """What every page of a site shares."""
    return {
        "t": words.all,
        "language": words.language,
        "standing": words.say("site.standing_line"),
        "foot": foot,
        "invented": invented,
        "assets": assets_key(),
        "prose": PROSE,
        "viewer_scripts": list(VIEWER_SCRIPTS),
        **more,
    }


def css_text(text: str) -> str:
    """Text for a quoted string of a style sheet: all but letters, digits and spaces as escapes."""
    cut = " ".join(clean(text).split())[:80]
    return "".join(one if one.isascii() and (one.isalnum() or one == " ") else f"\\{ord(one):x} " for one in cut)


def assets_key() -> str:
    """Short digest of style and scripts, so that a web server's visitors never see old ones."""
    files = [one for name in ("css", "js") for one in resource(f"theme/{name}").iterdir() if one.is_file()]
    return hashlib.sha256(b"\0".join(one.read_bytes() for one in sorted(files, key=lambda one: one.name))).hexdigest()[
        :10
    ]


def _run_mkdocs(config: Path, work: Path) -> None:
    environment = {name: os.environ[name] for name in _KEPT_VARIABLES if name in os.environ}
    environment |= {
        "SOURCE_DATE_EPOCH": "315532800",
        "PYTHONHASHSEED": "0",
        "PYTHONUTF8": "1",
        "PYTHONDONTWRITEBYTECODE": "1",
        "LC_ALL": "C.UTF-8",
        "HOME": str(work),
        "no_proxy": "*",
    }
    command = [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet", "--config-file", str(config)]
    try:
        done = subprocess.run(
            command,
            cwd=work,
            env=environment,
            capture_output=True,
            text=True,
            encoding="utf-8",
            errors="replace",
            timeout=TIMEOUT_SECONDS,
            check=False,
            stdin=subprocess.DEVNULL,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise HeatbriefError(f"the site could not be built: {error}") from error
    if done.returncode != 0:
        raise HeatbriefError(
            f"the site could not be built; MkDocs says:\n{(done.stderr or done.stdout).strip()[-3000:]}"
        )


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
