"""What the published cases of the plan room compute, and readers of the benchmark data."""

from __future__ import annotations

import csv
import datetime as dt
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from takeup.plan import portfolio, schedule
from takeup.plan.decoder import Board
from takeup.plan.problem import (
    Demand,
    JointChoices,
    OptionChoice,
    PackTask,
    PortfolioProblem,
    Resource,
    ScheduleProblem,
)
from takeup.plan.solvers import pick
from takeup.register.entities import OptionName, Shifts

DATA = Path(__file__).parent / "data"
MONDAY = dt.datetime(2026, 3, 2)
SHIFTS = {"two": Shifts.TWO_BY_TEN, "days": Shifts.DAYS, "all": Shifts.ROUND_THE_CLOCK}
HALF_HOUR = 0.5
"""A time unit of the library is set to half an hour, the step of the decoder."""


def instances() -> list[str]:
    """Names of the library instances that are kept here, shortest first."""
    return [row["instance"] for row in best_known()]


def best_known() -> list[dict[str, str]]:
    """Bounds and best known makespans, in the library's units."""
    with (DATA / "psplib" / "best_known.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def instance(name: str) -> ScheduleProblem:
    """Read a single-mode instance: everything round the clock, one unit is half an hour."""
    lines = (DATA / "psplib" / f"{name}.sm").read_text(encoding="utf-8").splitlines()

    def rows(title: str, skip: int) -> list[list[int]]:
        at = next(n for n, line in enumerate(lines) if line.startswith(title)) + skip
        found = []
        while at < len(lines) and not lines[at].startswith("*"):
            found.append([int(word) for word in lines[at].split()])
            at += 1
        return found

    after: dict[int, list[int]] = {}
    for job, _, count, *followers in rows("PRECEDENCE RELATIONS", 2):
        assert len(followers) == count, (name, job)
        for follower in followers:
            after.setdefault(follower, []).append(job)
    (capacity,) = rows("RESOURCEAVAILABILITIES", 2)
    work = rows("REQUESTS/DURATIONS", 3)
    return ScheduleProblem(
        tasks=tuple(
            PackTask(
                id=str(job),
                joint="J",
                name=str(job),
                hours=length * HALF_HOUR,
                demands=tuple(Demand(f"R{n}", c) for n, c in enumerate(needs) if c > 0),
                after=tuple(str(one) for one in after.get(job, [])),
            )
            for job, _, length, *needs in work
        ),
        resources=tuple(
            Resource(name=f"R{n}", count=count, shifts=Shifts.ROUND_THE_CLOCK)
            for n, count in enumerate(capacity)
        ),
        start=MONDAY,
        window_hours=HALF_HOUR * sum(row[2] for row in work),
    )


def critical_paths(inputs: dict[str, Any]) -> dict[str, float]:
    """Longest chain of every instance of a set without capacities, in the library's units."""
    found = {}
    for row in best_known():
        if row["set"] == inputs["set"]:
            problem = instance(row["instance"])
            board = Board(problem, problem.window_hours)
            found[row["instance"]] = float(board.chain()[1].max())
    return found


def selection(file: str) -> list[dict[str, Any]]:
    """Selection problems with known optima."""
    found: list[dict[str, Any]] = json.loads((DATA / "portfolio" / file).read_text("utf-8"))
    return found


def as_classes(
    problem: dict[str, Any],
) -> tuple[list[list[float]], list[list[list[float]]], list[float], bool]:
    """Values to minimise, weights, capacities, and whether one of each class must be taken."""
    if "classes" in problem:
        classes = problem["classes"]
        return (
            [[-item["profit"] for item in items] for items in classes],
            [[item["weights"] for item in items] for items in classes],
            problem["capacities"],
            True,
        )
    weights = zip(*problem["weights"], strict=True)
    return (
        [[-profit] for profit in problem["profits"]],
        [[list(one)] for one in weights],
        problem["budgets"],
        False,
    )


def optima(inputs: dict[str, Any]) -> dict[str, float]:
    """Best profit of each problem of a file; the solver must call each proven."""
    found = {}
    for problem in selection(inputs["file"]):
        values, weights, capacities, exactly = as_classes(problem)
        chosen = pick.choose(values, weights, capacities, exactly_one=exactly)
        assert chosen.proven, problem["name"]
        found[problem["name"]] = -chosen.objective
    return found


def one_task(inputs: dict[str, Any]) -> dict[str, float]:
    """Start and end of one task, hours after Monday 00:00."""
    elapsed = inputs.get("elapsed", False)
    problem = ScheduleProblem(
        tasks=(
            PackTask(
                id="J/t",
                joint="J",
                name="t",
                hours=inputs["hours"],
                demands=() if elapsed else (Demand("crew", 1),),
                elapsed=elapsed,
                may_span=inputs.get("may_span", True),
            ),
        ),
        resources=(Resource(name="crew", count=1, shifts=SHIFTS[inputs["shifts"]]),),
        start=MONDAY + dt.timedelta(hours=inputs["ready"]),
        window_hours=10 * 24,
    )
    made = schedule.place(problem)
    assert made.faults == ()
    hour = dt.timedelta(hours=1)
    (task,) = made.tasks
    return {"start": (task.start - MONDAY) / hour, "end": (task.end - MONDAY) / hour}


def crew_limit(inputs: dict[str, Any]) -> dict[str, float]:
    """Equal welding tasks of several joints on few gangs: days of work, makespan, bound."""
    gangs = inputs["gangs"]
    problem = ScheduleProblem(
        tasks=tuple(
            PackTask(
                id=f"J{n}/weld",
                joint=f"J{n}",
                name="weld",
                hours=inputs["hours"],
                demands=(Demand("welders", 1),),
            )
            for n in range(inputs["joints"])
        ),
        resources=(Resource(name="welders", count=gangs, shifts=Shifts.TWO_BY_TEN),),
        start=MONDAY + dt.timedelta(hours=6),
        window_hours=35 * 24,
    )
    made = schedule.place(problem)
    assert made.faults == ()
    assert made.makespan_hours is not None
    ((_, load),) = made.crew_load
    return {
        "welding_days": sum(load) / (gangs * 20),
        "makespan": made.makespan_hours,
        "bound": made.bound_hours,
    }


def budget(inputs: dict[str, Any]) -> dict[str, float]:
    """The hand-size choice through the portfolio; ``weight`` puts risk before cost."""
    weight = inputs.get("weight", 1.0)
    joints = tuple(
        JointChoices(
            joint=name,
            options=tuple(
                OptionChoice(
                    name=OptionName[option],
                    cost=float(cost),
                    risk_cost=float(risk) * weight,
                    allowed=True,
                )
                for option, (cost, risk) in options.items()
            ),
        )
        for name, options in inputs["joints"].items()
    )
    made = portfolio.choose(PortfolioProblem(joints=joints, budget=inputs.get("budget")))
    ties = [choice.joint for choice in made.choices if choice.tie]
    return {
        "risk": sum(choice.risk_cost for choice in made.choices) / weight,
        "spent": made.spent,
        "total": made.objective,
        "ties": float(len(ties)),
        "tie_of_5": float("5" in ties),
    }


CASES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "plan.one_task": one_task,
    "plan.crew_limit": crew_limit,
    "plan.critical_paths": critical_paths,
    "plan.optima": optima,
    "plan.budget": budget,
}
