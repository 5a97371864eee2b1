"""Gaps of the schedule maker on library instances: python benchmarks/schedule.py [effort] [sets].

Prints for each set the gap of schedule and bound to the best known makespan, and the time; the
set "outage" is a made-up outage of 60 joints on shift calendars, which has no known best.
"""

from __future__ import annotations

import datetime as dt
import importlib.util
import random
import sys
import time
from pathlib import Path
from statistics import mean

from takeup.plan import schedule
from takeup.plan.problem import Demand, PackTask, Resource, ScheduleProblem
from takeup.register.entities import Shifts

HERE = Path(__file__).parent
ADAPTER = HERE.parent / "tests" / "published" / "plan" / "adapter.py"


CREWS = {
    "scaffold": (6, Shifts.TWO_BY_TEN),
    "insulation": (6, Shifts.DAYS),
    "fitters": (6, Shifts.TWO_BY_TEN),
    "crane": (3, Shifts.TWO_BY_TEN),
    "welders": (4, Shifts.TWO_BY_TEN),
    "nde": (3, Shifts.TWO_BY_TEN),
    "refractory": (3, Shifts.DAYS),
    "test": (4, Shifts.TWO_BY_TEN),
}
STEPS = (
    ("test", 4), ("scaffold", 10), ("insulation", 8), ("nde", 4), ("fitters", 12), ("crane", 6),
    ("welders", 30), ("nde", 6), ("welders", 20), (None, 18), ("nde", 4), ("refractory", 16),
    (None, 30), ("test", 6), ("insulation", 8), ("scaffold", 6),
)  # fmt: skip
"""Crew and likely hours of one joint's work; without a crew the clock runs."""


def outage(joints: int = 60) -> ScheduleProblem:
    """A made-up outage, the same each time, with too few welders."""
    dice = random.Random(3)
    tasks = []
    for joint in range(joints):
        for step, (crew, hours) in enumerate(STEPS):
            tasks.append(
                PackTask(
                    id=f"J{joint}/{step}",
                    joint=f"J{joint}",
                    name=f"J{joint}/{step}",
                    hours=round(hours * dice.uniform(0.6, 1.4) * 2) / 2,
                    demands=(Demand(crew, 1),) if crew else (),
                    elapsed=crew is None,
                    after=(f"J{joint}/{step - 1}",) if step else (),
                    first=step < 4,
                )
            )
    return ScheduleProblem(
        tasks=tuple(tasks),
        resources=tuple(
            Resource(name=name, count=count, shifts=shifts)
            for name, (count, shifts) in CREWS.items()
        ),
        start=dt.datetime(2026, 3, 2, 6),
        window_hours=35 * 24,
    )


def whole_outage(effort: float) -> bool:
    """Report on the made-up outage; whether any rule but the window is broken."""
    problem = outage()
    began = time.perf_counter()
    made = schedule.place(problem, effort=effort)
    seconds = time.perf_counter() - began
    found, bound = made.makespan_hours or 0.0, made.bound_hours
    print(
        f"outage: {len(problem.tasks)} tasks, {found:g} h, bound {bound:g} h "
        f"({made.bound_why}), gap {100 * (found - bound) / bound:.1f} %, {seconds:.1f} s"
    )
    return any(fault.rule != "window" for fault in made.faults)


def main(effort: float, sets: list[str]) -> int:
    """Run the sets; a schedule with faults or below a proven bound is an error."""
    spec = importlib.util.spec_from_file_location("published_plan", ADAPTER)
    assert spec is not None
    assert spec.loader is not None
    library = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(library)
    wrong = 0
    print(f"effort {effort:g}; gaps to the best known makespan")
    print(
        f"{'instance':<11}{'best':>6}{'found':>7}{'gap %':>7}{'bound':>7}{'gap %':>7}{'s':>7}  proof"
    )
    for name in sets:
        if name == "outage":
            wrong += whole_outage(effort)
            continue
        gaps, below, seconds = [], [], []
        proven = 0
        for row in library.best_known():
            if row["set"] != name:
                continue
            problem = library.instance(row["instance"])
            began = time.perf_counter()
            made = schedule.place(problem, effort=effort)
            seconds.append(time.perf_counter() - began)
            best, low = int(row["best_known"]), int(row["lower_bound"])
            found = round(made.makespan_hours / library.HALF_HOUR)
            bound = round(made.bound_hours / library.HALF_HOUR)
            gaps.append(100.0 * (found - best) / best)
            below.append(100.0 * (best - bound) / best)
            done = made.status.name == "OPTIMAL"
            proven += done
            bad = bool(made.faults) or found < low or bound > best
            wrong += bad
            print(
                f"{row['instance']:<11}{best:>6}{found:>7}{gaps[-1]:>7.1f}{bound:>7}"
                f"{below[-1]:>7.1f}{seconds[-1]:>7.1f}  {made.bound_why if done else '-'}"
                f"{'  WRONG' if bad else ''}"
            )
        print(
            f"{name}: gap mean {mean(gaps):.1f} % / largest {max(gaps):.1f} %; "
            f"bound below best mean {mean(below):.1f} % / largest {max(below):.1f} %; "
            f"proven {proven} of {len(gaps)}; mean {mean(seconds):.1f} s"
        )
    return 1 if wrong else 0


if __name__ == "__main__":
    arguments = sys.argv[1:]
    sys.exit(
        main(
            float(arguments[0]) if arguments else 1.0,
            arguments[1:] or ["j30", "j60", "j120", "outage"],
        )
    )
