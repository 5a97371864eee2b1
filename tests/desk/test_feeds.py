"""The drop folder: what is new joins the history, what is doubtful is told, asked or refused."""

import datetime as dt

import duckdb
import pytest

from takeup.desk import feeds, record
from takeup.desk.site import create
from takeup.errors import BadFile, Refused
from takeup.evidence.facts import TemperatureSeries
from takeup.register import intake, parts, series
from tests.register.samples import small

START = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)


@pytest.fixture
def site(tmp_path):
    """A site with a day of hourly readings of TI-1 at 300 °C."""
    plant, *others = small()
    with create(tmp_path / "site", plant, author="A. Engineer") as made:
        with made.change("A. Engineer", "first import") as change:
            change.put_many(others)
        first = tmp_path / "first.csv"
        first.write_text("time,value\n" + rows(0, 24))
        record.temperature_file(made, first, tag="TI-1", joint="EJ-1", unit="C", author="A")
        yield made


@pytest.fixture
def drop(tmp_path):
    """An empty drop folder whose files are in °C."""
    folder = tmp_path / "drop"
    folder.mkdir()
    (folder / "readings.toml").write_text('unit = "C"\n')
    return folder


def rows(first, last, value=lambda hour: 300 + hour % 7):
    """Hourly lines from hour ``first`` to before ``last``."""
    return "".join(
        f"{START + dt.timedelta(hours=hour):%Y-%m-%dT%H:%M}Z,{value(hour)}\n"
        for hour in range(first, last)
    )


def take(site, drop, name="TI-1.csv", text="", layout=None):
    """Lay one file and take it."""
    if layout is not None:
        (drop / "readings.toml").write_text(layout)
    (drop / name).write_text(text, encoding="utf-8")
    report = feeds.take(site, drop, "A. Engineer", settle=0)
    return next(one for one in report.files if one.name == name)


def history(site, tag="TI-1"):
    """All readings on record: stamp [us] to kelvin."""
    fact = site.register().get(TemperatureSeries, tag)
    paths = [str(site.series_folder / name) for name in fact.files]
    found = duckdb.execute(f"SELECT us, k FROM read_parquet({paths}) ORDER BY us").fetchall()
    assert len(found) == fact.rows
    return dict(found)


def test_new_readings_join_and_what_is_kept_stays(site, drop):
    """Stamps on record keep their first reading; the rest joins; the file moves to taken."""
    before = history(site)
    text = "time,value\n" + rows(20, 22, lambda h: 999) + rows(22, 30)
    done = take(site, drop, text=text)

    after = history(site)
    tag = done.tags[0]
    assert done.outcome == feeds.Outcome.TAKEN
    assert (tag.joined.new, tag.joined.repeated, tag.joined.differing) == (6, 4, 2)
    assert before.items() <= after.items()
    assert len(after) == 30
    fact = site.register().get(TemperatureSeries, "TI-1")
    assert (fact.first, fact.last) == (START, START + dt.timedelta(hours=29))
    assert (drop / "taken" / "TI-1.csv").exists()
    assert not (drop / "TI-1.csv").exists()
    assert "6 readings taken from TI-1.csv" in site.store.changes()[0].reason


def test_taking_the_same_file_twice_changes_nothing(site, drop):
    """As after a crash between keeping and moving: all stamps are on record already."""
    text = "time,value\n" + rows(24, 40)
    take(site, drop, text=text)
    kept, changes = history(site), len(site.store.changes())
    done = take(site, drop, text=text)

    assert done.tags[0].joined.new == 0
    assert history(site) == kept
    assert len(site.store.changes()) == changes
    assert done.moved == "taken/TI-1-2.csv"


def test_many_small_batches_leave_few_files_and_lose_nothing(tmp_path):
    """Small files are merged as they come: a hundred batches leave a handful of files."""
    connection = series.connect(tmp_path)
    files = ()
    for batch in range(100):
        files = parts.add(
            connection,
            tmp_path,
            files,
            f"SELECT {batch}::BIGINT AS us, 300::FLOAT AS k, TRUE AS ok",
        )
    connection.close()
    first, last, count, bad = series.span(*(tmp_path / name for name in files))
    assert len(files) <= 7
    assert (first, last, count, bad) == (0.0, 99e-6, 100, 0)


