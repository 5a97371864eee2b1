"""Temperature histories are kept whole, and what is wrong with a file is counted or refused."""

import datetime as dt

import duckdb
import numpy as np
import pytest

from takeup.errors import BadFile, TakeupError
from takeup.register import series

LINES = {"low_from": 478.15, "low_to": 423.15, "high": 753.15}


def csv_file(tmp_path, text, name="t.csv"):
    """Write a text file."""
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_plain_history_is_kept_and_summed_by_day(tmp_path):
    """Hourly values: median, extremes and the time outside the action lines of each day."""
    rows = [
        f"2026-01-{day:02d} {hour:02d}:00+00:00,{300 if day == 1 else 190}"
        for day in (1, 2)
        for hour in range(24)
    ]
    report = series.keep(csv_file(tmp_path, "time,value\n" + "\n".join(rows)), tmp_path, unit="C")
    daily = series.daily(tmp_path / report.file, "T", **LINES)

    assert (report.rows, report.bad, report.repeated, report.unsorted) == (48, 0, 0, False)
    assert daily.day.tolist() == [20454.0, 20455.0]
    assert daily.median == pytest.approx([573.15, 463.15], abs=0.01)
    assert daily.below == pytest.approx([0.0, 86400.0])
    assert daily.wet.tolist() == [0.0, 0.0]


def test_units_bad_quality_repeats_and_disorder_are_counted(tmp_path):
    """Bad rows are flagged, never averaged; the first of repeated stamps is kept."""
    text = (
        "Timestamp;PV;Quality\n"
        "2026-01-01 02:00;400,0;good\n"
        "2026-01-01 00:00;380,0;good\n"
        "2026-01-01 01:00;5000;good\n"
        "2026-01-01 01:00;390;good\n"
        "2026-01-01 03:00;401;bad\n"
        "2026-01-01 04:00;;good\n"
        "yesterday;401;good\n"
    )
    report = series.keep(csv_file(tmp_path, text), tmp_path, unit="F", time_zone="UTC")
    daily = series.daily(tmp_path / report.file, "T", **LINES)

    assert (report.rows, report.bad, report.unread, report.repeated) == (5, 3, 1, 1)
    assert report.unsorted
    assert daily.low[0] == pytest.approx((380 + 459.67) * 5 / 9, abs=0.01)
    assert daily.high[0] == pytest.approx((400 + 459.67) * 5 / 9, abs=0.01)


def test_a_gap_counts_for_nothing(tmp_path):
    """A reading holds at most three usual intervals: silence is not a temperature."""
    rows = [f"2026-01-01T{hour:02d}:00Z,150" for hour in (0, 1, 2, 3)] + ["2026-01-09T00:00Z,150"]
    report = series.keep(csv_file(tmp_path, "time,value\n" + "\n".join(rows)), tmp_path, unit="C")
    daily = series.daily(tmp_path / report.file, "T", **LINES)

    assert report.gaps == 1
    assert daily.good.tolist() == [3 * 3600 + 3 * 3600.0, 3600.0]


def test_daylight_saving_is_read_in_the_named_zone(tmp_path):
    """The hour that comes twice and the hour that is missing shift nothing else."""
    text = "time,value\n2026-03-29 01:00,300\n2026-03-29 03:00,301\n2026-03-29 04:00,302\n"
    report = series.keep(csv_file(tmp_path, text), tmp_path, unit="C", time_zone="Europe/Berlin")

    assert report.first.startswith("2026-03-29 00:00")
    assert report.median_interval == 3600.0


