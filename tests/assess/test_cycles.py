"""Starts, stops and trips counted from a temperature history, and what they stand in for."""

import datetime as dt

import msgspec
import numpy as np
import pytest

from takeup.assess import build, cycles
from takeup.evidence.model import DailyTemperature
from takeup.register.entities import EventKind, LifeEvent

from .demo_site import joint_cases

COLD = 293.15
SINCE = dt.date(2021, 11, 26)
TODAY = dt.date(2026, 11, 25)


def _case():
    """A joint of the demo with a history and no starts on record."""
    case = joint_cases()["EJ-1303"]
    kept = tuple(e for e in case.events if e.kind not in {EventKind.START, EventKind.TRIP})
    return msgspec.structs.replace(case, events=kept, today=TODAY)


def _history(stops=(), trips=(), gone=(), last=1825):
    """Five years at 300 °C, cold on days of stops, dipping by 140 K on days of trips."""
    day = (SINCE - cycles.EPOCH).days + np.arange(last, dtype=float)
    high = np.full(last, 573.15)
    low = np.full(last, 571.15)
    for first, length in stops:
        low[first : first + length] = COLD
        high[first + 1 : first + length - 1] = COLD + 1.0
    for at in trips:
        low[at] = 433.15
    middle = np.where(high < 400.0, high, 572.15)
    keep = np.ones(last, dtype=bool)
    for first, length in gone:
        keep[first : first + length] = False
    nothing = np.zeros(last)
    return DailyTemperature(
        tag="TI-X",
        day=day[keep],
        median=middle[keep],
        low=low[keep],
        high=high[keep],
        **dict.fromkeys(("good", "bad", "below", "wet", "above"), nothing[keep]),
    )


def _with(daily, **changes):
    return msgspec.structs.replace(_case(), temperatures=(("A", "TI-X", daily),), **changes)


def test_each_stop_is_counted_once_whatever_its_length():
    """A stop of three days and one of three weeks are one full cycle each."""
    found = cycles.counted(_with(_history(stops=((300, 3), (900, 21)))), "A", SINCE)

    assert found.full == pytest.approx(2.0, abs=0.5)
    assert found.parts < 0.1
    assert found.gaps == 0


def test_trips_weigh_their_share_of_a_full_cycle():
    """Ten half cycles weigh ten times a half to the power of the flatter curve."""
    found = cycles.counted(_with(_history(trips=range(100, 1100, 100))), "A", SINCE)

    assert found.full == 0.0
    assert found.parts == pytest.approx(10 * 0.5**3.4, rel=0.1)


def test_a_stop_is_taken_to_hide_in_every_long_gap():
    """Lost readings never make a joint younger."""
    whole = cycles.counted(_with(_history()), "A", SINCE)
    holed = cycles.counted(_with(_history(gone=((300, 20), (800, 3)))), "A", SINCE)

    assert holed.gaps == 1
    assert holed.cycles >= whole.cycles + 1.0


@pytest.mark.parametrize(
    ("daily", "since"),
    [
        (_history(last=100), SINCE),
        (_history(last=1500), SINCE),
        (_history(gone=((1300, 300),)), SINCE),
        (_history(), None),
    ],
    ids=["too short", "stale", "half the run", "installed nobody knows when"],
)
def test_a_history_that_does_not_cover_the_run_counts_nothing(daily, since):
    """The entered rate then stands as before."""
    case = _with(daily, run_start=dt.date(2025, 1, 1))

    assert cycles.counted(case, "A", since) is None


def test_what_is_counted_stands_in_for_what_was_entered_for_its_years_only():
    """Years before the history go on at the entered rate, and ahead the larger rate is taken."""
    case = _with(_history(stops=((300, 3), (900, 21))))
    entered = msgspec.structs.replace(case, temperatures=())
    (seen,) = build.movements(case)
    (told,) = build.movements(entered)
    found = cycles.counted(case, "A", SINCE)
    rate = next(row.cycles for row in case.movements if row.cycles)

    assert seen.done == pytest.approx(told.done - rate * found.years + found.cycles, abs=0.02)
    assert seen.cycles - seen.done == pytest.approx(told.cycles - told.done)


def test_more_counted_than_entered_counts_ahead_too():
    """Thirty stops in five years are six a year from now on."""
    busy = _with(_history(stops=tuple((40 + 55 * n, 3) for n in range(30))))
    (seen,) = build.movements(busy)
    (told,) = build.movements(msgspec.structs.replace(busy, temperatures=()))
    found = cycles.counted(busy, "A", SINCE)

    assert found.rate == pytest.approx(6.0, rel=0.05)
    assert seen.cycles - seen.done > 2.0 * (told.cycles - told.done)
    assert "the two differ" in cycles.ground(busy, SINCE).claim


def test_starts_on_record_count_where_the_history_shows_fewer():
    """A trip that the metal was too slow to follow is not lost."""
    trips = LifeEvent(joint="EJ-1303", date=dt.date(2024, 5, 1), kind=EventKind.TRIP, count=9)
    case = _with(_history())
    with_trips = msgspec.structs.replace(case, events=(*case.events, trips))
    found = cycles.counted(with_trips, "A", SINCE)

    assert found.cycles == 9.0
    assert "the record counts" in cycles.ground(with_trips, SINCE).claim
