"""What lasts comes back as it was, and what is damaged is noticed."""

from __future__ import annotations

import csv
import dataclasses
import io
import json

import numpy as np
import pytest
from heatbrief.errors import UserError
from heatbrief.model import ErrorSource, PixelScale, Quantity, Thermogram
from heatbrief.model.results import FORMAT, PropertyInfo, ResultsDocument, RunInfo, SurveyInfo, ThermogramRecord
from heatbrief.store import cache as cache_module
from heatbrief.store.arrays import CELSIUS, keep_thermogram, load_thermogram, publish_array
from heatbrief.store.cache import Cache, CachedJob
from heatbrief.store.codec import to_json, to_model
from heatbrief.store.files import ObjectStore, write_atomic
from heatbrief.store.keys import Key, digest_of, plain
from heatbrief.store.results import read_results, record_text, results_text, table, write_results
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as stnp

EMPTY = ResultsDocument(
    FORMAT, PropertyInfo("House", "house"), SurveyInfo("survey.yaml"), {}, (), (), (), (), (), (), (), RunInfo("0")
)


def thermogram(values: np.ndarray, **changes) -> Thermogram:
    source = ErrorSource("noise", "", 0.05, "K", (280.0, 300.0), (1.0, 1.01))
    known = {
        "id": "a",
        "values": values,
        "scale": "temperature",
        "zones": np.zeros(values.shape, np.uint8),
        "errors": ((source,),),
        "emissivity": (0.93,),
        "absolute": (True,),
        "pixel": PixelScale(0.01, 0.01, 0.05, "given"),
        "facts": {"bad_pixels": 3},
    }
    return Thermogram(**{**known, **changes})


def test_a_thermogram_comes_back_exactly(tmp_path):
    store, before = ObjectStore(tmp_path), thermogram(np.float32([[290.123, np.nan], [300.0, 295.5]]))
    after = load_thermogram(store, json.loads(json.dumps(keep_thermogram(store, before))))
    for one in dataclasses.fields(Thermogram):
        old, new = getattr(before, one.name), getattr(after, one.name)
        if isinstance(old, np.ndarray):
            assert old.dtype == new.dtype
            np.testing.assert_array_equal(old, new)
        else:
            assert old == new


def test_equal_arrays_are_kept_once(tmp_path):
    store = ObjectStore(tmp_path)
    for _ in range(2):
        keep_thermogram(store, thermogram(np.full((4, 4), 300.0)))
    assert len(store.names()) == 2


@given(stnp.arrays(np.float64, (5, 7), elements=st.floats(200, 900)))
def test_a_published_picture_holds_the_values_to_half_a_step(tmp_path_factory, values):
    from PIL import Image

    store = ObjectStore(tmp_path_factory.mktemp("objects"))
    values[0, 0] = np.nan
    array = publish_array(store, thermogram(values, zones=None))
    counts = np.asarray(Image.open(store.path(array.object))).astype(float)
    assert array.unit == "degC"
    assert counts[0, 0] == 0
    back = array.low + array.step * (counts - 1) + CELSIUS
    np.testing.assert_allclose(back[1:], values[1:], atol=array.step * 0.5001)


def test_bare_surfaces_are_published_without_their_temperatures(tmp_path):
    from PIL import Image

    values, zones = np.full((6, 8), 295.15), np.zeros((6, 8), np.uint8)
    values[1:3, 2:5], values[4, 2:5], zones[1:5, 2:5] = 330.0, 350.0, 1
    values[5, 2], values[0, 0] = 300.15, np.nan
    bare = Thermogram("", values, "temperature", zones, errors=((), ()), emissivity=(0.95, 0.3), absolute=(True, False))
    values[3, 2:5] = np.nan
    store = ObjectStore(tmp_path)
    array = publish_array(store, bare)
    counts = np.asarray(Image.open(store.path(array.object))).astype(float)
    back = array.low + array.step * (counts - 1)
    assert array.withheld == ((10, 3), (18, 3), (34, 3))
    np.testing.assert_allclose(back[[1, 2], 2:5], 22.0, atol=array.step)  # the lowest of the others
    np.testing.assert_allclose(back[4, 2:5] - back[1, 2:5], 20.0, atol=array.step)
    assert back[5, 2] == pytest.approx(27.0, abs=array.step) and counts[0, 0] == 0 == counts[3, 3]
    whole = publish_array(store, dataclasses.replace(bare, absolute=(False, False)))
    assert whole.low == 0.0 and sum(length for _, length in whole.withheld) == np.isfinite(values).sum()


def test_a_wholly_masked_picture_has_nothing_to_publish(tmp_path):
    assert publish_array(ObjectStore(tmp_path), thermogram(np.full((3, 3), np.nan))) is None


