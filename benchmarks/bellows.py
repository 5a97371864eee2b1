"""How many bellows a second: arrays against one by one, by shape and rule set.

Run with ``python -m benchmarks.bellows``; a report, not a test.
"""

from __future__ import annotations

import resource
import time

import msgspec
import numpy as np

from takeup.bellows import evaluate, evaluate_many, problem_for, solve
from takeup.bellows.model import (
    Basis,
    Bellows,
    BellowsCase,
    Condition,
    Convolution,
    Movement,
    Treatment,
)
from takeup.bellows.setting import part
from takeup.units import Array

COUNT = 1_000_000
EXTRA = {
    Convolution.U_PLAIN: {},
    Convolution.U_REINFORCED: {"ring_area": 1.1e-4, "ring_material": "304"},
    Convolution.TOROIDAL: {"mean_diameter": 0.36, "torus_radius": 0.018, "height": None},
}


def case(convolution: Convolution, basis: Basis) -> BellowsCase:
    """A bellows with two conditions and two movements."""
    fields = {
        "inside_diameter": 0.3, "height": 0.04, "pitch": 0.04, "convolutions": 6, "plies": 2,
        "ply_thickness": 0.001, "tangent_length": 0.02, "material": "321",
        "treatment": Treatment.AS_FORMED, "forming_factor": 0.6,
    }  # fmt: skip
    return BellowsCase(
        **(fields | EXTRA[convolution]),
        convolution=convolution,
        basis=basis,
        conditions=(
            Condition(name="operating", pressure=8e5, temperature=473.15),
            Condition(name="design", pressure=9e5, temperature=523.15),
        ),
        movements=(
            Movement(name="start", axial=-0.01, lateral=0.002, cycles=500.0),
            Movement(name="trip", axial=-0.005, cycles=1000.0),
        ),
    )


def spread(b: Bellows, count: int) -> Bellows:
    """The bellows with a few per cent of everything, from a fixed seed."""
    rng = np.random.default_rng(3)

    def around(value: float) -> Array:
        return np.asarray(value * rng.uniform(0.97, 1.03, count))

    return msgspec.structs.replace(
        b,
        inside_diameter=around(float(b.inside_diameter)),
        height=around(float(b.height)),
        pitch=1.05 * around(float(b.pitch)),
        ply_thickness=around(float(b.ply_thickness)),
        torus_radius=around(float(b.torus_radius)),
        tube_diameter=None,
    )


def main() -> None:
    """Print the report."""
    print(f"rows: {COUNT:,}, two conditions and two movements each, one core")
    print(f"{'shape':24} {'rule set':26} {'arrays':>12} {'reports':>12} {'one by one':>12}")
    for convolution in Convolution:
        for basis in (Basis.ASME_26, Basis.EJMA):
            one = case(convolution, basis)
            problem = problem_for(one)
            wide = msgspec.structs.replace(
                problem,
                setting=msgspec.structs.replace(
                    problem.setting, bellows=spread(problem.setting.bellows, COUNT)
                ),
            )
            start = time.perf_counter()
            solved = solve(wide, wanted={"usage", "column_squirm@design", "S2@design"})
            arrays = COUNT / (time.perf_counter() - start)
            assert len(solved.ratios["usage"]) == COUNT
            start = time.perf_counter()
            evaluate_many([one] * 2000)
            reports = 2000 / (time.perf_counter() - start)
            start = time.perf_counter()
            for at in range(200):
                own = part(wide.setting.bellows, at)
                alone = msgspec.structs.replace(
                    wide, setting=msgspec.structs.replace(wide.setting, bellows=own)
                )
                solve(alone)
            single = 200 / (time.perf_counter() - start)
            print(
                f"{convolution.value:24} {basis.value:26} {arrays:>10,.0f}/s {reports:>10,.0f}/s "
                f"{single:>10,.0f}/s"
            )
    start = time.perf_counter()
    for _ in range(50):
        evaluate(case(Convolution.U_PLAIN, Basis.ASME_26))
    print(f"one report alone: {(time.perf_counter() - start) / 50 * 1e3:.1f} ms")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory: {peak:,.0f} MB")


if __name__ == "__main__":
    main()