@pytest.mark.parametrize(
    ("text", "more", "said"),
    [
        ("time,value\n2026-01-01 00:00,300\n", {}, "carry no offset"),
        ("time,value\n01/02/2026 00:00,300\n", {"time_zone": "UTC"}, "cannot be told apart"),
        ("time,value\n", {"time_zone": "UTC"}, "no rows"),
        ("time,value\nx,300\n", {"time_zone": "UTC"}, "no time"),
        ("time,value\n2026-01-01,warm\n", {"time_zone": "UTC"}, "no numbers"),
        ("a,b,c\n1,2,3\n", {"time_zone": "UTC"}, "cannot be told"),
        ("only\n1\n", {"time_zone": "UTC"}, "one column"),
        ("time,value\n2026-01-01 00:00,300\n", {"time_zone": "Mars/Base"}, "not known"),
        ("time,value\n2026-01-01 00:00,300\n", {"unit": "R"}, "use C, F or K"),
        ("time,value\n2026-01-01 00:00,300\n", {"value_column": "pressure"}, "no column"),
    ],
)
def test_files_that_cannot_be_trusted_are_refused_in_words(tmp_path, text, more, said):
    """Each refusal says what is wrong and what would be right; nothing is left behind."""
    with pytest.raises(TakeupError, match=said):
        series.keep(csv_file(tmp_path, text), tmp_path / "kept", **({"unit": "C"} | more))
    assert list((tmp_path / "kept").glob("*.parquet")) == []


def test_hour_only_offsets_are_offsets(tmp_path):
    """+05 moves the time by five hours, with or without a blank before it, as does +05:30."""
    text = (
        "time,value\n2026-01-01 05:00+05,300\n2026-01-01T06:30:00 +05:30,301\n"
        "2026-01-01 02:00:00.0z,302\n2026-01-01 03:00 UTC,303\n2026-01-01 00:00:00-0400,304\n"
    )
    report = series.keep(csv_file(tmp_path, text), tmp_path, unit="C", time_zone="Europe/Berlin")

    assert (report.rows, report.unread, report.median_interval) == (5, 0, 3600.0)
    assert (report.first[:16], report.last[:16]) == ("2026-01-01 00:00", "2026-01-01 04:00")


def test_a_date_alone_has_no_offset(tmp_path):
    """The -05 that ends 2026-01-05 is a day, not five hours west."""
    text = "time,value\n2026-01-05,300\n2026-01-06,301\n"
    report = series.keep(csv_file(tmp_path, text), tmp_path, unit="C", time_zone="UTC")
    assert report.first.startswith("2026-01-05 00:00")


@pytest.mark.parametrize("late", ["2026-03-01 00:00", "2026-03-01"])
def test_an_offset_missing_far_down_is_found(tmp_path, late):
    """Every row is judged: one bare time after two thousand with an offset is refused."""
    start = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
    rows = [f"{(start + dt.timedelta(minutes=m)).isoformat()},300" for m in range(2000)]
    path = csv_file(tmp_path, "time,value\n" + "\n".join([*rows, f"{late},300"]))

    with pytest.raises(
        BadFile, match=r"some times have an offset \(2000 rows\) and some have none"
    ):
        series.keep(path, tmp_path / "kept", unit="C", time_zone="UTC")


def test_a_slashed_date_far_down_is_found(tmp_path):
    """Every row is judged for days that could be months, too."""
    rows = [f"2026-01-01 {m // 60:02d}:{m % 60:02d},300" for m in range(1200)]
    path = csv_file(tmp_path, "time,value\n" + "\n".join([*rows, "01/02/2026 00:00,300"]))

    with pytest.raises(BadFile, match="cannot be told apart"):
        series.keep(path, tmp_path / "kept", unit="C", time_zone="UTC")


def test_a_zone_in_letters_is_not_read_as_another_zone(tmp_path):
    """A time that says CET is not taken for one in the named zone: it is counted as unread."""
    text = "time,value\n2026-01-01 00:00,300\n2026-01-01 01:00 CET,301\n"
    report = series.keep(csv_file(tmp_path, text), tmp_path, unit="C", time_zone="UTC")

    assert (report.rows, report.unread) == (1, 1)


def celsius(tmp_path, report):
    """Kept readings, °C."""
    rows = duckdb.sql(f"SELECT k FROM '{tmp_path / report.file}' ORDER BY us").fetchall()
    return [round(row[0] - 273.15, 2) for row in rows]


