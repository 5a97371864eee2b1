"""Starts, stops and trips of a joint counted from the temperature history of its bellows.

Where a history covers the run, what it counts stands in for the cycles that were entered, over
the years that it covers; before it the entered rate goes on counting.  Events on record count at
least, and of a stretch without readings it is taken that a stop hides in it.
"""

from __future__ import annotations

import datetime as dt
import functools

import msgspec
import numpy as np

from takeup.ageing import counting
from takeup.assess import expected
from takeup.assess.model import JointCase
from takeup.assess.reading import ROOM
from takeup.checks import Ground, LimitKind, Strength
from takeup.errors import TakeupError
from takeup.evidence.model import DailyTemperature
from takeup.register.entities import EventKind
from takeup.units import DAY

EPOCH = dt.date(1970, 1, 1)
COVERS = 0.9
"""Share of the days of the run that must have a reading"""
LEAST = 180
"""Days of history without which nothing is counted"""
STALE = 60
"""Days since the last reading after which the history no longer speaks for the run"""
GAP = 5
"""Days without a reading in which a stop may hide"""
SHORT = (
    "Cycles are counted on the bellows' own metal by the lowest and highest reading of each day: "
    "a trip that the metal was too slow to follow, and a second stop in one day, are not seen."
)


class Counting(msgspec.Struct, frozen=True, kw_only=True):
    """What a history says of starts and stops."""

    tag: str
    first: dt.date
    last: dt.date
    full: float
    """Full starts and stops; a run that has not ended counts half"""
    parts: float
    """Full cycles that trips and other parts weigh, on the side of more"""
    gaps: int
    """Stretches without readings, each counted as one stop"""
    recorded: int
    """Starts and trips on record within the history"""

    @property
    def years(self) -> float:
        """Length of the history, gaps included [a]."""
        return (self.last - self.first).days / 365.25

    @property
    def cycles(self) -> float:
        """Full cycles to count over the history; never fewer than are on record."""
        return max(self.full + self.parts + self.gaps, float(self.recorded))

    @property
    def rate(self) -> float:
        """Full cycles a year."""
        return self.cycles / self.years


def counted(case: JointCase, letter: str, since: dt.date | None) -> Counting | None:
    """What the history of bellows ``letter`` (or of any, if empty) counts since a date.

    ``None`` where no history covers the run.
    """
    if since is None:
        return None
    for other, tag, daily in case.temperatures:
        if letter and other.casefold() != letter.casefold():
            continue
        found = _counted(daily, since, case.run_start, case.today)
        if found is None:
            continue
        first, last, full, parts, gaps = found
        recorded = sum(
            event.count
            for event in case.events
            if event.kind in {EventKind.START, EventKind.TRIP} and first <= event.date <= last
        )
        return Counting(
            tag=tag, first=first, last=last, full=full, parts=parts, gaps=gaps, recorded=recorded
        )
    return None


@functools.lru_cache(maxsize=64)
def _counted(
    daily: DailyTemperature, since: dt.date, run_start: dt.date | None, today: dt.date
) -> tuple[dt.date, dt.date, float, float, int] | None:
    begin, end = (since - EPOCH).days, (today - EPOCH).days
    good = np.isfinite(daily.median) & np.isfinite(daily.low) & np.isfinite(daily.high)
    good &= (daily.day >= begin) & (daily.day <= end)
    day = daily.day[good]
    if day.size < LEAST or end - day[-1] > STALE:
        return None
    run = begin if run_start is None else max(begin, (run_start - EPOCH).days)
    if np.count_nonzero(day >= run) < COVERS * (end - run):
        return None
    median, low, high = daily.median[good], daily.low[good], daily.high[good]
    whole = float(np.median(median)) - ROOM
    # within a day the end nearer to the day before comes first, so that a stop is one fall
    before = np.concatenate([median[:1], median[:-1]])
    falls = np.abs(high - before) <= np.abs(low - before)
    kelvin = np.where(falls, (high, low), (low, high)).T.ravel()
    time = (day[:, None] + np.array([0.25, 0.75])).ravel() * DAY
    try:
        found = counting.count(time, kelvin, full_range=whole)
    except TakeupError:
        return None  # a bellows hardly warmer than the air: nothing to count
    parts = max(0.0, found.equivalent[1] - found.full)
    gaps = int(np.count_nonzero(np.diff(day) > GAP))
    return (
        EPOCH + dt.timedelta(days=int(day[0])),
        EPOCH + dt.timedelta(days=int(day[-1])),
        found.full,
        parts,
        gaps,
    )


def done(found: Counting, rate: float, behind: float, recorded: float) -> float:
    """Cycles done so far: by the history, and at ``rate`` for the years before it."""
    before = rate * max(0.0, behind - found.years)
    return max(found.cycles + before, recorded)


def ground(case: JointCase, since: dt.date | None) -> Ground | None:
    """What was counted, beside what was entered and recorded."""
    found = counted(case, "", since)
    main = next((one.row for one in expected.cases(case) if one.row.name.casefold() in expected.MAIN),
                next((one.row for one in expected.cases(case)), None))  # fmt: skip
    if found is None or main is None:
        return None
    entered = "no rate is entered" if main.cycles is None else f"{main.cycles:.2g} a year entered"
    gaps = ""
    if found.gaps:
        gaps = f", {found.gaps} gap{'s' if found.gaps > 1 else ''} counted as a stop each"
    differs = ""
    if found.recorded > found.full + found.gaps + 0.5:
        differs = "; more are on record than the history shows, and the record counts"
    elif main.cycles is not None and not 0.5 <= found.rate / max(main.cycles, 1e-9) <= 2.0:
        differs = "; the two differ, and the history counts for the years it covers"
    return Ground(
        claim=f"{found.tag} shows {found.full:.3g} full starts and stops from "
        f"{found.first.isoformat()} to {found.last.isoformat()}{gaps}, parts that weigh "
        f"{found.parts:.2g} more: {found.rate:.2g} a year, beside {entered} and {found.recorded} "
        f"starts and trips on record{differs}",
        evidence=(f"temperature_series:{found.tag}", main.ref),
        rule=f"rainflow of the daily extremes; a full cycle is running to room temperature; "
        f"{counting.WEIGHT.at}",
        source=counting.COUNTING,
        limit_kind=LimitKind.PUBLISHED,
        strength=Strength.MEASURED,
    )
