"""The whole command on real measurements, against the statistics published or recorded beside them."""

from __future__ import annotations

import csv
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from real_data.manifests import CASTLE, FACADE, LEAF, RIVER, VEHICLES
from support import results_of

DEGREES = re.compile(r"°\s?[CF]|\bdeg[CF]\b|\bkelvin\b|\d\s*K\b", re.IGNORECASE)


@pytest.fixture
def published(heatbrief, survey, measurements, tmp_path):
    """Run a manifest on copies of the pictures it names; returns the results and the output folder."""

    def run(name: str, text: str, patterns: list[str], slug: str, code: int = 0):
        folder = measurements(name)
        pictures = {path.name: path for pattern in patterns for path in folder.glob(pattern)}
        assert pictures
        out = tmp_path / "out"
        done = heatbrief("run", survey(text, pictures), "--out", out)
        assert done.code == code, done.err
        assert (out / slug / "site" / "index.html").is_file()
        return results_of(out, slug), out / slug

    return run


def by_source(results):
    return {one["source"]: one for one in results["thermograms"]}


def test_facade_statistics_to_four_decimals(published, measurements):
    # frame_statistics.json beside the data, computed from the published matrices
    results, _ = published("facade-observatory", FACADE, ["*.csv"], "rooftop-observatory")
    expected = json.loads((measurements("facade-observatory") / "frame_statistics.json").read_text())
    found = by_source(results)
    assert set(found) == set(expected)
    for name, statistics in expected.items():
        assert (found[name]["height"], found[name]["width"]) == tuple(statistics["shape"])
        for key in ("min", "max", "mean", "median", "p95"):
            quantity = found[name]["statistics"][key]
            assert quantity["unit"] == "degC"
            assert quantity["value"] == pytest.approx(statistics[key], abs=5.1e-5), (name, key)


def test_castle_centres_agree_with_the_printed_values(published, measurements):
    # printed_values.csv: read by eye from the camera at that moment; scatter of centre minus printed: sd 0.21 K, largest 1.2 K
    results, _ = published("castle-wall", CASTLE, ["1*_raw16.tiff", "10-50-42-994_visible.jpg"], "castle-wall")
    found = by_source(results)
    rows = list(csv.DictReader((measurements("castle-wall") / "printed_values.csv").open()))
    assert rows
    gaps = []
    for row in rows:
        statistics = found[f"{row['frame']}_raw16.tiff"]["statistics"]
        # taking out the stripes of the detector moves a mean of 10 x 10 pixels by hundredths of a kelvin at most
        raw_centre = float(row["tiff_centre10x10_mean_raw"]) / 40 - 100
        assert statistics["centre"]["value"] == pytest.approx(raw_centre, abs=0.02)
        assert statistics["min"]["value"] == pytest.approx(int(row["tiff_min_raw"]) / 40 - 100, abs=0.15)
        gaps.append(statistics["centre"]["value"] - float(row["printed_centre_C"]))
    assert max(abs(gap) for gap in gaps) < 1.2
    assert abs(sum(gaps) / len(gaps)) < 0.5
    assert found["10-50-42-994_raw16.tiff"]["visible"]


def test_leaf_means_to_a_thousandth_kelvin(published, measurements):
    # Page et al. 2018, published per-frame leaf mean (column mean_C_published of expected_means.csv)
    results, _ = published("leaf-transpiration", LEAF, ["L1_*.csv"], "leaf-in-sunlight")
    found = by_source(results)
    for row in csv.DictReader((measurements("leaf-transpiration") / "expected_means.csv").open()):
        record = found[row["file"]]
        assert record["statistics"]["mean"]["value"] == pytest.approx(float(row["mean_C_published"]), abs=1e-3)
        assert record["width"] * record["height"] - record["masked"] == int(row["finite_pixels"])


@pytest.mark.parametrize(
    ("name", "text", "pattern", "slug"),
    [
        ("river-warm-inflow", RIVER, "*.tiff", "river-with-a-warm-inflow"),
        ("aerial-vehicles", VEHICLES, "*.png", "car-park-from-above"),
    ],
)
def test_pictures_without_a_scale_never_get_a_degree(published, name, text, pattern, slug):
    results, folder = published(name, text, [pattern], slug)
    assert results["thermograms"]
    assert {one["status"] for one in results["thermograms"]} == {"unscaled"}
    units = {quantity["unit"] for one in results["thermograms"] for quantity in one["statistics"].values()}
    assert units <= {"count"}
    assert {one["code"] for one in results["not_analysed"]} >= {"unscaled"}
    for path in [*folder.glob("*.csv"), *folder.glob("site/thermograms/*.html"), *folder.glob("site/findings/*.html")]:
        assert not DEGREES.search(_text(path)), path
    document = json.dumps([results["thermograms"], results["findings"], results["estimates"]])
    assert not re.search(r'"unit": "(degC|degF|K)"', document)


class _Words(HTMLParser):
    def __init__(self):
        super().__init__()
        self.parts, self.hidden = [], 0

    def handle_starttag(self, tag, attributes):
        self.hidden += tag in ("script", "style")
        self.parts += [value or "" for name, value in attributes if name in ("alt", "title", "aria-label", "content")]

    def handle_endtag(self, tag):
        self.hidden -= tag in ("script", "style")

    def handle_data(self, data):
        if not self.hidden:
            self.parts.append(data)


def _text(path: Path) -> str:
    text = path.read_text("utf-8")
    if path.suffix != ".html":
        return text
    words = _Words()
    words.feed(text)
    return " ".join(words.parts)
