"""How long the assessment of a large site takes: demo joints repeated under other tags.

Reading the register and the temperature files is not part of it.

    python benchmarks/assess.py [joints] [repeats]
"""

from __future__ import annotations

import datetime as dt
import gc
import sys
import tempfile
import time
from pathlib import Path

import msgspec

from takeup.assess import verdict
from takeup.assess.model import JointCase
from takeup.demo.create import create
from takeup.desk.cases import cases

TODAY = dt.date(2026, 9, 15)
OF_JOINT = ("bellows", "movements", "hardware", "events", "observations", "marks", "tests",
            "readings")  # fmt: skip


def renamed(case: JointCase, tag: str, earlier: int) -> JointCase:
    """The same joint under another tag, with all facts that name it, installed days earlier."""
    change = msgspec.structs.replace
    facts = {
        name: tuple(change(fact, joint=tag) for fact in getattr(case, name)) for name in OF_JOINT
    }
    installed = case.joint.installed
    if installed is not None:
        installed -= dt.timedelta(days=earlier)
    theory = case.theory
    if theory is not None:
        on = tuple(
            change(one, tag=tag) if one.tag == case.joint.tag else one for one in theory.joints
        )
        theory = change(theory, joints=on)
    joint = change(case.joint, tag=tag, installed=installed)
    return change(case, joint=joint, theory=theory, **facts)


def main() -> None:
    """Print joints, best seconds and joints per second, whole and by part."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    with tempfile.TemporaryDirectory() as folder:
        site = create(Path(folder) / "site", today=TODAY)
        base = cases(site, today=TODAY)
        site.close()
    made = [renamed(base[n % len(base)], f"EJ-{n:05d}", n // len(base)) for n in range(count)]
    histories = sum(bool(case.temperatures) for case in made)
    modelled = sum(case.theory is not None for case in made)
    best: dict[str, float] = {}
    for _ in range(repeats):
        gc.collect()
        start = time.perf_counter()
        evaluated = verdict.evaluate(made)
        middle = time.perf_counter()
        kept: verdict.Kept = {}
        for case, evaluation in zip(made, evaluated, strict=True):
            verdict.conclude(case, evaluation, kept)
        end = time.perf_counter()
        kept = {}
        hashing = time.perf_counter()
        for case in made:
            verdict.hash_of(case, kept)
        hashing = time.perf_counter() - hashing
        for name, taken in (
            ("evaluate", middle - start),
            ("conclude", end - middle),
            ("of which hash", hashing),
            ("all", end - start),
        ):
            best[name] = min(best.get(name, taken), taken)
    print(f"{count} joints, {histories} with a temperature history, {modelled} on modelled lines")
    for name, taken in best.items():
        print(f"  {name:14} {taken:7.2f} s   {count / taken:9.0f} joints/s")


if __name__ == "__main__":
    main()
