"""MkDocs as a small, replaceable last step: a configuration, a subprocess, and pages through its standard input."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any

import yaml
from heatbrief_site import resource, theme_dir

from heatbrief.errors import HeatbriefError
from heatbrief.site.page import Page, clean, data_line
from heatbrief.site.words import Words

TIMEOUT_SECONDS = 900
Line = bytes | Callable[[], bytes]
"""The data of a page as a line of JSON, or what makes it."""
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


class Rendering:
    """One run of MkDocs, which starts at once and reads itself in while the pages are still being thought out.

    name      of the site
    sections  (path, title) of the pages in the navigation
    extra     what all templates see as `config.extra`
    work      an empty folder for the build; site_dir: where the site goes, emptied first
    Every method raises HeatbriefError with MkDocs' own words when it refuses.
    """

    def __init__(
        self, name: str, sections: Iterable[tuple[str, str]], extra: Mapping[str, Any], work: Path, site_dir: Path
    ) -> None:
        self.nav = {path: clean(title) or "-" for path, title in sections}
        self.extra, self.site_dir = data_line(extra), site_dir
        self._failed: Exception | None = None
        self._error = (work / "errors.txt").open("w+b")
        (work / "docs").mkdir()
        with ExitStack() as held:
            theme = held.enter_context(theme_dir())
            config = work / "mkdocs.yml"
            text = yaml.safe_dump(self._settings(clean(name) or "-", work, theme), allow_unicode=True)
            config.write_text(text, encoding="utf-8")
            self._process = self._start(config, work)
            self._held = held.pop_all()

    def __enter__(self) -> Rendering:
        return self

    def __exit__(self, *error: object) -> None:
        if self._process.poll() is None:
            self._process.kill()
        for stream in (self._process.stdin, self._process.stdout, self._error):
            if stream is not None:
                with suppress(OSError):
                    stream.close()
        self._process.wait()
        self._held.close()

    def pages(self, pages: deque[tuple[Page, Line | None]]) -> Iterator[str]:
        """Give MkDocs its pages with their data as lines; yields the path of each once its file is written.

        A page without a line stays as it was and is not written; it is in the navigation only. What makes a line is
        called in a thread of its own while MkDocs draws the pages before it, and what it raises is raised here.
        `pages` is emptied, so that what was sent can be let go.
        """
        first = self.extra + data_line([self._head(page, line is not None) for page, line in pages])
        asked, lines = [page for page, line in pages if line], deque(line for _, line in pages if line)
        pages.clear()
        sender = threading.Thread(target=self._send, args=(first, lines), daemon=True)
        sender.start()
        watch = threading.Timer(TIMEOUT_SECONDS, self._process.kill)
        watch.daemon = True
        watch.start()
        last = ""
        for page in asked:
            said = self._said()
            if said != page.source:
                if said:
                    self._process.kill()
                break
            if last:
                yield last
            last = page.path
        code = self._process.wait()
        watch.cancel()
        sender.join()
        if self._failed is not None:
            raise self._failed
        if code != 0:
            self._error.seek(0)
            said = self._error.read().decode("utf-8", "replace").strip() or f"nothing (exit {code})"
            raise HeatbriefError(f"the site could not be built; MkDocs says:\n{said[-3000:]}")
        if last:
            yield last
        for unwanted in _NOT_OURS:
            (self.site_dir / unwanted).unlink(missing_ok=True)

    def _send(self, first: bytes, lines: deque[Line]) -> None:
        """In a thread of its own, as MkDocs does not read on while nobody reads what it says."""
        stream = self._process.stdin
        assert stream is not None
        try:
            stream.write(first)
            while lines:  # what is sent is let go
                line = lines.popleft()
                stream.write(line if isinstance(line, bytes) else line())
        except BrokenPipeError:
            pass  # MkDocs has ended, and says why
        except Exception as error:
            self._failed = error
        finally:
            with suppress(OSError, ValueError):
                stream.close()

    def _said(self) -> str:
        assert self._process.stdout is not None
        return self._process.stdout.readline().decode("ascii", "replace").strip()

    def _head(self, page: Page, new: bool) -> dict[str, Any]:
        return {
            "source": page.source,
            "template": page.template,
            "title": page.title or "-",
            "section": page.section,
            "nav": self.nav.get(page.path, ""),
            "drawn": new,
        }

    def _settings(self, name: str, work: Path, theme: Path) -> dict[str, Any]:
        warn = dict.fromkeys(("not_found", "anchors", "absolute_links", "unrecognized_links"), "warn")
        return {
            "site_name": name,
            "docs_dir": str(work / "docs"),
            "site_dir": str(self.site_dir),
            "strict": True,
            "plugins": [],
            "hooks": [str(Path(__file__).with_name("mkdocs_hook.py"))],
            "use_directory_urls": False,
            "theme": {"name": None, "custom_dir": str(theme), "locale": "en"},
            "nav": [path.removesuffix(".html") + ".md" for path in self.nav],
            "validation": {
                "nav": dict.fromkeys(("omitted_files", "not_found", "absolute_links"), "warn"),
                "links": warn,
            },
        }

    def _start(self, config: Path, work: Path) -> subprocess.Popen[bytes]:
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
            return subprocess.Popen(
                command,
                cwd=work,
                env=environment,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=self._error,
            )
        except OSError as error:
            raise HeatbriefError(f"the site could not be built: {error}") from error


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
