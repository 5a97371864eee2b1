"""What was worked out of rings and cones on hot pipe, and how many starts they have seen. Pure."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from takeup.ageing.attachment import Judged
from takeup.assess.lives import in_service_since, years
from takeup.errors import TakeupError
from takeup.evidence.model import DailyTemperature
from takeup.register.entities import EventKind, MovementCase, MovementRole

if TYPE_CHECKING:
    from takeup.assess.model import JointCase

CONES = "cones"
"""The item under which the cones of a joint are kept"""
COUNTED = frozenset({EventKind.START, EventKind.TRIP})
FIRST = 400.0 / 365.25
"""What is on record counts as whole when it begins within this of the installation [years]"""
MAIN = frozenset({"normal", "operating", "design"})
AMBIENT = 293.15
"""A full start begins here when starts are counted from a temperature history [K]"""


class State(StrEnum):
    """Where the calculation of an attachment stands."""

    CURRENT = "worked out"
    STALE = "out of date"
    OPEN = "not worked out yet"
    FAULTY = "cannot be worked out"


class Starts(msgspec.Struct, frozen=True, kw_only=True):
    """Full starts and stops of an attachment; ``None`` is unknown, never none."""

    so_far: float | None = None
    whole: bool = False
    """Whether ``so_far`` is all of them; else it is the least that there were"""
    a_year: float | None = None
    to_next: float | None = None
    """From today to the next outage"""
    to_second: float | None = None
    """From today to the outage after it"""
    words: tuple[str, ...] = ()
    """Where the figures are from"""
    missing: tuple[str, ...] = ()


class Attached(msgspec.Struct, frozen=True, kw_only=True):
    """An attachment of a joint as kept in the register, and what is worked out of it."""

    item: str
    title: str
    state: State
    asked: tuple[str, ...] = ()
    """What has to be said before it can be worked out"""
    faults: tuple[str, ...] = ()
    judged: Judged | None = None
    """Of the present text; ``None`` unless :attr:`state` is CURRENT"""
    headline: str = ""
    starts: Starts = Starts()
    inputs_hash: str = ""
    worked: dt.datetime | None = None
    cautions: tuple[str, ...] = ()

    @property
    def stands(self) -> bool:
        """Whether the verdict may use it."""
        return self.state == State.CURRENT and self.judged is not None


def starts(
    case: JointCase, *, typed: float | None = None, typed_to_come: float | None = None
) -> Starts:  # fmt: skip
    """Starts and stops since the joint is in place, from life events and temperature histories.

    ``typed`` is what a person says of the attachment; the larger of that and of the record
    counts.  Each start-up and each trip on record counts as one, and where nothing is typed the
    yearly cycles of the expected movement since the installation count where they are more
    (engineering assumptions, as for the fatigue of the bellows).  What is to come goes by those
    yearly cycles, else by the record's own rate where it is whole.
    """
    since = in_service_since(case.joint, case.events, case.today)
    own = [
        one
        for one in case.events
        if one.kind in COUNTED and one.date <= case.today and (since is None or one.date >= since)
    ]
    told: list[str] = []
    found: list[tuple[float, dt.date]] = []
    if own:
        number = float(sum(one.count for one in own))
        first = min(one.date for one in own)
        found.append((number, first))
        told.append(f"{number:.0f} start-ups and trips on record since {first.isoformat()}")
    for _, tag, daily in case.temperatures:
        counted = _history(daily)
        if counted is None:
            continue
        number, begins = counted
        before = sum(one.count for one in own if one.date < begins)
        found.append((number + before, min([begins, *(e.date for e in own if e.date < begins)])))
        told.append(
            f"{number:.1f} full starts and stops, partial ones by their weight, in the history of "
            f"{tag} since {begins.isoformat()}"
        )
    missing: list[str] = []
    if typed is not None:
        told.insert(0, f"{typed:.0f} starts and stops as written with the attachment")
    known = [number for number, _ in found] + ([typed] if typed is not None else [])
    a_year, why = _expected(case)
    if typed is None and a_year is not None and since is not None:
        number = a_year * max(0.0, years(since, case.today))
        told.append(f"{number:.0f} since {since.isoformat()} at that rate")
        known.append(number)
    so_far = max(known, default=None)
    begun = min((first for _, first in found), default=None)
    whole = typed is not None or (
        since is not None
        and (a_year is not None or (begun is not None and years(since, begun) <= FIRST))
    )
    if so_far is None or not whole:
        missing.append(
            f"every start-up and trip of {case.joint.tag} since "
            f"{since.isoformat() if since else 'it was installed'} as life events, or "
            "starts_so_far with the attachment"
        )
    if a_year is None and whole and so_far is not None and since is not None:
        span = years(since, case.today)
        if span >= 1.0:
            a_year = so_far / span
            why = f"{a_year:.2g} a year to come, as it was so far (engineering assumption)"
    if why:
        told.append(why)
    to_next, to_second = (
        None if outage is None or a_year is None else a_year * years(case.today, outage.start)
        for outage in (case.next_outage, case.second_outage)
    )
    if typed_to_come is not None:
        to_next = typed_to_come
        to_second = None if to_second is None else max(to_second, typed_to_come)
        told.append(f"{typed_to_come:.0f} to the next outage as written with the attachment")
    if to_next is None:
        missing.append(
            f"starts and stops a year expected of {case.joint.tag} (cycles of its normal movement)"
        )
    return Starts(
        so_far=so_far,
        whole=whole,
        a_year=a_year,
        to_next=to_next,
        to_second=to_second,
        words=tuple(told),
        missing=tuple(missing),
    )


def _expected(case: JointCase) -> tuple[float | None, str]:
    """Starts a year by the expected movement, in words too."""
    rows: list[MovementCase] = [
        one
        for one in case.movements
        if one.role == MovementRole.EXPECTED and one.cycles is not None
    ]
    main = next((one for one in rows if one.name.casefold() in MAIN), rows[0] if rows else None)
    if main is None or main.cycles is None:
        return None, ""
    return main.cycles, f"{main.cycles:g} a year expected ({main.name} movement)"


def _history(daily: DailyTemperature) -> tuple[float, dt.date] | None:
    """Full starts and stops in a history, and its first day; ``None`` where it tells none.

    Counted in the lowest reading of each day, so that a short stop is seen; a full one goes from
    20 °C to the median of the days.
    """
    from takeup.ageing.counting import SMALL, count

    good = np.isfinite(daily.low)
    if good.sum() < 3:
        return None
    running = float(np.nanmedian(daily.median))
    if running - AMBIENT <= 2.0 * SMALL:
        return None
    begins = dt.date(1970, 1, 1) + dt.timedelta(days=float(daily.day[good][0]))
    try:
        counted = count(
            daily.day[good] * 86400.0, daily.low[good], full_range=running - AMBIENT
        )  # fmt: skip
    except TakeupError:
        return None  # a history that cannot be counted tells nothing of starts
    return counted.equivalent[1], begins
