"""Gaps of the schedule maker on library instances: python benchmarks/schedule.py [effort] [sets].

Prints for each set the gap of schedule and bound to the best known makespan, and the time.
"""

from __future__ import annotations

import importlib.util
import sys
import time
from pathlib import Path
from statistics import mean

from takeup.plan import schedule

HERE = Path(__file__).parent
ADAPTER = HERE.parent / "tests" / "published" / "plan" / "adapter.py"


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
            arguments[1:] or ["j30", "j60", "j120"],
        )
    )
