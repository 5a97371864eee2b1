"""Lives of joints at this site, from their events: what survival statistics learn from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from takeup.ageing.model import LifeRecord
from takeup.register.entities import EventKind, Joint, LifeEvent

_RENEWED = frozenset({EventKind.REPLACED, EventKind.REMOVED})
_YEAR = 365.25


def years(start: dt.date, end: dt.date) -> float:
    """Years from ``start`` to ``end``."""
    return (end - start).days / _YEAR


def in_service_since(joint: Joint, events: Iterable[LifeEvent], today: dt.date) -> dt.date | None:
    """The date from which the present bellows set counts its age; ``None`` when not known."""
    since = joint.installed
    for event in events:
        renews = event.kind in {EventKind.INSTALLED, EventKind.REPLACED} and event.bellows == "-"
        if renews and event.date <= today and (since is None or event.date > since):
            since = event.date
    return since


def records_of(
    joint: Joint,
    events: Sequence[LifeEvent],
    *,
    looked_at: Sequence[dt.date],
    records_start: dt.date | None,
    today: dt.date,
) -> tuple[LifeRecord, ...]:
    """Cut one joint's history into lives.

    A leak in service is an exact failure age.  A replacement with a damage mechanism found
    is interval data: it failed between the last look that found it good and the day it was
    found (the outage date is not the failure date).  A replacement without a mechanism, and
    the life still running, are censored.  Lives begun before the site kept records enter at
    the age they had then; lives that ended before are not counted.

    ``looked_at`` are dates of visits to the joint; ``records_start`` the first date from
    which the site's records can be trusted to show failures.
    """
    dated = sorted((event for event in events if event.date <= today), key=lambda e: e.date)
    start = joint.installed
    lives: list[LifeRecord] = []

    def close(end: dt.date, failed: bool, exact: bool, mechanism: str) -> None:
        if start is None or end <= start:
            return
        age = years(start, end)
        entered = years(start, records_start) if records_start and records_start > start else 0.0
        if age <= entered:
            return
        good = age
        if failed and not exact:
            looks = [date for date in looked_at if start < date < end]
            good = max([entered] + [years(start, date) for date in looks])
        lives.append(
            LifeRecord(
                joint=joint.tag,
                good_at=good,
                failed_by=age if failed else None,
                entered=entered,
                mechanism=mechanism,
            )
        )

    failed_already = False
    for event in dated:
        if event.kind == EventKind.INSTALLED:
            start = start or event.date
        elif event.kind == EventKind.LEAKED and not failed_already:
            close(event.date, True, True, event.mechanism)
            failed_already = True
        elif event.kind in _RENEWED and event.bellows == "-":
            if not failed_already:
                close(event.date, bool(event.mechanism), False, event.mechanism)
            start = event.date if event.kind == EventKind.REPLACED else None
            failed_already = False
    if start is not None and not failed_already:
        close(today, False, False, "")
    return tuple(lives)


def by_service(
    joints: Iterable[tuple[Joint, str]],
    events: Mapping[str, Sequence[LifeEvent]],
    visits: Mapping[str, Sequence[dt.date]],
    *,
    today: dt.date,
) -> dict[str, tuple[LifeRecord, ...]]:
    """Collect the lives of all joints by service group.

    ``joints`` pairs each joint with its service group; ``events`` and ``visits`` are by
    case-folded tag.  Records are trusted from the earliest dated event other than an
    installation, or the earliest visit.
    """
    dates = [
        event.date
        for found in events.values()
        for event in found
        if event.kind != EventKind.INSTALLED
    ]
    dates += [date for found in visits.values() for date in found]
    records_start = min(dates, default=None)
    groups: dict[str, list[LifeRecord]] = {}
    for joint, service in joints:
        tag = joint.tag.casefold()
        groups.setdefault(service, []).extend(
            records_of(
                joint,
                events.get(tag, ()),
                looked_at=visits.get(tag, ()),
                records_start=records_start,
                today=today,
            )
        )
    return {service: tuple(lives) for service, lives in groups.items()}
