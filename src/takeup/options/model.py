"""What can be done about a joint, under which conditions, at what cost and gain."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

import msgspec

from takeup.checks import LimitKind
from takeup.register.entities import Crew, OptionName
from takeup.sources import Source


class Truth(StrEnum):
    """State of a condition. Unknown is neither."""

    MET = "met"
    NOT_MET = "not met"
    UNKNOWN = "unknown"


class Condition(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that must hold before an option may be taken."""

    id: str
    text: str
    truth: Truth
    because: str
    """The evidence, or for UNKNOWN the question to ask."""
    evidence: tuple[str, ...] = ()
    essential: bool = True
    """When False, not met is a caution and does not block."""
    source: Source
    limit_kind: LimitKind


class Standing(StrEnum):
    """Whether an option can be taken."""

    OPEN = "open"
    OPEN_IF = "open if the unknowns are settled"
    BLOCKED = "blocked"


class Money(msgspec.Struct, frozen=True, kw_only=True):
    """A cost with its estimate class and range, in money units."""

    likely: float
    low: float
    high: float
    estimate_class: int
    basis: str


class Task(msgspec.Struct, frozen=True, kw_only=True):
    """One step of the outage work of an option.

    ``after`` names tasks of the same option.  ``hours`` are working hours of the crew, or
    clock hours when ``elapsed``.
    """

    id: str
    name: str
    hours: float
    low: float
    high: float
    crew: Crew | None
    gangs: int = 1
    elapsed: bool = False
    """Runs through closed hours (dry-out, heat treatment, transport)."""
    may_span: bool = True
    """Whether it may be interrupted by a shift gap."""
    before_outage: bool = False
    """Done before the window opens (online work)."""
    after: tuple[str, ...] = ()
    hold_point: bool = False


class LongLead(msgspec.Struct, frozen=True, kw_only=True):
    """Something that must be ordered in time."""

    item: str
    lead: float
    """s after order, likely."""
    lead_low: float
    lead_high: float
    on_site: float
    """s before the window opens by which it must be on site."""
    preparation: float
    """s of evaluation, enquiry, drawing approval before the order."""
    source: Source


class Option(msgspec.Struct, frozen=True, kw_only=True):
    """One option for one joint, with its grounds."""

    joint: str
    name: OptionName
    standing: Standing
    why: str
    conditions: tuple[Condition, ...]
    fits_cause: bool | None
    """Whether it mends what the evidence shows; ``None`` when no cause is known."""
    cause_note: str = ""
    cost: Money
    chain_hours: float
    """Longest chain of its tasks in the window, hours."""
    needs_outage: bool
    tasks: tuple[Task, ...]
    long_lead: tuple[LongLead, ...] = ()
    lasts_to_next: float | None
    """Chance of lasting to the next outage with this option; ``None`` unknown."""
    lasts_to_second: float | None
    """Chance of lasting from now, or from the next outage when done there, to the second."""
    life_words: str
    """Expected life afterwards in words, with its basis."""
    hazards: tuple[str, ...]
    cautions: tuple[str, ...]
    expires: bool = False
    """A temporary repair that must be removed at the next outage."""
    order_by: dt.date | None = None
    """Last date to start preparation; filled by plan.calendar."""