def test_a_file_of_many_tags_is_taken_whole_or_not_at_all(site, drop):
    """One unknown tag keeps the sound one beside it out, and the nearest name is offered."""
    lines = [line.replace(",", ",PI.TI-1.PV,") for line in rows(24, 26).splitlines()]
    strange = [line.replace("PI.TI-1.PV", "TI-11") for line in lines]
    layout = 'unit = "C"\n[tags]\n"PI.TI-1.PV" = "TI-1"\n'
    before = history(site)
    text = "time,tag,value\n" + "\n".join(lines + strange)
    done = take(site, drop, "all.csv", text, layout)

    assert done.outcome == feeds.Outcome.REFUSED
    assert "instrument tag 'TI-11' is not known. Did you mean TI-1?" in done.why
    assert history(site) == before
    assert (drop / "refused" / "all.csv.why.txt").read_text().startswith("all.csv: instrument tag")

    done = take(site, drop, "all.csv", "time,tag,value\n" + "\n".join(lines), layout)
    assert done.tags[0].joined.new == 2


@pytest.mark.parametrize(
    ("text", "layout", "said"),
    [
        ("time,value\n" + rows(24, 26), "", "does not say its unit"),
        ("time,value\n2026-01-02 10:00,300\n", 'unit = "C"', "carry no offset"),
        ("time,value\n2099-01-01 10:00Z,300\n", 'unit = "C"', "is the time zone right"),
        ("time,value,unit\n2026-01-03 10:00Z,300,R\n", "", "unit 'R' is not known"),
        ("time,value,unit\n2026-01-03 10:00Z,300,C\n", 'unit = "F"', "leave one of the two"),
        ("time,value\n", 'unit = "C"\ntime_zone = "UTC"', "holds no rows"),
        ("time,value,tag\n2026-01-03 10:00Z,300,\n", 'unit = "C"', "1 rows name no tag"),
    ],
)
def test_a_file_that_cannot_be_trusted_is_refused_with_why(site, drop, text, layout, said):
    """It moves to refused with its reason, and nothing of it is kept."""
    before = history(site)
    done = take(site, drop, text=text, layout=layout)

    assert done.outcome == feeds.Outcome.REFUSED
    assert said in done.why
    assert said in (drop / "refused" / "TI-1.csv.why.txt").read_text()
    assert history(site) == before


def test_a_bellows_at_900_said_to_be_fahrenheit_is_asked_about(site, drop):
    """The file stays where it is until somebody says that the unit is right."""
    text = "time,value\n" + rows(24, 30, lambda h: 572)
    done = take(site, drop, text=text)
    assert done.outcome == feeds.Outcome.ASKED
    assert "as F it would be 300 °C" in done.why
    assert (drop / "TI-1.csv").exists()

    hot = take(site, drop, text="time,value\n" + rows(24, 30, lambda h: 900))
    assert hot.outcome == feeds.Outcome.ASKED
    assert "act on it first" in hot.why

    # 900 in °C that the site takes for °F, once the history itself stands at 900 °C
    sure = 'unit = "C"\nsure = ["ti-1"]\n'
    done = take(site, drop, text="time,value\n" + rows(24, 24 * 60, lambda h: 880), layout=sure)
    assert done.outcome == feeds.Outcome.TAKEN
    done = take(site, drop, text="time,value\n" + rows(1440, 1450, lambda h: 900),
                layout='unit = "F"\n')  # fmt: skip
    assert done.outcome == feeds.Outcome.ASKED
    assert "said to be F: 482 °C" in done.why
    assert "as C it would be 900 °C" in done.why


def test_clock_order_gaps_and_stuck_values_are_counted_with_their_spans(site, drop):
    """Nothing of it is put right in silence."""
    text = (
        "time,value\n" + rows(24, 40) + rows(38, 42, lambda h: 333) + rows(100, 130, lambda h: 305)
    )
    done = take(site, drop, text=text)

    found, joined = done.tags[0].found, done.tags[0].joined
    assert (found.back, found.furthest_back) == (1, 3600.0)
    assert found.back_at == START + dt.timedelta(hours=39)
    assert (found.repeated, found.differing) == (2, 2)
    assert joined.gaps == 1
    assert joined.longest_gaps[0].first == START + dt.timedelta(hours=41)
    assert joined.longest_gaps[0].length == 59 * 3600.0
    assert joined.stuck == 1
    assert joined.longest_stuck[0].length == 29 * 3600.0
    said = " ".join(done.notes)
    assert "the clock steps back 1 times, at most by 60.0 min, after 2026-01-02 15:00 UTC" in said
    assert "a stuck sensor or a frozen value" in said


