"""The two problems of planning as plain data that refuses nonsense when made."""

from __future__ import annotations

import datetime as dt

import msgspec

from takeup.errors import Contradiction
from takeup.register.entities import OptionName, Shifts


class OptionChoice(msgspec.Struct, frozen=True, kw_only=True):
    """One option of one joint as the portfolio sees it."""

    name: OptionName
    cost: float
    risk_cost: float
    """Money expected to be lost to failure over both runs, and obligations that it leaves."""
    allowed: bool
    why_not: str = ""
    forced: bool = False
    late_days: int = 0
    order_by: dt.date | None = None


class JointChoices(msgspec.Struct, frozen=True, kw_only=True):
    """The options of one joint."""

    joint: str
    options: tuple[OptionChoice, ...]
    must_act: bool = False
    """Leaving it alone is not among the choices unless a person forces it."""

    def __post_init__(self) -> None:
        names = [option.name for option in self.options]
        if len(set(names)) != len(names):
            raise Contradiction(f"{self.joint}: an option is listed twice")
        if sum(option.forced for option in self.options) > 1:
            raise Contradiction(f"{self.joint}: two options are forced; one joint, one option")
        for option in self.options:
            if option.cost < 0 or option.risk_cost < 0:
                raise Contradiction(f"{self.joint}, {option.name.value}: a cost below zero")


class PortfolioProblem(msgspec.Struct, frozen=True, kw_only=True):
    """One option for each joint under a budget."""

    joints: tuple[JointChoices, ...]
    budget: float | None
    """Money that may be spent (after the reserve); ``None`` is no limit."""

    def __post_init__(self) -> None:
        if self.budget is not None and self.budget < 0:
            raise Contradiction("the budget is below zero")


class Demand(msgspec.Struct, frozen=True):
    """How many of a resource a task holds while it works."""

    resource: str
    count: int


class PackTask(msgspec.Struct, frozen=True, kw_only=True):
    """One task of the schedule. Hours are working hours, or clock hours when elapsed."""

    id: str
    joint: str
    name: str
    hours: float
    demands: tuple[Demand, ...] = ()
    elapsed: bool = False
    may_span: bool = True
    after: tuple[str, ...] = ()
    first: bool = False
    """To be placed before others: inspection and what it needs, so that finds come early."""


class Resource(msgspec.Struct, frozen=True, kw_only=True):
    """A crew or machine: how many, and when they work."""

    name: str
    count: int
    shifts: Shifts


class ScheduleProblem(msgspec.Struct, frozen=True, kw_only=True):
    """Tasks to place between ``start`` and ``start`` + ``window_hours``."""

    tasks: tuple[PackTask, ...]
    resources: tuple[Resource, ...]
    start: dt.datetime
    """Local time of the site."""
    window_hours: float

    def __post_init__(self) -> None:
        ids = [task.id for task in self.tasks]
        known = set(ids)
        if len(known) != len(ids):
            twice = next(id for id in ids if ids.count(id) > 1)
            raise Contradiction(f"task {twice} is listed twice")
        names = {resource.name for resource in self.resources}
        for task in self.tasks:
            if task.hours < 0:
                raise Contradiction(
                    f"task {task.id} takes {task.hours} hours; it must be 0 or more"
                )
            for name in task.after:
                if name not in known:
                    raise Contradiction(f"task {task.id} comes after {name}, which does not exist")
            for demand in task.demands:
                if demand.resource not in names:
                    raise Contradiction(
                        f"task {task.id} needs {demand.resource}, which is not given"
                    )
        circle = _circle(self.tasks)
        if circle:
            raise Contradiction(f"tasks wait for each other in a circle: {' → '.join(circle)}")


def _circle(tasks: tuple[PackTask, ...]) -> list[str]:
    """A circle among the tasks, as ids from first to itself again; empty when there is none."""
    after = {task.id: task.after for task in tasks}
    state: dict[str, int] = {}
    for root, first in after.items():
        if root in state:
            continue
        path = [root]
        stack = [iter(first)]
        state[root] = 1
        while stack:
            following = next(stack[-1], None)
            if following is None:
                state[path.pop()] = 2
                stack.pop()
            elif state.get(following) == 1:
                return [*path[path.index(following) :], following]
            elif following not in state:
                state[following] = 1
                path.append(following)
                stack.append(iter(after[following]))
    return []
