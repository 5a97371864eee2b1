"""Place outage tasks on true calendars under scarce crews, with a lower bound beside it. Pure.

Two layers: a fast exact decoder turns an order into a schedule; a constraint solver on one
common axis, justification and seeded re-decodes look for better orders.
"""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.errors import Contradiction, TakeupError
from takeup.plan.axes import STEP
from takeup.plan.decoder import Board, Ints
from takeup.plan.faults import Placed, faults, unplaceable
from takeup.plan.model import Fault, PlannedTask, Schedule, Status, Supply
from takeup.plan.problem import ScheduleProblem
from takeup.plan.solvers import cp
from takeup.progress import Progress, silent
from takeup.register.entities import Crew, Shifts

SEED = 20_260
LONGEST = 24.0 * 1500
"""Hours; work that takes longer is refused as a slip in the hours or crews."""


class Solution(msgspec.Struct, frozen=True, kw_only=True):
    """Starts and ends in half-hours from the start, with the bound."""

    start: tuple[int, ...]
    end: tuple[int, ...]
    makespan: int
    bound: int
    bound_why: str
    proven: bool


def place(
    problem: ScheduleProblem, *, effort: float = 1.0, progress: Progress = silent
) -> Schedule:
    """Schedule a problem; ``effort`` 1 is some 20 s for 960 tasks of 60 joints, 0 under one.

    The answer is the same for the same input and effort.  A crew that is needed but has no
    gang gives an infeasible schedule with the reason in words, not an error.
    """
    impossible = unplaceable(problem)
    if impossible:
        return _empty(problem, impossible)
    if not problem.tasks:
        return _empty(problem, (), status=Status.OPTIMAL)
    board, solution = solve(problem, effort=effort, progress=progress)
    placed = _placed(problem, board, solution)
    found = faults(problem, placed)
    planned = _planned(problem, board, solution)
    return Schedule(
        status=Status.OPTIMAL if solution.proven and not found else Status.FEASIBLE,
        start=problem.start,
        window_end=problem.start + dt.timedelta(hours=problem.window_hours),
        finish=max(task.end for task in planned),
        makespan_hours=solution.makespan * STEP,
        bound_hours=solution.bound * STEP,
        bound_why=solution.bound_why,
        tasks=planned,
        crew_load=_load(problem, placed, solution.makespan),
        supplies=_supplies(problem),
        faults=found,
    )


def solve(
    problem: ScheduleProblem, *, effort: float = 1.0, progress: Progress = silent
) -> tuple[Board, Solution]:
    """Find a good order and its schedule; raises Contradiction for mixed calendars on a task.

    Raises :class:`takeup.errors.TakeupError` when the work fits into no horizon at all.
    """
    calendars = {resource.name: resource.shifts for resource in problem.resources}
    for task in problem.tasks:
        if len({calendars[demand.resource] for demand in task.demands}) > 1:
            raise Contradiction(
                f"task {task.id} needs crews of different calendars; give them the same shifts, "
                "or split the task"
            )
    progress(0.0, "longest chain")
    ahead = [0.0 if task.first else 1e9 for task in problem.tasks]
    board, best = _first(problem, ahead)
    _, chain_end = board.chain()
    chain = int(chain_end.max(initial=0))
    bound, why = chain, "longest chain of one joint on its crews' calendars"
    for crew, units in _energy(board):
        if units > bound:
            bound, why = units, f"work content of {crew}"
    best = _justified(board, best, ahead)
    progress(0.15, f"first schedule {best[1].max() * STEP:.0f} h")

    flat = all(r.shifts == Shifts.ROUND_THE_CLOCK for r in problem.resources)
    if int(best[1].max()) > bound and effort > 0:
        progress(0.2, "looking for a better order")
        order, exact_bound = _by_solver(board, best, effort, flat)
        progress(0.45, "best order of the solver placed on the crews' calendars")
        if flat and exact_bound > bound:
            bound, why = exact_bound, "proven by the solver"
        if order is not None:
            found = board.decode([a + s for a, s in zip(ahead, order, strict=True)])
            best = _better(best, found)
            best = _justified(board, best, ahead)
    best = _shaken(board, best, ahead, bound, round(120 * effort), progress)
    makespan = int(best[1].max())
    return board, Solution(
        start=tuple(int(s) for s in best[0]),
        end=tuple(int(e) for e in best[1]),
        makespan=makespan,
        bound=min(bound, makespan),
        bound_why=why,
        proven=makespan <= bound,
    )


