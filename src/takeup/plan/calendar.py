"""Dates backward from the outage: what must be decided, ordered, walked by when. Pure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from takeup.options.model import LongLead, Option
from takeup.plan.model import Milestone
from takeup.register.entities import Outage, ProcessUnit

MONTH = 365.25 / 12
RULE = "common practice, months before the outage; the site's own date rules where it is set"

_BACKBONE = (
    # id, name, months before the first day, field of the outage that overrides it
    ("hot_walk", "Hot walk: positions, springs, ports, temperatures", 13.0, "hot_walk"),
    ("evaluation", "Evaluation and option short list for each joint", 12.5, ""),
    ("scope_freeze", "Scope freezes", 12.0, "scope_freeze"),
    ("budget_close", "Budget closes", 10.0, "budget_close"),
    ("contracts", "Contracts: bellows specialist, refractory, scaffold, crane, NDE", 7.5, ""),
    ("work_packs", "Work packs, weld procedures and welder tests for the actual metals", 5.0, ""),
    ("second_walk", "Second walk of the joints in scope", 3.0, ""),
    ("readiness", "Readiness review: material on site, schedule and cost range", 2.0, ""),
    ("pre_scaffold", "Scaffold and insulation removal that may be done hot", 1.0, ""),
)


def days(seconds: float) -> dt.timedelta:
    """A span in whole days, rounded up."""
    return dt.timedelta(days=-(-int(seconds) // 86400))


def order_by(option: Option, outage: Outage) -> dt.date | None:
    """The last day to start preparing an option so that it is on site in time.

    Outage start, less time on site, lead time, evaluation, enquiry and drawing approval;
    ``None`` for an option that needs nothing ordered.
    """
    dates = [start_preparing(item, outage) for item in option.long_lead]
    return min(dates, default=None)


def start_preparing(item: LongLead, outage: Outage) -> dt.date:
    """The last day to start preparing one item."""
    return order_date(item, outage) - days(item.preparation)


def order_date(item: LongLead, outage: Outage) -> dt.date:
    """The last day to place the order of one item."""
    return on_site_date(item, outage) - days(item.lead)


def on_site_date(item: LongLead, outage: Outage) -> dt.date:
    """The day an item must be on site."""
    return outage.start - days(item.on_site)


def milestones(
    outage: Outage,
    options: Sequence[Option],
    today: dt.date,
    unit: ProcessUnit | None,
    *,
    done: Iterable[str] = (),
) -> tuple[Milestone, ...]:
    """All dates of an outage in order; what is past and not known to be done is late.

    ``options`` are the chosen ones: each adds its preparation, order and delivery dates,
    equal dates of several joints joined into one.  ``done`` are ids known to be done.
    """
    known_done = set(done)
    found: list[Milestone] = []
    for id, name, months, field in _BACKBONE:
        own = getattr(outage, field) if field else None
        date = own or outage.start - dt.timedelta(days=round(months * MONTH))
        found.append(
            _milestone(id, name, date, today, id in known_done, fixed=own is not None, rule=RULE)
        )
    orders: dict[tuple[str, str, dt.date], list[str]] = {}
    words = {
        "prepare": "Start preparing: ",
        "order": "Order: ",
        "deliver": "On site: ",
    }
    for option in options:
        for item in option.long_lead:
            for id, date in (
                ("prepare", start_preparing(item, outage)),
                ("order", order_date(item, outage)),
                ("deliver", on_site_date(item, outage)),
            ):
                orders.setdefault((id, item.item, date), []).append(option.joint)
    for (id, item_name, date), joints in orders.items():
        found.append(
            _milestone(
                f"{id}:{item_name}:{date.isoformat()}",
                words[id] + item_name,
                date,
                today,
                f"{id}:{item_name}:{date.isoformat()}" in known_done,
                joints=tuple(sorted(joints)),
                rule="outage start less time on site, likely lead time, and evaluation, enquiry "
                "and drawing approval",
            )
        )
    name = unit.name if unit is not None else outage.unit
    end = outage.start + dt.timedelta(seconds=outage.window)
    found += [
        _milestone(
            "start", f"Outage of {name} starts", outage.start, today, False, fixed=True, ahead=True
        ),
        _milestone(
            "cold_look",
            "Cold inspection and interply tests done: first week, not week four",
            outage.start + dt.timedelta(days=5),
            today,
            False,
            ahead=True,
            rule="common practice: a crack found late has no time left",
        ),
        _milestone("end", "Mechanical window ends", end, today, False, fixed=True, ahead=True),
        _milestone(
            "baseline",
            "Hot readings as the new baseline",
            end + dt.timedelta(days=24),
            today,
            False,
            ahead=True,
            rule="common practice: 2 to 4 weeks after start-up",
        ),
    ]
    return tuple(sorted(found, key=lambda one: (one.date, one.id)))


def _milestone(
    id: str,
    name: str,
    date: dt.date,
    today: dt.date,
    done: bool,
    *,
    joints: tuple[str, ...] = (),
    fixed: bool = False,
    rule: str = "",
    ahead: bool = False,
) -> Milestone:
    late = 0 if done or ahead else max(0, (today - date).days)
    return Milestone(
        id=id,
        name=name,
        date=date,
        due_for=joints,
        late_days=late,
        done=done,
        fixed=fixed,
        rule=rule,
    )


def icalendar(milestones: Sequence[Milestone], name: str = "Takeup dates") -> str:
    """The dates as an iCalendar file (RFC 5545): whole-day events, folded lines."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Takeup//dates//EN",
        "CALSCALE:GREGORIAN",
        f"X-WR-CALNAME:{_escaped(name)}",
    ]
    for one in milestones:
        joints = f" ({', '.join(one.due_for)})" if one.due_for else ""
        late = (
            f" LATE by {one.late_days} day{'s' if one.late_days > 1 else ''}"
            if one.late_days
            else ""
        )
        lines += [
            "BEGIN:VEVENT",
            f"UID:{one.id.replace(' ', '-')}-{one.date:%Y%m%d}@takeup.invalid",
            f"DTSTAMP:{one.date:%Y%m%d}T000000Z",
            f"DTSTART;VALUE=DATE:{one.date:%Y%m%d}",
            f"DTEND;VALUE=DATE:{one.date + dt.timedelta(days=1):%Y%m%d}",
            f"SUMMARY:{_escaped(one.name + joints + late)}",
            f"DESCRIPTION:{_escaped(one.rule)}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) for line in lines)


def _escaped(text: str) -> str:
    for mark, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        text = text.replace(mark, written)
    return text


def _folded(line: str) -> str:
    """Lines of at most 75 octets, continued with a space, never cut inside a character."""
    parts: list[str] = []
    rest = line
    while len(rest.encode("utf-8")) > 75 - bool(parts):
        cut = 75 - bool(parts)
        while len(rest[:cut].encode("utf-8")) > 75 - bool(parts):
            cut -= 1
        parts.append(rest[:cut])
        rest = rest[cut:]
    parts.append(rest)
    return "\r\n ".join(parts) + "\r\n"