def test_the_hour_that_occurs_twice_is_settled_by_order_or_set_aside(site, drop):
    """Two passes in order give two hours; one pass cannot be placed; a missing hour is no time."""
    layout = 'unit = "C"\ntime_zone = "Europe/Berlin"\n'
    wall = ["01:30", "02:00", "02:30", "02:00", "02:30", "03:00"]
    text = "time,value\n" + "".join(f"2026-10-25 {at},30{n}\n" for n, at in enumerate(wall))
    done = take(site, drop, text=text, layout=layout)
    autumn = dt.datetime(2026, 10, 24, 23, 30, tzinfo=dt.UTC)
    kept = list(history(site))[24:]
    assert kept == [int((autumn.timestamp() + 1800 * n) * 1e6) for n in range(6)]
    assert done.tags[0].found.settled == 4

    text = "time,value\n2025-10-26 01:30,300\n2025-10-26 02:30,301\n2025-10-26 03:30,302\n"
    done = take(site, drop, text=text, layout=layout)
    assert (done.tags[0].joined.new, done.tags[0].found.twice) == (2, 1)
    assert (
        "between 2025-10-26 02:30 and 2025-10-26 02:30 in an hour that occurs twice"
        in (done.notes[0])
    )

    text = "time,value\n2026-03-29 01:30,300\n2026-03-29 02:30,301\n2026-03-29 03:30,302\n"
    done = take(site, drop, text=text, layout=layout)
    assert (done.tags[0].joined.new, done.tags[0].found.never) == (2, 1)


def test_turns_of_the_clock_are_found_to_the_second():
    """Berlin in 2026: an hour never on 29 March, an hour twice on 25 October."""
    found = intake.turns("Europe/Berlin", dt.datetime(2026, 1, 1), dt.datetime(2026, 12, 31))
    assert found == [
        (dt.datetime(2026, 3, 29, 2), dt.datetime(2026, 3, 29, 3), 3600.0, 7200.0, False),
        (dt.datetime(2026, 10, 25, 2), dt.datetime(2026, 10, 25, 3), 7200.0, 3600.0, True),
    ]
    assert intake.turns("UTC", dt.datetime(2020, 1, 1), dt.datetime(2026, 1, 1)) == []


def test_a_tag_that_vanished_is_named_while_others_run_on(site, drop, tmp_path):
    """TI-2 brings nothing for days."""
    second = tmp_path / "second.csv"
    second.write_text("time,value\n" + rows(0, 24))
    record.temperature_file(site, second, tag="TI-2", joint="EJ-1", unit="C", author="A")
    (drop / "TI-1.csv").write_text("time,value\n" + rows(24, 120))
    report = feeds.take(site, drop, "A", settle=0)

    assert [(one.tag, one.behind) for one in report.vanished] == [("TI-2", 96 * 3600.0)]


def test_a_dead_instrument_brings_bad_readings_not_none(site, drop):
    """Rows without numbers that are said to be bad are kept as bad."""
    text = "time,value,quality\n2026-01-03 10:00Z,,bad\n2026-01-03 11:00Z,,bad\n"
    done = take(site, drop, text=text)
    assert (done.tags[0].joined.new, done.tags[0].joined.bad) == (2, 2)
    assert "2 of 2 new readings are of bad quality" in " ".join(done.notes)


def test_a_file_that_may_still_be_written_waits(site, drop):
    """It is taken once it has rested."""
    (drop / "TI-1.csv").write_text("time,value\n" + rows(24, 30))
    report = feeds.take(site, drop, "A", settle=3600)
    assert report.files[0].outcome == feeds.Outcome.WAITING
    assert (drop / "TI-1.csv").exists()


def test_a_take_needs_a_name_a_folder_and_a_sound_layout(site, drop, tmp_path):
    """Each is said plainly, and files stay where they are."""
    (drop / "TI-1.csv").write_text("time,value\n" + rows(24, 30))
    with pytest.raises(Refused, match="say who takes them"):
        feeds.take(site, drop, " ", settle=0)
    with pytest.raises(BadFile, match="there is no folder"):
        feeds.take(site, tmp_path / "nowhere", "A", settle=0)
    (drop / "readings.toml").write_text('unit = "C"\nzone = "UTC"\n')
    with pytest.raises(BadFile, match=r"unknown field `zone`.*time_zone"):
        feeds.take(site, drop, "A", settle=0)
    assert (drop / "TI-1.csv").exists()


def test_two_takes_at_once_are_refused(site, drop):
    """The second would add to the history as it stood before the first."""
    with feeds._alone(site), pytest.raises(Refused, match="being taken already"):
        feeds.take(site, drop, "A", settle=0)
