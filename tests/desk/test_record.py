"""Record: what names something unknown or cannot be true is refused, and nothing is kept of it."""

import datetime as dt
import io

import msgspec
import pytest
from PIL import Image

from takeup.desk import record
from takeup.desk.site import create
from takeup.errors import BadFile, Contradiction, Refused, TakeupError, UnknownName
from takeup.evidence.facts import (
    InterplyReading,
    InterplyTest,
    Observation,
    Photo,
    TemperatureSeries,
)
from takeup.register.entities import EventKind, LifeEvent
from tests.register.samples import small

DAY = dt.date(2026, 5, 6)


@pytest.fixture
def site(tmp_path):
    """A site that holds a small register."""
    plant, *others = small()
    with create(tmp_path / "site", plant, author="A. Engineer") as made:
        with made.change("A. Engineer", "first import") as change:
            change.put_many(others)
        yield made


def kept(site):
    """Facts, changes and files of a site."""
    files = [p for folder in ("photos", "series") for p in (site.folder / folder).glob("*")]
    return list(site.store.facts()), site.store.changes(), [p for p in files if p.is_file()]


def picture():
    """A PNG."""
    stream = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(stream, "PNG")
    return stream.getvalue()


def history(tmp_path):
    """A short temperature history."""
    path = tmp_path / "history.csv"
    path.write_text(
        "time,value\n2026-01-01 00:00Z,300\n2026-01-01 01:00Z,301\n2026-01-01 02:00Z,x\n"
    )
    return path


def event(joint="EJ-1", date=DAY):
    """A trip."""
    return LifeEvent(joint=joint, date=date, kind=EventKind.TRIP)


def test_facts_are_stored_together_as_one_change(site):
    """Two facts make one signed change."""
    found = Observation(visit="2026-hot", joint="EJ-1", item="HB2", grade=1)
    assert record.facts(site, [event(), found], "B. Other", "walk") == 2

    head = site.store.changes()[0]
    assert (head.author, head.reason, head.facts) == ("B. Other", "walk", 2)
    assert site.register().get(LifeEvent, event().key) == event()


def test_an_unknown_joint_is_answered_with_the_nearest_and_nothing_is_stored(site):
    """One misspelt tag among sound facts keeps all of them out."""
    before = kept(site)
    with pytest.raises(UnknownName, match=r"joint 'EJ1' is not known. Did you mean EJ-1\?"):
        record.facts(site, [event(), event("EJ1")], "A", "r")
    assert kept(site) == before


def test_what_cannot_be_true_is_refused_with_what_would_be(site):
    """An event in the future keeps the sound one beside it out, too."""
    before = kept(site)
    with pytest.raises(Contradiction, match=r"event in the future.*Right would be"):
        record.facts(site, [event(), event(date=dt.date(2200, 1, 1))], "A", "r")
    assert kept(site) == before


def test_readings_must_belong_to_their_test(site):
    """A reading of another bellows is refused; those of the test are stored with it."""
    test = InterplyTest(joint="EJ-1", bellows="A", date=DAY)
    good = [
        InterplyReading(joint="EJ-1", bellows="A", date=DAY, minute=60.0 * m, pressure=5e4 - m)
        for m in (0, 5)
    ]
    stray = msgspec.structs.replace(good[1], bellows="B")
    before = kept(site)
    with pytest.raises(Contradiction, match="reading at minute 5 belongs to EJ-1 B"):
        record.interply(site, test, [good[0], stray], "A")
    assert kept(site) == before

    record.interply(site, test, good, "A")
    assert site.store.changes()[0].facts == 3


def test_a_photo_is_kept_with_its_joint(site):
    """The file stands in the folder of photos and the fact names it."""
    made = record.photo(site, "ej-1", picture(), caption="port", item="HB1", author="A")

    assert (made.joint, made.width, made.height, made.taken) == ("EJ-1", 40, 30, None)
    assert site.register().get(Photo, made.file) == made
    assert (site.photo_folder / made.file).read_bytes() == picture()


@pytest.mark.parametrize(
    ("more", "fault", "said"),
    [
        ({"joint": "EJ1"}, UnknownName, "Did you mean EJ-1"),
        ({"visit": "2026-hut"}, UnknownName, "visit '2026-hut'.*Did you mean 2026-hot"),
        ({"item": "ZZ99"}, UnknownName, "check item 'ZZ99' is not known"),
        ({"author": " "}, Refused, "needs an author"),
        ({"data": b"%PDF-1.7 no image"}, BadFile, "IMG_1.jpg is no image"),
        ({"data": b""}, BadFile, "IMG_1.jpg is empty"),
    ],
)
def test_a_photo_that_is_refused_leaves_no_file(site, more, fault, said):
    """Names are checked before the file is kept, and what is no image is never kept."""
    before = kept(site)
    asked = {"joint": "EJ-1", "data": picture(), "author": "A", "name": "IMG_1.jpg"} | more
    with pytest.raises(fault, match=said):
        record.photo(site, asked.pop("joint"), asked.pop("data"), **asked)
    assert kept(site) == before


def test_a_temperature_history_is_kept_where_it_belongs(site, tmp_path):
    """The fact tells rows, bad rows, span and where it came from."""
    made, report = record.temperature_file(
        site, history(tmp_path), tag=" TI-1 ", joint="ej-1", bellows="a", unit="C", author="A"
    )

    assert (made.tag, made.joint, made.bellows) == ("TI-1", "EJ-1", "A")
    assert (made.rows, made.bad) == (3, 1)
    assert (made.first, made.last - made.first) == (
        dt.datetime(2026, 1, 1, tzinfo=dt.UTC),
        dt.timedelta(hours=2),
    )
    assert made.original == "history.csv"
    assert site.register().get(TemperatureSeries, "ti-1") == made
    assert (site.series_folder / report.file).is_file()


@pytest.mark.parametrize(
    ("more", "fault", "said"),
    [
        ({"joint": "EJ1"}, UnknownName, "Did you mean EJ-1"),
        ({"bellows": "C"}, UnknownName, "bellows of EJ-1 'C' is not known"),
        ({"tag": " "}, TakeupError, "needs its instrument tag"),
        ({"author": ""}, Refused, "needs an author"),
        ({"unit": "R"}, TakeupError, "use C, F or K"),
        ({"value_column": "pressure"}, BadFile, "no column 'pressure'"),
    ],
)
def test_a_history_that_is_refused_leaves_no_file(site, tmp_path, more, fault, said):
    """Names are checked before the file is read and kept."""
    before = kept(site)
    asked = {"tag": "TI-1", "joint": "EJ-1", "unit": "C", "author": "A"} | more
    with pytest.raises(fault, match=said):
        record.temperature_file(site, history(tmp_path), **asked)
    assert kept(site) == before
