"""The serial decoder: an order of tasks becomes a schedule on true calendars, exactly. Pure.

Each crew has its own axis of open half-hours.  On it a task takes consecutive places, so a
task that spans a shift gap keeps its place and resumes; capacity is counted on the axis.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from takeup.plan.axes import STEP, Units, open_units
from takeup.plan.problem import ScheduleProblem

Ints = NDArray[np.int64]


class Board:
    """A problem laid out in arrays; decodes orders forward, or backward in mirrored time."""

    def __init__(self, problem: ScheduleProblem, horizon_hours: float) -> None:
        self.problem = problem
        tasks = problem.tasks
        self.count = len(tasks)
        self.horizon = int(np.ceil(horizon_hours / STEP))
        midnight = problem.start.replace(hour=0, minute=0, second=0, microsecond=0)
        self.offset = round((problem.start - midnight).total_seconds() / 3600 / STEP)
        place = {task.id: number for number, task in enumerate(tasks)}
        # rounded up: a short task never vanishes
        self.length = [int(np.ceil(task.hours / STEP - 1e-9)) for task in tasks]
        self.before = [[place[name] for name in task.after] for task in tasks]
        self.behind: list[list[int]] = [[] for _ in tasks]
        for number, names in enumerate(self.before):
            for name in names:
                self.behind[name].append(number)
        by_name = {resource.name: n for n, resource in enumerate(problem.resources)}
        self.axis = [
            open_units(resource.shifts, self.offset, self.horizon) for resource in problem.resources
        ]
        self.capacity = [resource.count for resource in problem.resources]
        self.demand = [
            [(by_name[d.resource], d.count) for d in task.demands if d.count > 0] for task in tasks
        ]
        self.spans = [task.may_span for task in tasks]
        self.elapsed = [task.elapsed for task in tasks]
        self.topological = self._topological()

    def _topological(self) -> list[int]:
        left = [len(names) for names in self.before]
        ready = [number for number in range(self.count) if left[number] == 0]
        order = []
        while ready:
            number = ready.pop(0)
            order.append(number)
            for following in self.behind[number]:
                left[following] -= 1
                if left[following] == 0:
                    ready.append(following)
        return order

    def decode(
        self, rank: Sequence[float], *, mirror: int = 0, unlimited: bool = False
    ) -> tuple[Ints, Ints]:
        """Place tasks one by one, lowest ``rank`` first among those whose predecessors are placed.

        Returns start and end units.  ``mirror`` runs time and precedence backward from that
        unit; ``unlimited`` ignores capacities (the longest-chain bound).  A task that does not
        fit gets -1.
        """
        import heapq

        before = self.behind if mirror else self.before
        behind = self.before if mirror else self.behind
        limit = mirror or self.horizon
        axes = (
            [mirror - 1 - axis[: np.searchsorted(axis, mirror)][::-1] for axis in self.axis]
            if mirror
            else self.axis
        )
        used = [np.zeros(axis.size + 1, dtype=np.int64) for axis in axes]
        start = np.full(self.count, -1, dtype=np.int64)
        end = np.full(self.count, -1, dtype=np.int64)
        left = [len(names) for names in before]
        ready = [(rank[n], n) for n in range(self.count) if left[n] == 0]
        heapq.heapify(ready)
        while ready:
            _, number = heapq.heappop(ready)
            earliest = max((int(end[name]) for name in before[number]), default=0)
            start[number], end[number] = self._place(
                number, earliest, axes, used, limit, unlimited=unlimited
            )
            if end[number] < 0:
                return np.full_like(start, -1), np.full_like(end, -1)
            for following in behind[number]:
                left[following] -= 1
                if left[following] == 0:
                    heapq.heappush(ready, (rank[following], following))
        if mirror:
            return mirror - end, mirror - start
        return start, end

    def _place(
        self,
        number: int,
        earliest: int,
        axes: Sequence[Units],
        used: list[Ints],
        limit: int,
        *,
        unlimited: bool,
    ) -> tuple[int, int]:
        length, demands = self.length[number], self.demand[number]
        if length == 0:
            return earliest, earliest
        if self.elapsed[number] or not demands:
            return (earliest, earliest + length) if earliest + length <= limit else (-1, -1)
        lead = demands[0][0]
        axis = axes[lead]
        first = int(np.searchsorted(axis, earliest))
        last = axis.size - length
        if first > last:
            return -1, -1
        good: NDArray[np.bool_]
        if unlimited:
            good = np.ones(last - first + 1, dtype=bool)
        else:
            free = np.ones(axis.size - first, dtype=bool)
            for resource, count in demands:
                # several resources on one task share one calendar (checked when made)
                free &= used[resource][first:-1] + count <= self.capacity[resource]
            run = np.concatenate([[0], np.cumsum(free)])
            good = run[length:] - run[:-length] == length
        if not self.spans[number]:
            here = axis[first : last + 1]
            good = good & (axis[first + length - 1 : axis.size] - here == length - 1)
        found = int(np.argmax(good))
        if not good[found]:
            return -1, -1
        at = first + found
        if not unlimited:
            for resource, count in demands:
                used[resource][at : at + length] += count
        return int(axis[at]), int(axis[at + length - 1]) + 1

    def chain(self) -> tuple[Ints, Ints]:
        """Earliest starts and ends without capacities."""
        return self.decode([0.0] * self.count, unlimited=True)

    def tails(self) -> Ints:
        """Length in units of the work behind each task's start, itself included, calendars aside."""
        tail = np.zeros(self.count, dtype=np.int64)
        for number in reversed(self.topological):
            behind = max((int(tail[name]) for name in self.behind[number]), default=0)
            tail[number] = self.length[number] + behind
        return tail
