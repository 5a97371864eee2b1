"""Problems as data, answers with status, schedule and bound."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

import msgspec

from takeup.options.model import Money, Option
from takeup.register.entities import Crew, OptionName, Shifts


class Status(StrEnum):
    """How far a solver got. Infeasible and out of time are kept apart."""

    OPTIMAL = "proven best"
    FEASIBLE = "feasible, not proven best"
    INFEASIBLE = "no solution exists"
    OUT_OF_TIME = "stopped before a solution was found"


class Milestone(msgspec.Struct, frozen=True, kw_only=True):
    """A date of the calendar backward from the outage."""

    id: str
    name: str
    date: dt.date
    due_for: tuple[str, ...] = ()
    """Joints it concerns; empty: the whole unit."""
    late_days: int = 0
    """Days by which it is already past; 0 when still ahead."""
    done: bool = False
    fixed: bool = False
    """Set by the site rather than derived."""
    note: str = ""
    rule: str = ""


class LateOption(msgspec.Struct, frozen=True, kw_only=True):
    """An option that can no longer be had in time, and what was taken instead."""

    joint: str
    preferred: OptionName
    taken: OptionName
    order_by: dt.date
    late_days: int
    words: str


class Choice(msgspec.Struct, frozen=True, kw_only=True):
    """The option taken for one joint, and what else stood near."""

    joint: str
    option: OptionName
    forced: bool
    """True when a person's decision fixed it."""
    cost: float
    risk_cost: float
    """Expected money lost to failure to the second outage."""
    second_best: OptionName | None
    regret: float | None
    """How much worse the second best is, money."""
    tie: bool = False
    why: str


class Portfolio(msgspec.Struct, frozen=True, kw_only=True):
    """One option per joint under a budget."""

    status: Status
    budget: float | None
    spent: float
    cost: Money
    objective: float
    bound: float
    gap: float
    choices: tuple[Choice, ...]
    late: tuple[LateOption, ...]
    excluded: tuple[str, ...] = ()
    """Joints without any open option, with why."""
    marginal: tuple[tuple[float, float], ...] = ()
    """(budget, residual risk cost) points around the chosen budget."""
    notes: tuple[str, ...] = ()


class Supply(msgspec.Struct, frozen=True, kw_only=True):
    """Gangs of a crew and their working calendar."""

    crew: Crew
    gangs: int
    shifts: Shifts


class PlannedTask(msgspec.Struct, frozen=True, kw_only=True):
    """One task placed on the clock."""

    id: str
    """``joint/task``."""
    joint: str
    name: str
    crew: Crew | None
    gangs: int
    start: dt.datetime
    end: dt.datetime
    hours: float
    elapsed: bool
    critical: bool
    float_hours: float


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """A rule that a schedule breaks, in words a planner reads."""

    rule: str
    tasks: tuple[str, ...]
    words: str


class Schedule(msgspec.Struct, frozen=True, kw_only=True):
    """A resource-limited outage schedule."""

    status: Status
    start: dt.datetime
    window_end: dt.datetime
    finish: dt.datetime | None
    makespan_hours: float | None
    bound_hours: float
    bound_why: str
    """Which bound governs: chain, crew or solver."""
    tasks: tuple[PlannedTask, ...]
    crew_load: tuple[tuple[str, tuple[float, ...]], ...]
    """(crew, gangs busy in each hour from start)."""
    supplies: tuple[Supply, ...]
    faults: tuple[Fault, ...]
    """From the independent judge; empty means it may be shown."""
    notes: tuple[str, ...] = ()


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """Options, choice, calendar and schedule for one outage: what documents are made of."""

    outage: str
    today: dt.date
    options: tuple[Option, ...]
    portfolio: Portfolio
    calendar: tuple[Milestone, ...]
    schedule: Schedule
    inputs_hash: str
    version: str

    def option(self, joint: str, name: OptionName) -> Option | None:
        """The option ``name`` of ``joint``."""
        return next((o for o in self.options if o.joint == joint and o.name == name), None)

    def of_joint(self, joint: str) -> tuple[Option, ...]:
        """All options of ``joint``."""
        return tuple(option for option in self.options if option.joint == joint)