@pytest.mark.parametrize("name", ["../secret.png", "a/b.png", "..", ".hidden", "a\\b.png"])
def test_object_names_cannot_point_outside(tmp_path, name):
    with pytest.raises(UserError):
        ObjectStore(tmp_path).path(name)


def test_reasons_name_the_parts_that_differ():
    key = Key({"input": "1", "settings": "2"})
    assert key.reasons(None) == ("new",)
    assert key.reasons({"input": "1", "settings": "2"}) == ()
    assert key.reasons({"input": "0", "settings": "2", "regions": "3"}) == ("input", "regions")


def test_digests_tell_values_apart_and_ignore_order():
    assert digest_of({"a": 1, "b": (1, 2)}) == digest_of({"b": [1, 2], "a": 1})
    assert digest_of({"a": 1}) != digest_of({"a": "1"})
    assert digest_of(Quantity.exact(1, "K")) != digest_of(Quantity.exact(1, "degC"))


def test_the_cache_remembers_forgets_and_survives_damage(tmp_path):
    cache = Cache(tmp_path / "cache.sqlite")
    assert cache.jobs() == {}
    cache.remember([CachedJob("a/ingest", {"input": "1"}, "{}\n"), CachedJob("b/ingest", {"input": "2"}, "{}\n")])
    cache.forget(["a/ingest"])
    assert Cache(tmp_path / "cache.sqlite").jobs() == {"b/ingest": CachedJob("b/ingest", {"input": "2"}, "{}\n")}
    cache.path.write_bytes(b"damaged")
    assert cache.jobs() == {}
    cache.remember([CachedJob("c/ingest", {}, "{}\n")])
    assert set(cache.jobs()) == {"c/ingest"}


def test_digests_of_files_are_read_again_when_they_change(tmp_path):
    cache, file = Cache(tmp_path / "cache.sqlite"), tmp_path / "a.bin"
    file.write_bytes(b"one")
    first = cache.digests([file, tmp_path / "missing"])
    cache.remember_digests()
    assert set(first) == {file}
    assert cache.digests([file]) == first
    file.write_bytes(b"two")
    assert cache.digests([file]) != first


def test_reading_the_cache_changes_no_byte(tmp_path):
    cache = Cache(tmp_path / "cache.sqlite")
    cache.remember([CachedJob("a", {}, "{}\n")])
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    cache.jobs()
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_results_come_back_and_an_unchanged_document_is_not_written_again(tmp_path):
    assert write_results(EMPTY, tmp_path) == (True, EMPTY)
    assert write_results(EMPTY, tmp_path) == (False, EMPTY)
    assert read_results(tmp_path) == EMPTY
    assert results_text(read_results(tmp_path / "results.json")) == results_text(EMPTY)


def test_lines_of_records_stand_for_the_records(tmp_path):
    """A run that joins the lines it remembers writes, and goes on with, what a run from nothing does."""
    numbers = {"mean": Quantity.normal(20 / 3, "degC", 1 / 7), "max": Quantity.exact(3, "degC")}
    records = [ThermogramRecord(one, f"{one}.tiff", "0", 4, 3, "analysed", statistics=numbers) for one in ("a", "b")]
    cold = dataclasses.replace(EMPTY, thermograms=tuple(records))
    lines = {one.id: record_text(one) for one in records[:1]}
    first = to_model(json.loads(lines["a"]), ThermogramRecord)
    again = dataclasses.replace(EMPTY, thermograms=(first, records[1]))
    _, gone_on = write_results(again, tmp_path / "again", lines)
    assert write_results(cold, tmp_path / "cold") == (True, gone_on)
    assert (tmp_path / "again" / "results.json").read_bytes() == (tmp_path / "cold" / "results.json").read_bytes()
    assert read_results(tmp_path / "again") == gone_on
    assert (tmp_path / "cold" / "results.json").read_text() == results_text(cold)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "results-damaged"),
        ("[]", "results-damaged"),
        ('{"format": 99}', "results-too-new"),
        ('{"format": 1}', "results-damaged"),
        ('{"format": "1"}', "results-damaged"),
        ("{" * 100000, "results-damaged"),
    ],
)
def test_what_is_no_results_document_is_refused(tmp_path, text, code):
    (tmp_path / "results.json").write_text(text)
    with pytest.raises(UserError) as caught:
        read_results(tmp_path)
    assert [problem.code for problem in caught.value.problems] == [code]


def test_a_number_that_is_not_finite_never_reaches_the_results():
    broken = dataclasses.replace(EMPTY, conditions={"wind": dataclasses.replace(EMPTY.property, name=float("nan"))})
    with pytest.raises(ValueError, match="JSON compliant"):
        results_text(broken)