def _first(problem: ScheduleProblem, ahead: Sequence[float]) -> tuple[Board, tuple[Ints, Ints]]:
    """A first schedule, longest tail first, on a horizon that is long enough to hold it."""
    work = sum(task.hours for task in problem.tasks)
    usual = max(4.0 * problem.window_hours, 3.0 * problem.window_hours + 24.0) + 3.0 * work
    # one after another, each waiting a night: what any order needs at the very most
    surely = sum(2.4 * task.hours + 48.0 for task in problem.tasks) + 48.0
    for horizon in (min(usual, LONGEST), min(max(usual, surely), LONGEST)):
        board = Board(problem, horizon)
        rank = [first - float(tail) for first, tail in zip(ahead, board.tails(), strict=True)]
        best = board.decode(rank)
        if int(best[1].min()) >= 0:
            return board, best
    raise TakeupError(
        f"the work does not fit into {LONGEST / 24:,.0f} days with the crews on record, so there "
        "is no schedule to show; look for a task with far too many hours, or enter more gangs"
    )


def _better(one: tuple[Ints, Ints], other: tuple[Ints, Ints]) -> tuple[Ints, Ints]:
    if int(other[1].min()) < 0:
        return one
    if int(one[1].min()) < 0:
        return other
    return other if int(other[1].max()) < int(one[1].max()) else one


def _justified(board: Board, found: tuple[Ints, Ints], ahead: Sequence[float]) -> tuple[Ints, Ints]:
    """Push everything right, then left again; keep it when it is shorter."""
    if int(found[1].min()) < 0:
        return found
    right = board.decode([-float(end) for end in found[1]], mirror=int(found[1].max()))
    if int(right[0].min()) < 0:
        return found
    left = board.decode(
        [first + float(start) for first, start in zip(ahead, right[0], strict=True)]
    )
    return _better(found, left)


def _by_solver(
    board: Board, best: tuple[Ints, Ints], effort: float, flat: bool
) -> tuple[list[float] | None, int]:
    """An order from the solver on one common axis.

    With calendars the axis is that of the busiest pattern: a crew that works fewer hours
    has its tasks stretched in proportion, an elapsed task is shrunk.  Only the order is
    used then; the bound counts only when all work round the clock.
    """
    tasks = board.problem.tasks
    share = {Shifts.ROUND_THE_CLOCK: 1.0, Shifts.TWO_BY_TEN: 20 / 24, Shifts.DAYS: 10 / 24}
    top = 1.0 if flat else 20 / 24
    lengths = []
    for number in range(board.count):
        demands = board.demand[number]
        if board.elapsed[number] or not demands:
            factor = top
        else:
            shifts = board.problem.resources[demands[0][0]].shifts
            factor = max(1.0, top / share[shifts])
        lengths.append(
            board.length[number] if flat else int(np.ceil(board.length[number] * factor))
        )
    hint: list[int] = [int(s) for s in best[0]] if flat and int(best[1].min()) >= 0 else []
    found = cp.solve(
        lengths,
        board.before,
        [[] if tasks[n].elapsed else board.demand[n] for n in range(board.count)],
        board.capacity,
        hint=hint,
        effort=(2.0 if flat else 0.5) * effort,
    )
    if not found.starts:
        return None, found.bound
    return [float(start) for start in found.starts], found.bound


def _shaken(
    board: Board,
    best: tuple[Ints, Ints],
    ahead: Sequence[float],
    bound: int,
    rounds: int,
    progress: Progress,
) -> tuple[Ints, Ints]:
    """Seeded re-decodes around the best order found so far."""
    dice = random.Random(SEED)
    for number in range(rounds):
        if int(best[1].max()) <= bound:
            break
        if number % 10 == 0:
            progress(
                0.5 + 0.5 * number / rounds,
                f"{best[1].max() * STEP:.0f} h, bound {bound * STEP:.0f} h",
            )
        spread = float(best[1].max()) * (0.02 + 0.10 * dice.random())
        rank = [
            first + float(start) + dice.uniform(-spread, spread)
            for first, start in zip(ahead, best[0], strict=True)
        ]
        found = board.decode(rank)
        if int(found[1].min()) >= 0 and int(found[1].max()) <= int(best[1].max()) * 1.03:
            found = _justified(board, found, ahead)
        best = _better(best, found)
    return best


