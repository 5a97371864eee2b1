"""How long sizing takes, where the time goes, and what a plain loop over cases would take.

Times are of the processor, one core; memory is the most that the arrays held at once.

    PYTHONPATH=src python benchmarks/bellows_sizing.py
"""

from __future__ import annotations

import resource
import sys
import time
import tracemalloc
from collections.abc import Callable
from typing import Any

import msgspec

from takeup.bellows import arrays, evaluate
from takeup.bellows.model import Assembly, Condition, Movement
from takeup.bellows.sizing import Rings, SizingTask, result, search, size, space
from takeup.bellows.sizing.judge import Tally
from takeup.errors import Contradiction

DUTY = SizingTask(
    name="single",
    conditions=(
        Condition(name="design", pressure=3.5e5, temperature=673.15),
        Condition(name="operating", pressure=3.0e5, temperature=633.15),
        Condition(name="test", pressure=5.3e5, temperature=293.15),
    ),
    movements=(
        Movement(name="start and stop", axial=-0.03, lateral=0.005, cycles=300.0),
        Movement(name="trip", axial=-0.01, cycles=500.0),
    ),
    inside_diameter=0.6,
    outside_diameter=0.78,
    live_length=0.45,
    tangent_length=0.03,
    alloys=("321",),
    forming_factor=0.6,
)
TASKS = (
    DUTY,
    msgspec.structs.replace(DUTY, name="one goal less: no lateral", movements=(
        Movement(name="start and stop", axial=-0.03, cycles=300.0),
        Movement(name="trip", axial=-0.01, cycles=500.0),
    )),
    msgspec.structs.replace(DUTY, name="two plies, each alone", testable=True,
                            each_ply_alone=True, alloys=("321", "625")),
    msgspec.structs.replace(DUTY, name="with rings", rings=Rings.ONLY, ring_bars=(0.012, 0.016)),
    msgspec.structs.replace(
        DUTY, name="universal", assembly=Assembly.UNIVERSAL, length_over_both=2.6,
        spool_held=True, live_length=0.4,
        movements=(Movement(name="start and stop", axial=-0.01, lateral=0.06, cycles=300.0),
                   Movement(name="trip", lateral=0.02, cycles=500.0)),
    ),
    msgspec.structs.replace(DUTY, name="nothing fits", live_length=0.09),
)  # fmt: skip
STAGES = (
    ("rows and envelope", space, ("rows", "excluded", "keep", "join")),
    ("engine", arrays, ("solve",)),
    ("judging", Tally, ("judge", "miss")),
    ("fronts", search, ("non_dominated",)),
    ("reports", result, ("evaluate_many",)),
)


def timed(stage: str, spent: dict[str, float], inner: Callable[..., Any]) -> Callable[..., Any]:
    """``inner``, adding the time it takes to ``spent``."""

    def outer(*args: Any, **named: Any) -> Any:
        start = time.process_time()
        try:
            return inner(*args, **named)
        finally:
            spent[stage] += time.process_time() - start

    return outer


def by_stage(task: SizingTask) -> tuple[dict[str, float], float]:
    """Time of each stage and of all [s]."""
    spent = {stage: 0.0 for stage, _, _ in STAGES}
    held = [(place, name, getattr(place, name)) for _, place, names in STAGES for name in names]
    for stage, place, names in STAGES:
        for name in names:
            setattr(place, name, timed(stage, spent, getattr(place, name)))
    start = time.process_time()
    size(task)
    whole = time.process_time() - start
    for place, name, function in held:
        setattr(place, name, function)
    return spent, whole


def loop(task: SizingTask, count: int) -> float:
    """Seconds a case when cases are evaluated one by one."""
    seeking = search.Search(task)
    step = seeking.rows // count
    done = 0
    start = time.process_time()
    for number in range(0, seeking.rows, step):
        try:
            evaluate(seeking.case(number))
            done += 1
        except Contradiction:
            continue
    return (time.process_time() - start) / max(done, 1)


def main() -> None:
    """Print a table of tasks, then shares of stages of the first, memory and a plain loop."""
    chunk = int(sys.argv[1]) if len(sys.argv) > 1 else search.CHUNK
    size(DUTY, chunk=chunk)  # tables are read and cached
    print(f"{'task':28} {'space':>11} {'evaluated':>10} {'fit':>9} {'front':>7} {'s':>6} "
          f"{'s per 1e6':>9}")  # fmt: skip
    for task in TASKS:
        start = time.process_time()
        found = size(task, chunk=chunk)
        taken = time.process_time() - start
        print(f"{task.name:28} {found.space:11,} {found.evaluated:10,} {found.feasible:9,} "
              f"{len(found.front):7,} {taken:6.2f} {taken / found.evaluated * 1e6:9.2f}")  # fmt: skip
    spent, whole = by_stage(DUTY)
    print(f"\nshares of {whole:.2f} s, {DUTY.name}")
    spent["the rest"] = whole - sum(spent.values())
    for stage, seconds in spent.items():
        print(f"  {stage:20} {seconds:6.2f} s  {seconds / whole:4.0%}")
    tracemalloc.start()
    size(DUTY, chunk=chunk)
    print(f"\nmost held at once {tracemalloc.get_traced_memory()[1] / 1e6:.0f} MB, "
          f"process {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3:.0f} MB")  # fmt: skip
    tracemalloc.stop()
    print(f"one by one {loop(DUTY, 2000) * 1e6:.0f} s per 1e6")


if __name__ == "__main__":
    main()