@given(st.text(st.characters(codec="utf-8", exclude_characters="\r\n\0"), min_size=1, max_size=20))
def test_a_spreadsheet_never_runs_a_cell(text):
    data = table(("a",), [(text,), (-1.5,)]).decode()
    rows = list(csv.reader(io.StringIO(data)))
    assert rows[1][0].lstrip("'") == text.lstrip("'") or rows[1][0] == text
    assert rows[1][0][0] not in "=+-@\t"
    assert rows[2] == ["-1.5"]


def test_a_file_that_cannot_be_written_leaves_the_old_one(tmp_path):
    folder = tmp_path / "folder"
    folder.mkdir()
    with pytest.raises(UserError) as caught:
        write_atomic(folder, b"data")
    assert caught.value.problems[0].code == "cannot-write"
    assert folder.is_dir() and list(tmp_path.iterdir()) == [folder]


def test_a_file_that_is_written_again_within_one_tick_is_noticed(tmp_path, monkeypatch):
    cache, file = Cache(tmp_path / "cache.sqlite"), tmp_path / "a.bin"
    real, mark = cache_module.mark_of, (3, 1_000_000_000_000_000_000, 7)  # what a coarse clock says of both contents
    monkeypatch.setattr(cache_module, "mark_of", lambda path: mark if real(path) else None)
    monkeypatch.setattr(cache_module.time, "time_ns", lambda: mark[1] + 1_000_000_000)
    file.write_bytes(b"one")
    first = cache.digests([file])
    cache.remember_digests()
    file.write_bytes(b"two")
    assert cache.digests([file]) != first
    cache.remember_digests()
    monkeypatch.setattr(cache_module.time, "time_ns", lambda: mark[1] + 10_000_000_000)
    settled = cache.digests([file])
    cache.remember_digests()
    monkeypatch.setattr(cache_module, "sha256_of", lambda path: "read again")
    assert cache.digests([file]) == settled  # long after the change its digest is trusted
    monkeypatch.setattr(
        cache_module, "mark_of", lambda path: (3, mark[1] - 3600 * 10**9, 7)
    )  # a clock that was set back
    assert cache.digests([file]) == {file: "read again"}


def test_an_object_of_another_size_than_said_is_never_decoded(tmp_path, monkeypatch):
    from heatbrief.store.arrays import stored_values
    from PIL import Image, ImageFile

    store = ObjectStore(tmp_path)
    array = publish_array(store, thermogram(np.full((4, 6), 300.0)))
    assert stored_values(array, tmp_path).shape == (4, 6)
    Image.new("I;16", (5000, 5000)).save(tmp_path / array.object, "PNG")
    monkeypatch.setattr(ImageFile.ImageFile, "load", lambda self: pytest.fail("it was decoded"))
    assert stored_values(array, tmp_path) is None


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (("property", "name"), 7),
        (("property", "invented"), "yes"),
        (("format",), True),
        (("survey", "inspected"), "envelope"),
        (("conditions", "wind"), {"value": 1e300, "unit": "m/s", "low": 0, "high": 1e301, "coverage": 1, "method": ""}),
        (("conditions", "wind"), {"value": 2, "unit": "m/s", "low": 3, "high": 4, "coverage": 1, "method": ""}),
        (("conditions", "wind"), "\ud800"),
        (("more",), 1),
    ],
)
def test_a_document_whose_values_have_other_types_is_refused(tmp_path, place, value):
    raw = json.loads(results_text(EMPTY))
    holder = raw
    for name in place[:-1]:
        holder = holder[name]
    holder[place[-1]] = value
    (tmp_path / "results.json").write_text(json.dumps(raw))
    with pytest.raises(UserError) as caught:
        read_results(tmp_path)
    assert [problem.code for problem in caught.value.problems] == ["results-damaged"]


def test_exact_json_is_that_of_plain_data():
    """Encoding model classes at once gives the bytes of turning them into plain data first."""
    value = {
        "one": Quantity.exact(1.5, "K"),
        "many": (ErrorSource("noise", "", 0.05, "K", (293.0,), (1.0,)), {"b", "a"}),
    }
    for one in (value, {**value, "numbers": {2: "two", 10: "ten"}}, {"mixed": {1: 0, "1a": 0}}):
        assert json.loads(to_json(one)) == json.loads(json.dumps(plain(one)))
    assert to_json(value) == json.dumps(plain(value), sort_keys=True, separators=(",", ":")) + "\n"
    with pytest.raises(ValueError):
        to_json({"one": Quantity.exact(float("nan"), "K")})


def test_an_object_that_cannot_be_written_leaves_nothing(tmp_path, monkeypatch):
    store = ObjectStore(tmp_path / "new" / "objects")
    assert store.path(store.put(b"one", ".bin")).read_bytes() == b"one"

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    with pytest.raises(UserError, match="No space left"):
        store.put(b"two", ".bin")
    assert [path.name for path in store.root.iterdir()] == list(store.names()) and len(store.names()) == 1