def _energy(board: Board) -> list[tuple[str, int]]:
    """For each crew the earliest unit by which its work, with least head and tail, can be done."""
    heads, _ = board.chain()
    tails = board.tails()
    found = []
    for index, resource in enumerate(board.problem.resources):
        work, head, tail = 0, None, None
        for number in range(board.count):
            need = sum(count for r, count in board.demand[number] if r == index)
            if need == 0 or board.elapsed[number]:
                continue
            work += need * board.length[number]
            start = int(heads[number])
            head = start if head is None else min(head, start)
            behind = int(tails[number]) - board.length[number]
            tail = behind if tail is None else min(tail, behind)
        if work == 0 or resource.count == 0 or head is None or tail is None:
            continue
        axis = board.axis[index]
        first = int(np.searchsorted(axis, head))
        needed = -(-work // resource.count)
        last = min(first + needed - 1, axis.size - 1)
        found.append((resource.name, int(axis[last]) + 1 + tail))
    return found


def _placed(problem: ScheduleProblem, board: Board, solution: Solution) -> tuple[Placed, ...]:
    return tuple(
        Placed(
            task=task,
            start=problem.start + dt.timedelta(hours=solution.start[n] * STEP),
            end=problem.start + dt.timedelta(hours=solution.end[n] * STEP),
        )
        for n, task in enumerate(problem.tasks)
    )


def _planned(problem: ScheduleProblem, board: Board, solution: Solution) -> tuple[PlannedTask, ...]:
    late = board.decode([-float(end) for end in solution.end], mirror=solution.makespan)
    crews = {crew.value: crew for crew in Crew}
    planned = []
    for n, task in enumerate(problem.tasks):
        # latest start in a right-pushed schedule of the same length and crews
        latest = int(late[0][n]) if int(late[0][n]) >= 0 else solution.start[n]
        spare = max(0.0, (latest - solution.start[n]) * STEP)
        main = task.demands[0] if task.demands else None
        planned.append(
            PlannedTask(
                id=task.id,
                joint=task.joint,
                name=task.name,
                crew=crews.get(main.resource) if main else None,
                gangs=main.count if main else 0,
                start=problem.start + dt.timedelta(hours=solution.start[n] * STEP),
                end=problem.start + dt.timedelta(hours=solution.end[n] * STEP),
                hours=task.hours,
                elapsed=task.elapsed,
                critical=spare <= 1.0,
                float_hours=spare,
            )
        )
    return tuple(planned)


def _load(
    problem: ScheduleProblem, placed: Sequence[Placed], makespan: int
) -> tuple[tuple[str, tuple[float, ...]], ...]:
    """Gangs busy in each hour, closed hours zero."""
    from takeup.plan.axes import open_in_day

    hours = int(np.ceil(makespan * STEP))
    midnight = problem.start.replace(hour=0, minute=0, second=0, microsecond=0)
    offset = round((problem.start - midnight).total_seconds() / 1800)
    found = []
    for resource in problem.resources:
        busy = np.zeros(2 * hours + 2)
        for one in placed:
            need = sum(d.count for d in one.task.demands if d.resource == resource.name)
            if need and not one.task.elapsed:
                a = round((one.start - problem.start).total_seconds() / 1800)
                b = round((one.end - problem.start).total_seconds() / 1800)
                busy[a:b] += need
        pattern = open_in_day(resource.shifts)
        busy *= pattern[(np.arange(busy.size) + offset) % 48]
        found.append(
            (resource.name, tuple(float(x) for x in busy[: 2 * hours].reshape(-1, 2).mean(1)))
        )
    return tuple(found)


def _supplies(problem: ScheduleProblem) -> tuple[Supply, ...]:
    crews = {crew.value: crew for crew in Crew}
    return tuple(
        Supply(crew=crews[resource.name], gangs=resource.count, shifts=resource.shifts)
        for resource in problem.resources
        if resource.name in crews
    )


def _empty(
    problem: ScheduleProblem,
    found: tuple[Fault, ...],
    status: Status = Status.INFEASIBLE,
) -> Schedule:
    return Schedule(
        status=status,
        start=problem.start,
        window_end=problem.start + dt.timedelta(hours=problem.window_hours),
        finish=None,
        makespan_hours=None,
        bound_hours=0.0,
        bound_why="nothing to place" if not problem.tasks else "not placed",
        tasks=(),
        crew_load=(),
        supplies=_supplies(problem),
        faults=found,
    )
