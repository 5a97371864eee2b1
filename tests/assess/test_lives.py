"""Lives of joints are cut from their events with honest censoring."""

import datetime as dt

import pytest

from takeup.assess.lives import by_service, in_service_since, records_of
from takeup.register.entities import EventKind, Joint, JointType, LifeEvent

TODAY = dt.date(2026, 1, 1)


def joint(installed=dt.date(2006, 1, 1)):
    """A joint installed twenty years ago."""
    return Joint(tag="EJ-1", line="L-1", type=JointType.SINGLE, installed=installed)


def event(kind, year, mechanism=""):
    """An event on the first day of a year."""
    return LifeEvent(joint="EJ-1", date=dt.date(year, 1, 1), kind=kind, mechanism=mechanism)


def lives(events, looked_at=(), start=None, installed=dt.date(2006, 1, 1)):
    """Cut the lives of one joint."""
    return records_of(
        joint(installed), events, looked_at=looked_at, records_start=start, today=TODAY
    )


def test_a_joint_that_runs_is_censored_today():
    """No failure: twenty years good, nothing more is claimed."""
    (life,) = lives([])

    assert life.failed_by is None
    assert life.good_at == pytest.approx(20.0, abs=0.01)


def test_a_leak_in_service_is_an_exact_age():
    """The leak dates the failure; the outage that replaced it does not."""
    first, second = lives([event(EventKind.LEAKED, 2015), event(EventKind.REPLACED, 2018)])

    assert first.failed_by == first.good_at == pytest.approx(9.0, abs=0.01)
    assert second.failed_by is None
    assert second.good_at == pytest.approx(8.0, abs=0.01)


def test_damage_found_at_replacement_is_interval_data():
    """It failed between the last look that found it good and the day it was found."""
    first, _ = lives([event(EventKind.REPLACED, 2018, "cracks")], looked_at=[dt.date(2014, 1, 1)])

    assert first.good_at == pytest.approx(8.0, abs=0.01)
    assert first.failed_by == pytest.approx(12.0, abs=0.01)


def test_a_replacement_without_damage_is_censored():
    """Taken out for other reasons is not a failure."""
    first, second = lives([event(EventKind.REPLACED, 2018)])

    assert first.failed_by is None
    assert second.good_at == pytest.approx(8.0, abs=0.01)


def test_a_life_begun_before_the_records_enters_late():
    """Only the years under observation can teach."""
    (life,) = lives([], start=dt.date(2016, 1, 1))

    assert life.entered == pytest.approx(10.0, abs=0.01)


def test_a_removed_joint_is_not_alive():
    """After removal nothing runs any more."""
    assert len(lives([event(EventKind.REMOVED, 2018)])) == 1


def test_an_unknown_installation_teaches_nothing():
    """Age unknown gives no record rather than a zero age."""
    assert lives([], installed=None) == ()


def test_age_counts_from_the_last_renewal():
    """A replaced bellows set starts again."""
    since = in_service_since(joint(), [event(EventKind.REPLACED, 2018)], TODAY)

    assert since == dt.date(2018, 1, 1)


def test_lives_are_grouped_by_service_and_late_entry_is_found_from_the_records():
    """The first dated event other than an installation starts the records."""
    grouped = by_service(
        [(joint(), "steam")],
        {"ej-1": [event(EventKind.INSTALLED, 2006), event(EventKind.TRIP, 2016)]},
        {},
        today=TODAY,
    )

    assert grouped["steam"][0].entered == pytest.approx(10.0, abs=0.01)
