"""Starts and stops that an attachment on hot pipe has seen and is to see. Pure.

A temperature history that covers the run, the events on record and the expected cycles speak in
one way for the bellows of a joint and for what is welded to its pipe.
"""

from __future__ import annotations

from takeup.assess import cycles
from takeup.assess.attached import Starts
from takeup.assess.expected import MAIN
from takeup.assess.lives import in_service_since, years
from takeup.assess.model import JointCase
from takeup.register.entities import EventKind, MovementRole

COUNTED = frozenset({EventKind.START, EventKind.TRIP})
FIRST = 400.0 / 365.25
"""What is on record counts as whole when it begins within this of the installation [years]"""


def starts(
    case: JointCase, *, typed: float | None = None, typed_to_come: float | None = None
) -> Starts:  # fmt: skip
    """Starts and stops since the joint is in place; what nobody knows is unknown, never none.

    ``typed`` is what a person says of the attachment; the larger of that and of the record
    counts.  Each start-up and each trip on record counts as one.  A history that covers the run
    counts for its years (:mod:`takeup.assess.cycles`); the yearly cycles of the expected movement
    for the others where nothing is typed (engineering assumptions, as for the bellows).  What is
    to come goes by the larger of these rates, else by the record's own where it is whole.
    """
    since = in_service_since(case.joint, case.events, case.today)
    own = [
        one
        for one in case.events
        if one.kind in COUNTED and one.date <= case.today and (since is None or one.date >= since)
    ]
    seen = cycles.counted(case, "", since)
    entered, named = _entered(case)
    behind = None if since is None else max(0.0, years(since, case.today))
    told: list[str] = []
    known: list[float] = []
    first = None
    if typed is not None:
        known.append(typed)
        told.append(f"{typed:.0f} starts and stops as written with the attachment")
    if own:
        number, first = sum(one.count for one in own), min(one.date for one in own)
        known.append(float(number))
        told.append(f"{number} start-ups and trips on record since {first.isoformat()}")
    if seen is not None and behind is not None:
        rest = (entered or 0.0) if typed is None else 0.0
        known.append(cycles.done(seen, rest, behind, 0.0))
        first = seen.first if first is None else min(first, seen.first)
        told.append(
            f"{seen.cycles:.1f} by the history of {seen.tag} since {seen.first.isoformat()}, parts "
            "by their weight"
        )
    elif typed is None and entered is not None and behind is not None:
        known.append(entered * behind)
    if entered is not None:
        all_ = "" if behind is None else f", {entered * behind:.0f} in {behind:.1f} years"
        told.append(f"{entered:g} a year expected ({named} movement){all_}")
    whole = typed is not None or (
        since is not None
        and (entered is not None or (first is not None and years(since, first) <= FIRST))
    )
    so_far = max(known, default=None)
    rates = [rate for rate in (entered, seen.rate if seen else None) if rate is not None]
    a_year = max(rates, default=None)
    if a_year is None and whole and so_far is not None and behind is not None and behind >= 1.0:
        a_year = so_far / behind
        told.append(f"{a_year:.2g} a year to come, as it was so far (engineering assumption)")
    to_next, to_second = (
        None if outage is None or a_year is None else a_year * years(case.today, outage.start)
        for outage in (case.next_outage, case.second_outage)
    )
    if typed_to_come is not None:
        to_next = typed_to_come
        to_second = None if to_second is None else max(to_second, typed_to_come)
        told.append(f"{typed_to_come:.0f} to the next outage as written with the attachment")
    return Starts(
        so_far=so_far,
        whole=whole,
        a_year=a_year,
        to_next=to_next,
        to_second=to_second,
        words=tuple(told),
        missing=(
            *(() if whole and so_far is not None else (_asked(case, str(since or "")),)),
            *(
                ()
                if to_next is not None
                else (
                    f"starts and stops a year expected of {case.joint.tag} (cycles of its normal "
                    "movement)",
                )
            ),
        ),
    )


def _asked(case: JointCase, since: str) -> str:
    return (
        f"every start-up and trip of {case.joint.tag} since {since or 'it was installed'} as life "
        "events, or starts_so_far with the attachment"
    )


def _entered(case: JointCase) -> tuple[float | None, str]:
    """Starts a year by the expected movement, and its name."""
    rows = [
        one
        for one in case.movements
        if one.role == MovementRole.EXPECTED and one.cycles is not None
    ]
    main = next((one for one in rows if one.name.casefold() in MAIN), rows[0] if rows else None)
    return (None, "") if main is None else (main.cycles, main.name)