def history(values, mark=";"):
    """A CSV of hourly values."""
    rows = (f'2026-01-01 {hour:02d}:00{mark}"{value}"' for hour, value in enumerate(values))
    return f"time{mark}value\n" + "\n".join(rows)


@pytest.mark.parametrize(
    ("values", "mark", "read", "note"),
    [
        (["400,5", "1020,25", "380"], ";", [400.5, 1020.25, 380.0], "decimal mark"),
        (["1,020.5", "998.5", "1,001.0"], ",", [1020.5, 998.5, 1001.0], "part thousands"),
        (["1,020", "998.5", "400"], ";", [1020.0, 998.5, 400.0], "part thousands"),
        (["400.125", "399.250"], ";", [400.12, 399.25], ""),
        (["400,125", "1001,250"], ";", [400.12, 1001.25], "decimal mark"),
    ],
)
def test_the_decimal_mark_is_settled_for_the_whole_file(tmp_path, values, mark, read, note):
    """1,020 is a thousand and twenty where points are decimal, and the report says how it read."""
    path = csv_file(tmp_path, history(values, mark))
    report = series.keep(path, tmp_path, unit="C", time_zone="UTC")

    assert celsius(tmp_path, report) == pytest.approx(read, abs=0.011)
    assert report.bad == 0
    assert note in "; ".join(report.notes)


@pytest.mark.parametrize(
    ("values", "mark", "said"),
    [
        (["1,234", "1,235"], ";", "'1,234'.*may mean 1.234 or 1234"),
        (["400", "1,234"], ",", "may mean"),
        (["400,5", "380.5"], ";", "decimal mark cannot be told"),
        (["1.234,5", "998,5"], ";", "decimal mark cannot be told"),
        (["400,5", "380"], ",", "commas also part the columns"),
    ],
)
def test_a_decimal_mark_that_cannot_be_told_is_refused(tmp_path, values, mark, said):
    """A factor of a thousand is never guessed."""
    with pytest.raises(BadFile, match=said):
        series.keep(
            csv_file(tmp_path, history(values, mark)), tmp_path / "k", unit="C", time_zone="UTC"
        )


def test_parquet_is_read_and_a_truncated_one_is_named(tmp_path):
    """A Parquet with aware times reads; cut short it is refused as such."""
    path = tmp_path / "t.parquet"
    duckdb.sql(
        "SELECT TIMESTAMPTZ '2026-01-01 00:00+00' + INTERVAL (i) HOUR AS time, 300.0 + i AS value "
        "FROM range(48) r(i)"
    ).write_parquet(str(path))
    report = series.keep(path, tmp_path / "kept", unit="C")
    assert report.rows == 48

    path.write_bytes(path.read_bytes()[:-200])
    with pytest.raises(BadFile, match="cut short"):
        series.keep(path, tmp_path / "kept", unit="C")


def test_arrays_are_kept_like_files_and_content_names_the_file(tmp_path):
    """The same history twice is one file."""
    seconds = np.arange(0, 86400 * 3, 3600.0)
    values = np.full(seconds.size, 500.0)
    good = np.ones(seconds.size)
    one = series.keep_arrays(tmp_path, seconds, values, good)

    assert one == series.keep_arrays(tmp_path, seconds, values, good)
    first, last, rows, bad = series.span(tmp_path / one)
    assert (first, last, rows, bad) == (0.0, seconds[-1], 72, 0)


def test_a_missing_or_damaged_kept_file_is_said_so(tmp_path):
    """The file beside the store may be lost or damaged; the message names the instrument."""
    with pytest.raises(BadFile, match="history of T"):
        series.daily(tmp_path / "none.parquet", "T", **LINES)
    (tmp_path / "x.parquet").write_bytes(b"PAR1 rubbish")
    with pytest.raises(BadFile, match="history of T"):
        series.daily(tmp_path / "x.parquet", "T", **LINES)


def test_times_are_dates_of_the_right_day(tmp_path):
    """A day number is whole days from 1970 in UTC."""
    assert dt.date(1970, 1, 1) + dt.timedelta(days=20454) == dt.date(2026, 1, 1)
