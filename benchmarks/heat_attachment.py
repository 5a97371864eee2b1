"""Time and mesh study of attachments on hot pipe.

python benchmarks/heat_attachment.py
"""

from __future__ import annotations

import time
from pathlib import Path

import msgspec

from takeup.ageing.attachment_case import AttachmentCase, evaluate, task_of
from takeup.cli.files import read
from takeup.heat.attachment.solve import solve_ring

EXAMPLE = Path(__file__).parents[1] / "examples" / "attachment.toml"


def main() -> None:
    """Print the whole answer's time, and stress at the toe over fineness of the mesh."""
    case = read(EXAMPLE, AttachmentCase)
    evaluate(case)
    best = min(_timed(case) for _ in range(3))
    print(f"ring with start and stop, judged: {best:.2f} s (best of 3)")
    print("fineness  nodes  toe bending MPa  heat balance  seconds")
    ring = task_of(case)
    for fineness in (0.7, 1.0, 1.5, 2.0, 3.0):
        began = time.perf_counter()
        answer = solve_ring(ring, fineness=fineness)
        took = time.perf_counter() - began
        toe = next(cut for cut in answer.cuts if cut.weld)
        print(
            f"{fineness:8.1f} {len(answer.field.temperature):6d} {toe.bending / 1e6:16.2f} "
            f"{answer.field.imbalance:13.1e} {took:8.2f}"
        )
    print("heat-up h  range at the toe MPa")
    for hours in (1.0, 4.0, 12.0, 48.0):
        one = evaluate(msgspec.structs.replace(case, heat_up=hours * 3600.0))
        toe = next(cut for cut in one.answer.cuts if cut.weld)
        print(f"{hours:9.0f} {toe.range / 1e6:20.1f}")


def _timed(case: AttachmentCase) -> float:
    began = time.perf_counter()
    evaluate(case)
    return time.perf_counter() - began


if __name__ == "__main__":
    main()
