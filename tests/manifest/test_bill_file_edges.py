"""Bills as files at the edges of what is taken: days, years, temperatures, marks and numbers of faults."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from heatbrief.manifest import bill_file

from .test_bill_file import PLACE, lines, read, spoilt

HEAD = "start,end,amount (kWh)"


def periods(*days, start=date(2025, 1, 1), amount="10", more=""):
    """Periods of so many days that follow each other, with their last day as the end."""
    rows = [HEAD + (",temperature (degC)" if more else "")]
    for one in days:
        rows.append(f"{start},{start + timedelta(days=one - 1)},{amount}{more}")
        start += timedelta(days=one)
    return "\n".join(rows) + "\n"


def faults(tmp_path, text):
    return [(int(one.where.split(":")[-2]), one.message) for one in read(tmp_path, text)[1]]


@pytest.mark.parametrize(
    ("days", "says"),
    [
        ([330], None),
        ([329], "329 days, which is no year"),
        ([366], None),
        ([367], "the period has 367 days"),
        ([1] * 330, None),
        ([365, 365], None),
    ],
)
def test_a_period_has_1_to_366_days_and_a_year_330(tmp_path, days, says):
    found = faults(tmp_path, periods(*days))
    assert (says in found[0][1]) if says else found == []


def test_periods_in_any_order_are_put_in_theirs(tmp_path):
    head, *rows = lines().splitlines()
    bill, problems = read(tmp_path, "\n".join([head, *reversed(rows)]))
    assert problems == () and bill == read(tmp_path, lines())[0]
    assert [one.value for one in bill.months][:2] == [1310.0, 1120.0]


def test_a_reading_and_the_day_before_it_are_not_mixed(tmp_path):
    """Where one period starts on the day another ends, ends are readings: a day of its own is then no period."""
    text = periods(180, 180) + f"{date(2025, 12, 27)},{date(2025, 12, 27)},1\n"
    assert faults(tmp_path, text) == []
    mixed = f"{HEAD}\n2025-01-01,2025-07-01,9\n2025-07-01,2025-12-31,9\n2026-01-05,2026-01-05,9\n"
    assert faults(tmp_path, mixed) == [(4, "the period has 0 days")]
    twice = f"{HEAD}\n2025-01-01,2025-12-31,9\n2025-01-01,2025-12-31,9\n"
    assert faults(tmp_path, twice)[0][0] == 3 and "overlaps" in faults(tmp_path, twice)[0][1]
    gap = f"{HEAD}\n2025-01-01,2025-05-31,9\n2025-07-01,2025-12-31,9\n"
    assert read(tmp_path, gap)[0].days == (151.0, 184.0)


@pytest.mark.parametrize(("year", "fine"), [(1949, False), (1950, True), (2198, True), (2199, True), (2200, False)])
def test_years_of_bills(tmp_path, year, fine):
    text = f"{HEAD}\n{year}-01-01,{year}-12-30,5\n"
    assert (faults(tmp_path, text) == []) is fine


@pytest.mark.parametrize(("degrees", "fine"), [("-60", True), ("-60.1", False), ("60", True), ("60.1", False)])
def test_temperatures_of_periods(tmp_path, degrees, fine):
    found = faults(tmp_path, periods(180, 185, more=f",{degrees}"))
    assert (found == []) is fine and (fine or found[0] == (2, f"the temperature is {float(degrees):.0f} degC"))


@pytest.mark.parametrize(
    ("amount", "value"),
    [
        ("0.5", 0.5),
        ("-0.5", None),
        ("1e3", 1000.0),
        ("0" * 29 + "7", 7.0),
        ("0" * 30 + "7", None),
        ("1 000", None),
        ("inf", None),
    ],
)
def test_amounts(tmp_path, amount, value):
    bill, problems = read(tmp_path, periods(365, amount=amount))
    assert (bill.months[0].value if bill else None) == value and bool(problems) is (value is None)


@pytest.mark.parametrize(
    ("mark", "amount", "value"),
    [(";", "10,5", 10.5), (";", "10.5", 10.5), (";", "1,000.5", None), (";", "1,0,5", None), ("\t", "10,5", 10.5)],
)
def test_a_comma_is_a_decimal_point_where_it_parts_no_columns(tmp_path, mark, amount, value):
    text = f"start{mark}end{mark}amount (kWh)\n2025-01-01{mark}2025-12-31{mark}{amount}\n"
    bill = read(tmp_path, text)[0]
    assert (bill.months[0].value if bill else None) == value


def test_an_amount_of_nothing_is_taken_beside_others(tmp_path):
    bill, problems = read(tmp_path, lines(use=[0] * 11 + [5]))
    assert problems == () and bill.energy.value == 5.0


@pytest.mark.parametrize("count", [19, 20, 25])
def test_twenty_faults_are_told_at_most(tmp_path, count):
    text = HEAD + "\n" + "x,y,z\n" * count
    assert len(faults(tmp_path, text)) == min(count, 20)


def test_a_thousand_periods_are_read(tmp_path):
    assert len(read(tmp_path, periods(*[1] * 1000))[0].months) == 1000
    assert faults(tmp_path, periods(*[1] * 1001)) == [(1002, "there are more than 1000 periods")]


def test_a_file_of_the_most_bytes_is_read(tmp_path, monkeypatch):
    text = lines()
    monkeypatch.setattr(bill_file, "MOST_BYTES", len(text))
    assert read(tmp_path, text)[1] == ()
    assert "more than" in read(tmp_path, text + "\n")[1][0].message


def test_blank_lines_do_not_count_and_lines_keep_their_numbers(tmp_path):
    head, *rows = lines().splitlines()
    text = "\n\n" + head + "\n\n" + ", ,\n" + "\n".join(rows)
    assert faults(tmp_path, text) == []
    assert faults(tmp_path, text.replace("2025-03-01", "2025-03-99"))[0][0] == 8
    assert faults(tmp_path, "\n" * 3)[0] == (1, "the file is empty")


def test_headings_may_be_written_in_several_ways(tmp_path):
    for head in ("Period Start,period end,Amount (kWh)", "START,End,amount [kWh]", "start,end,amount(kWh)"):
        assert read(tmp_path, lines(head))[1] == ()
    for head, missing in (("from,end,amount (kWh)", "start"), ("start,to,x", "end and amount")):
        assert faults(tmp_path, lines(head))[0] == (1, f"there is no column for {missing}")
    assert "names no unit of temperature" in faults(tmp_path, lines("start,end,amount (kWh),temperature"))[0][1]


def test_quoted_cells_may_hold_the_mark(tmp_path):
    head, *rows = lines().splitlines()
    text = "\n".join([f"note,{head}", *(f'"a, b",{row}' for row in rows)])
    assert read(tmp_path, text)[1] == ()
    assert "not CSV" in faults(tmp_path, spoilt(1, '"start,end'))[0][1]


def test_a_file_that_is_not_there_is_told_where_it_is_named(tmp_path):
    from heatbrief.manifest.nodes import Problems

    problems = Problems()
    assert bill_file.read_bill(tmp_path, Path("none.csv"), PLACE, problems) is None
    (one,) = problems.sorted()
    assert one.where == "survey.yaml:9:20" and one.message.startswith("'none.csv' is not there")
