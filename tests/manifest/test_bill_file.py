"""Bills as CSV files: what is read, and that every fault names its line and what to write."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from heatbrief.errors import UserError
from heatbrief.estimate.change_point import fit_change_point
from heatbrief.manifest.bill_file import CODE, read_bill
from heatbrief.manifest.load import load_manifest
from heatbrief.manifest.nodes import Node, Problems
from heatbrief.registry import load_registry
from hypothesis import given
from hypothesis import strategies as st

MONTHS = [date(2025, month, 1) for month in range(1, 13)] + [date(2026, 1, 1)]
USE = [1310, 1120, 900, 640, 420, 380, 460, 450, 400, 610, 880, 1240]
PLACE = Node("survey.yaml", 9, 20)
SURVEY = """\
format: 1
property: Made-up House
inspect: [envelope]
bill: {{electricity: {entry}}}
thermograms: [{{file: a.tiff, shows: wall}}]
"""


def lines(head="start,end,amount (kWh)", inclusive=True, mark=",", use=USE):
    rows = [
        (first.isoformat(), (after - timedelta(days=int(inclusive))).isoformat(), str(one))
        for first, after, one in zip(MONTHS, MONTHS[1:], use, strict=False)
    ]
    return "\n".join([head, *(mark.join(row) for row in rows)]) + "\n"


def read(tmp_path: Path, text: str | bytes):
    (tmp_path / "bill.csv").write_bytes(text.encode() if isinstance(text, str) else text)
    problems = Problems()
    return read_bill(tmp_path, Path("bill.csv"), PLACE, problems), problems.sorted()


@pytest.mark.parametrize("inclusive", [True, False])
def test_both_ways_of_writing_an_end_give_calendar_months(tmp_path, inclusive):
    bill, problems = read(tmp_path, lines(inclusive=inclusive))
    assert problems == ()
    assert bill.days == (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    assert bill.energy.value == sum(USE) and bill.energy.unit == "kWh/a"


@pytest.mark.parametrize(
    ("unit", "kwh"),
    [
        ("kWh", 1.0),
        ("MWh", 1000.0),
        ("therm", 29.30711),  # 1e5 Btu (international table), NIST SP 811 appendix B: therm (EC) 1.05506e8 J
        ("MJ", 1 / 3.6),
    ],
)
def test_units_of_energy(tmp_path, unit, kwh):
    bill, _ = read(tmp_path, lines(f"start,end,amount ({unit})"))
    assert bill.energy.value == pytest.approx(sum(USE) * kwh, rel=1e-4)


@pytest.mark.parametrize(("unit", "m3"), [("m3", 1.0), ("L", 1e-3), ("gallon", 3.785411784e-3), ("CCF", 2.8316846592)])
def test_units_of_volume(tmp_path, unit, m3):
    """NIST SP 811: gallon (U.S.) 3.785412e-3 m3, cubic foot 2.831685e-2 m3."""
    bill, _ = read(tmp_path, lines(f"start,end,amount ({unit})"))
    assert bill.months == () and bill.volume.unit == "m3" and bill.volume.value == pytest.approx(sum(USE) * m3)


def test_a_year_and_a_half_is_brought_to_a_year(tmp_path):
    rows = ["period start;period end;Amount [kWh];account"]
    start = date(2024, 1, 1)
    for _ in range(18):
        rows.append(f"{start};{start + timedelta(days=29)};30,5;x")
        start += timedelta(days=30)
    bill, problems = read(tmp_path, "\ufeff" + "\r\n".join(rows))
    assert problems == () and bill.energy.value == pytest.approx(30.5 / 30 * 365)


def test_temperatures_reach_the_fit(tmp_path):
    """The balance temperature comes back from an exact three-parameter bill; in degF and in degC alike."""
    celsius = np.array([1, 3, 6, 10, 14, 19, 23, 22, 17, 11, 6, 2], float)
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31], float)
    use = days * (8.0 + 2.0 * np.maximum(15.0 - celsius, 0.0))
    for head, shown in (("degC", celsius), ("degF", celsius * 1.8 + 32)):
        text = lines(f"start,end,amount (kWh),temperature ({head})", use=use.tolist()).splitlines()
        body = [f"{row},{one}" for row, one in zip(text[1:], shown, strict=True)]
        bill, problems = read(tmp_path, "\n".join([text[0], *body]))
        assert problems == ()
        fit = fit_change_point(
            [one.value for one in bill.temperatures], [one.value for one in bill.months], bill.period_days, "heating"
        )
        assert fit.balance.value == pytest.approx(15.0, abs=0.2)


def spoilt(number: int, text: str) -> str:
    rows = lines().splitlines()
    rows[number - 1] = text
    return "\n".join(rows)


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        (b"", 1, "empty"),
        (lines("start,end,amount"), 1, "names no unit"),
        (lines("start,end,amount (m2)"), 1, "no unit of energy"),
        (lines("start,end,amount (\x1b[31m)"), 1, "no column for amount"),
        (lines("start,end,cost (USD)"), 1, "no column for amount"),
        (lines("start,start,amount (kWh)"), 1, "two columns"),
        (lines("start,end,amount (kWh),temperature (kg)"), 1, "no unit of temperature"),
        (spoilt(4, "2025-03-01,2025-03-31"), 4, "has no amount"),
        (spoilt(4, "2025-13-01,2025-03-31,1"), 4, "no date"),
        (spoilt(4, "01/03/2025,2025-03-31,1"), 4, "no date"),
        (spoilt(4, "0001-03-01,2025-03-31,1"), 4, "no date"),
        (spoilt(4, "2025-03-31,2025-03-01,1"), 4, "before it starts"),
        (spoilt(4, "2025-03-01,2025-03-31,-4"), 4, "negative"),
        (spoilt(4, "2025-03-01,2025-03-31,nan"), 4, "no number"),
        (spoilt(4, "2025-03-01,2025-03-31,1e999"), 4, "no number"),
        (spoilt(4, "2025-03-01,2025-03-31,=1+1"), 4, "no number"),
        (spoilt(4, "2025-03-01,2025-03-31,1_0"), 4, "no number"),
        (spoilt(4, '2025-03-01,2025-03-31,"9'), 13, "not CSV"),
        (spoilt(4, "2025-02-10,2025-03-31,9"), 4, "overlaps"),
        (lines(use=USE[:5]), 6, "no year"),
        (lines(use=[0] * 12), 13, "every amount is 0"),
        ("start,end,amount (kWh)\n", 1, "no periods"),
        ("start,end,amount (kWh)\n" + "2025-01-01,2025-01-01,1\n" * 1001, 1002, "more than 1000"),
        ("start,end,amount (kWh)\n2020-01-01,2025-01-01,1\n", 2, "1828 days"),
    ],
)
def test_faults_name_line_cause_and_remedy(tmp_path, text, line, says):
    bill, problems = read(tmp_path, text)
    assert bill is None
    assert [one.code for one in problems] == [CODE] * len(problems)
    (one,) = [each for each in problems if says in each.message]
    assert one.where.endswith(f"bill.csv:{line}:1") and one.remedy
    assert "\x1b" not in str(one)


@pytest.mark.parametrize("data", [b"\xff\xfe\x00s", b"start,end\x00", b"a," * 600_000])
def test_files_that_are_no_text_are_refused_where_they_are_named(tmp_path, data):
    bill, (one,) = read(tmp_path, data)
    assert bill is None and one.code == CODE and one.where == "survey.yaml:9:20" and one.remedy


@given(
    st.one_of(
        st.binary(max_size=300), st.text(max_size=300).map(lambda text: f"start,end,amount (kWh)\n{text}".encode())
    )
)
def test_anything_is_read_or_refused(tmp_path_factory, data):
    folder = tmp_path_factory.getbasetemp() / "any-bill"
    folder.mkdir(exist_ok=True)
    bill, problems = read(folder, data)
    assert (bill is None) == bool(problems)


@pytest.mark.parametrize(
    ("entry", "code"),
    [
        ("{file: ../bill.csv}", "path-outside"),
        ("{file: /etc/passwd}", "path-outside"),
        ("{file: gone.csv}", CODE),
        ("{file: .}", CODE),
        ("{file: bill.csv, year: 900 kWh}", "bad-settings"),
    ],
)
def test_the_manifest_says_where(survey, entry, code):
    folder = survey(SURVEY.format(entry=entry), {"bill.csv": lines().encode()})
    with pytest.raises(UserError) as caught:
        load_manifest(folder / "survey.yaml", load_registry())
    found = [one for one in caught.value.problems if one.code == code]
    assert found and "survey.yaml:4:" in found[0].where


def test_a_link_out_of_the_folder_is_refused(survey, tmp_path):
    folder = survey(SURVEY.format(entry="{file: bill.csv}"), {})
    (tmp_path / "elsewhere.csv").write_text(lines())
    (folder / "bill.csv").symlink_to(tmp_path / "elsewhere.csv")
    with pytest.raises(UserError) as caught:
        load_manifest(folder / "survey.yaml", load_registry())
    assert {one.code for one in caught.value.problems} == {"path-outside"}


def test_the_manifest_takes_the_periods(survey):
    folder = survey(SURVEY.format(entry="{file: bills/power.csv}"), {"bills/power.csv": lines().encode()})
    bill = load_manifest(folder / "survey.yaml", load_registry()).bill["electricity"]
    assert bill.file is None and bill.energy.value == sum(USE)
