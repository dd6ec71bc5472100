"""How quick, small, accessible and self-contained the site of a large survey is.

    python tests/benchmarks/site.py [--json]

Builds the site of an invented property with 100 findings on 40 pictures, opens one page of each kind from disk in a
headless browser, and counts what an automated checker of WCAG 2.2 AA finds, in light and dark, and what is asked for
beyond the disk.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import resource
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[1] / "site"), str(HERE.parents[1])]

FINDINGS = 100


def measure() -> dict[str, float | int | None]:
    from heatbrief.site.build import build_site
    from large import large  # tests/site/large.py

    with tempfile.TemporaryDirectory(prefix="heatbrief-benchmark-") as folder:
        objects, site, again = (Path(folder) / name for name in ("objects", "site", "again"))
        results = large(objects, FINDINGS)
        start, used = time.perf_counter(), cpu_seconds()
        build_site(results, objects, site)
        seconds, cpu = time.perf_counter() - start, cpu_seconds() - used
        build_site(results, objects, again)
        return {
            "findings": len(results.findings),
            "build_s": round(seconds, 2),
            "build_cpu_s": round(cpu, 2),
            "site_pages": sum(1 for _ in site.rglob("*.html")),
            "overview_kb": round((site / "index.html").stat().st_size / 1000, 1),
            "finding_page_kb_max": max(page_kb(page, site) for page in sorted((site / "findings").glob("*.html"))),
            "same_bytes": files_of(site) == files_of(again),
            **in_browser(site),
        }


def cpu_seconds() -> float:
    """Processor time of this process and its finished children: what a busy machine does not change much."""
    both = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in both)


def page_kb(page: Path, site: Path) -> float:
    """A page with the pictures and picture data that it shows; style and scripts are shared by all pages."""
    text = page.read_text("utf-8")
    sources = {os.path.normpath(page.parent / one) for one in re.findall(r'<img[^>]* src="([^"]+)"', text)}
    sources |= {os.path.normpath(page.parent / one) for one in re.findall(r'data-values="([^"]+)"', text)}
    return round((page.stat().st_size + sum(Path(one).stat().st_size for one in sources)) / 1000, 1)


def files_of(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def in_browser(site: Path) -> dict[str, int | None]:
    """Violations and requests over one page of each kind, None where no browser or checker is at hand."""
    from browsing import checker, opened, pages_of_each_kind, requests_of, violations

    script = checker()
    with opened() as browser:
        if browser is None or script is None:
            return {"accessibility_violations": None, "external_requests": None}
        browser.get("about:blank")
        requests_of(browser)  # what the browser's own first page asked for
        found: list[str] = []
        for scheme in ("light", "dark"):
            for page in pages_of_each_kind(site):
                found += violations(browser, page, scheme, script)
        asked = [one for one in requests_of(browser) if not one.startswith(("file:", "data:", "about:"))]
        for one in found:
            print(one, file=sys.stderr)
        return {"accessibility_violations": len(found), "external_requests": len(asked)}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true", help="only the last line, as JSON")
    given = parser.parse_args()
    found = measure()
    if not given.json:
        for name, value in found.items():
            print(f"{name:26} {value}")
    print(json.dumps(found))


if __name__ == "__main__":
    main()
