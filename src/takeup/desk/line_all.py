"""The models of many lines worked out at once, on all cores.

Working out a line is pure, so lines go to processes; threads would wait for one another.  A unit
of a few dozen lines is worked out here: it is done before a second process has started.
"""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from typing import TYPE_CHECKING

from takeup.desk.line_joints import joints
from takeup.desk.line_kept import key_of
from takeup.desk.lines import Solved, work_out
from takeup.progress import Progress, silent
from takeup.register.entities import LineModel

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.line.text import JointData

Task = tuple[str, "Mapping[str, JointData]", tuple[str, ...]]
"""Text of a model, the joints the register knows, what it does not tell"""
ALONE = 400_000
"""Characters of text up to which starting processes does not pay: about eighty lines, two seconds
of one core (measured by benchmarks/line_unit)."""
THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
ASKED = 0.1
"""Seconds between two looks at whether to stop."""


def solve_all(
    site: Site,
    tags: Sequence[str] | None = None,
    *,
    progress: Progress = silent,
    workers: int | None = None,
) -> dict[str, Solved]:
    """Every line that has a model, or those of ``tags``, worked out as it stands now.

    A line whose text and joints are what they were when it was last asked for is not solved
    again (:class:`takeup.desk.line_kept.WorkedOut`).  As :func:`takeup.desk.lines.solved` one by one, faults told and not raised.  ``workers``
    is the number of processes; without it as many as there are cores, or none but this one
    where that is quicker.  ``progress`` may stop it: what is being worked out then is dropped.
    """
    kept = {one.line: one for one in site.register().all(LineModel)}
    wanted = [kept[tag] for tag in (kept if tags is None else tags) if tag in kept]
    tasks = {one.line: (one.text, *joints(site, one.line)) for one in wanted}
    keys = {tag: key_of(*task) for tag, task in tasks.items()}
    kept_before = {tag: one for tag, key in keys.items() if (one := site.worked_out.get(key))}
    new = work_out_all(
        {tag: task for tag, task in tasks.items() if tag not in kept_before},
        progress=progress, workers=workers,
    )  # fmt: skip
    for tag, made in new.items():
        site.worked_out.put(keys[tag], made)
    return {tag: kept_before[tag] if tag in kept_before else new[tag] for tag in tasks}


def work_out_all(
    tasks: Mapping[str, Task], *, progress: Progress = silent, workers: int | None = None
) -> dict[str, Solved]:
    """Work out texts of lines; the answer is in the order of ``tasks``."""
    found: dict[str, Solved] = {}
    if workers is None:
        size = sum(len(text) for text, _, _ in tasks.values())
        workers = 1 if size <= ALONE else min(os.cpu_count() or 1, len(tasks))
    if workers > 1:
        try:
            _elsewhere(tasks, found, progress, workers)
        except (BrokenProcessPool, OSError):
            progress(len(found) / len(tasks), "no other process to be had, going on in this one")
    for tag, task in tasks.items():
        if tag not in found:
            progress(len(found) / len(tasks), f"line {tag}")
            found[tag] = work_out(*task)
    progress(1.0, f"{len(found)} lines worked out")
    return {tag: found[tag] for tag in tasks}


def _elsewhere(
    tasks: Mapping[str, Task], found: dict[str, Solved], progress: Progress, workers: int
) -> None:
    context = multiprocessing.get_context("spawn")
    with _one_thread_each():
        pool = ProcessPoolExecutor(workers, mp_context=context)
        try:
            # The longest first, so that none is left over at the end.
            order = sorted(tasks, key=lambda tag: -len(tasks[tag][0]))
            waiting: dict[Future[Solved], str] = {
                pool.submit(work_out, *tasks[tag]): tag for tag in order
            }
            while waiting:
                done, _ = wait(waiting, timeout=ASKED, return_when=FIRST_COMPLETED)
                for future in done:
                    found[waiting.pop(future)] = future.result()
                progress(len(found) / len(tasks), f"{len(found)} of {len(tasks)} lines worked out")
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Linear algebra on one thread in every process started within."""
    ours = os.environ  # noqa: TID251 - an edge: processes started here are handed it
    before = {name: ours.get(name) for name in THREADS}
    ours.update(dict.fromkeys(THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                ours.pop(name, None)
            else:
                ours[name] = value
