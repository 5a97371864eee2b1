"""A unit of 25 lines from text to report: one after another, by threads, by processes.

Run with ``OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 python -m benchmarks.line_unit``; a report,
not a test.  The lines are three legs to eighteen, with rests that rub, guides and anchors.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context
from typing import Any

import msgspec
from benchmarks.line import zigzag

from takeup.desk.line_all import work_out_all
from takeup.desk.lines import work_out
from takeup.line.text import write


def texts(lines: int) -> dict[str, Any]:
    """Tasks for :func:`takeup.desk.line_all.work_out_all`."""
    made: dict[str, Any] = {}
    for number in range(lines):
        line = zigzag(3 + number % 16, contact=True)
        tag = f"L-{number:02d}"
        made[tag] = (write(msgspec.structs.replace(line, tag=tag)), {}, ())
    return made


def timed(what: str, work: Callable[[], Any], first: float | None = None) -> float:
    """Print the wall time of ``work`` [s], and how many times quicker than ``first``."""
    wall, used = time.perf_counter(), time.process_time()
    work()
    took, used = time.perf_counter() - wall, time.process_time() - used
    more = f"{first / took:.2f} times as quick" if first else f"{used:.2f} s of it at work"
    print(f"{what}: {took:.2f} s, {more}")
    return took


def compared(lines: int) -> None:
    """One after another, by threads and by processes."""
    tasks, cores = texts(lines), os.cpu_count() or 1
    size = sum(len(task[0]) for task in tasks.values())
    print(f"{lines} lines, {size} characters of text, {cores} cores")
    one = timed("  one after another", lambda: work_out_all(tasks, workers=1))

    def threads() -> None:
        with ThreadPoolExecutor(cores) as pool:
            list(pool.map(lambda task: work_out(*task), tasks.values()))

    timed(f"  {cores} threads", threads, one)
    timed(f"  {cores} processes, started for it", lambda: work_out_all(tasks, workers=cores), one)
    with ProcessPoolExecutor(cores, mp_context=get_context("spawn")) as pool:
        list(pool.map(work_out, *zip(*list(tasks.values())[:cores], strict=True)))
        timed(
            f"  {cores} processes that run already",
            lambda: list(pool.map(work_out, *zip(*tasks.values(), strict=True))),
            one,
        )


def main() -> None:
    work_out(*texts(1)["L-00"])  # imports and tables are not in the times
    for lines in (25, 100):
        compared(lines)


if __name__ == "__main__":
    main()
