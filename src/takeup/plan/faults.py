"""The judge: every rule a schedule breaks, in words a planner reads.

Written from the rules and not from the maker's arrays, so that a slip in the maker cannot
hide itself.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence

import msgspec

from takeup.plan.model import Fault
from takeup.plan.problem import PackTask, ScheduleProblem
from takeup.register.entities import Shifts

HALF = dt.timedelta(minutes=30)


class Placed(msgspec.Struct, frozen=True, kw_only=True):
    """A task with its start and end on the clock."""

    task: PackTask
    start: dt.datetime
    end: dt.datetime


def works(shifts: Shifts, when: dt.datetime) -> bool:
    """Whether a crew of these shifts works in the half-hour that begins at ``when``."""
    clock = when.hour + when.minute / 60
    if shifts == Shifts.ROUND_THE_CLOCK:
        return True
    if shifts == Shifts.DAYS:
        return 6 <= clock < 16
    return 6 <= clock < 16 or clock >= 18 or clock < 4


def faults(problem: ScheduleProblem, placed: Sequence[Placed]) -> tuple[Fault, ...]:
    """List every rule the schedule breaks; empty means it may be shown."""
    by_id = {one.task.id: one for one in placed}
    found = [
        Fault(rule="placed", tasks=(task.id,), words=f"{task.id} is not placed")
        for task in problem.tasks
        if task.id not in by_id
    ]
    shifts = {resource.name: resource.shifts for resource in problem.resources}
    counts = {resource.name: resource.count for resource in problem.resources}
    load: dict[str, dict[dt.datetime, list[PackTask]]] = {
        name: defaultdict(list) for name in counts
    }
    for one in placed:
        task = one.task
        if one.start < problem.start:
            found.append(
                Fault(rule="start", tasks=(task.id,), words=f"{task.id} starts before the window")
            )
        for name in task.after:
            other = by_id.get(name)
            if other is not None and other.end > one.start:
                found.append(
                    Fault(
                        rule="order",
                        tasks=(name, task.id),
                        words=f"{task.id} starts before {name} has ended",
                    )
                )
        found += _hours(one, shifts)
        if task.elapsed:
            continue
        for demand in task.demands:
            when = one.start
            while when < one.end:
                if works(shifts[demand.resource], when):
                    load[demand.resource][when] += [task] * demand.count
                when += HALF
    for name, hours in load.items():
        over = [(when, tasks) for when, tasks in hours.items() if len(tasks) > counts[name]]
        if over:
            when, tasks = min(over, key=lambda pair: pair[0])
            ids = tuple(dict.fromkeys(task.id for task in tasks))
            found.append(
                Fault(
                    rule="crew",
                    tasks=ids,
                    words=f"{name}: {len(tasks)} gangs needed of {counts[name]} at "
                    f"{when:%Y-%m-%d %H:%M}",
                )
            )
    found += _window(problem, placed)
    return tuple(found)


def _hours(one: Placed, shifts: dict[str, Shifts]) -> list[Fault]:
    """Whether a task works only in open hours, long enough, and unbroken where it must be."""
    task, found = one.task, []
    span = (one.end - one.start) / dt.timedelta(hours=1)
    if task.elapsed or not task.demands:
        if _wrong(span, task.hours):
            found.append(
                Fault(
                    rule="length",
                    tasks=(task.id,),
                    words=f"{task.id} takes {span:g} h of the clock instead of {task.hours:g}",
                )
            )
        return found
    own = shifts[task.demands[0].resource]
    worked, when, gap = 0.0, one.start, False
    while when < one.end:
        if works(own, when):
            worked += 0.5
        else:
            gap = True
        when += HALF
    if _wrong(worked, task.hours):
        found.append(
            Fault(
                rule="length",
                tasks=(task.id,),
                words=f"{task.id} works {worked:g} open hours instead of {task.hours:g}",
            )
        )
    if one.end > one.start and not works(own, one.start):
        found.append(
            Fault(rule="shift", tasks=(task.id,), words=f"{task.id} starts in closed hours")
        )
    if gap and not task.may_span:
        found.append(
            Fault(
                rule="span",
                tasks=(task.id,),
                words=f"{task.id} must not be interrupted, but spans a shift gap",
            )
        )
    return found


def _wrong(taken: float, hours: float) -> bool:
    """Whether time taken is short of the hours, or more than rounding up to half hours gives."""
    return not -1e-6 <= taken - hours < 0.5


def _window(problem: ScheduleProblem, placed: Sequence[Placed]) -> list[Fault]:
    end = problem.start + dt.timedelta(hours=problem.window_hours)
    late = sorted((one for one in placed if one.end > end), key=lambda one: one.end)
    if not late:
        return []
    last = late[-1]
    joints = tuple(dict.fromkeys(one.task.joint for one in late))
    days = (last.end - end) / dt.timedelta(days=1)
    return [
        Fault(
            rule="window",
            tasks=(last.task.id,),
            words=f"the last task, {last.task.id}, ends {days:.1f} days after the window; "
            f"joints that do not fit: {', '.join(joints)}",
        )
    ]


def unplaceable(problem: ScheduleProblem) -> tuple[Fault, ...]:
    """Why no schedule can exist: crews without gangs, tasks longer than any shift."""
    found = []
    counts = {resource.name: resource for resource in problem.resources}
    needs: dict[str, list[str]] = defaultdict(list)
    for task in problem.tasks:
        if task.hours <= 0 or task.elapsed:
            continue
        for demand in task.demands:
            if demand.count > counts[demand.resource].count:
                needs[demand.resource].append(task.id)
        if task.demands and not task.may_span:
            longest = {Shifts.DAYS: 10.0, Shifts.TWO_BY_TEN: 10.0}.get(
                counts[task.demands[0].resource].shifts
            )
            if longest is not None and task.hours > longest:
                found.append(
                    Fault(
                        rule="span",
                        tasks=(task.id,),
                        words=f"{task.id} takes {task.hours:g} h in one go, but a shift of "
                        f"{task.demands[0].resource} has {longest:g} h; let it span shifts, or "
                        "give the crew round-the-clock hours",
                    )
                )
    for name, tasks in needs.items():
        have = counts[name].count
        found.append(
            Fault(
                rule="crew",
                tasks=tuple(tasks[:5]),
                words=f"{name}: {have} gangs on record, but {len(tasks)} {'task needs' if len(tasks) == 1 else 'tasks need'} more "
                f"(first {tasks[0]}); enter gangs in the sheet Crews",
            )
        )
    return tuple(found)
