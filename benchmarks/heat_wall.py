"""Speed of the wall: a million evaluations, the ranges of one wall, and the causes of a reading."""

from __future__ import annotations

import time

import msgspec
import numpy as np

from takeup.heat import inverse
from takeup.heat.inverse_model import Reading
from takeup.heat.model import WallCase
from takeup.heat.wall import solve
from takeup.heat.wall_report import evaluate
from takeup.heat.wall_stack import Draw, State, stack_of, state_of

COUNT = 1_000_000
CASE = {
    "wall": "hot wall",
    "gas_temperature": 993.15,
    "gas_film": 60.0,
    "inside_diameter": 1.5,
    "liner_thickness": 0.006,
    "cavity": 0.1,
    "packing": "fibre 128",
    "bellows_material": "alloy 625",
    "ply_thickness": 0.0015,
    "ambient": 298.15,
}


def timed(case: WallCase, state: State, words: str) -> None:
    rng = np.random.default_rng(1)
    draw = Draw(
        gas=rng.normal(0.0, 10.0, COUNT),
        gas_film=np.exp(rng.normal(0.0, 0.3, COUNT)),
        packing=np.exp(rng.normal(0.0, 0.1, COUNT)),
        emissivity=rng.normal(0.0, 0.08, COUNT),
        wind=rng.normal(0.0, 2.0, COUNT),
    )
    stack = stack_of(case, state, draw)
    start = time.perf_counter()
    found = solve(stack)
    took = time.perf_counter() - start
    print(
        f"{words}: {COUNT:,} walls of {len(stack.layers)} layers in {took:.2f} s, "
        f"{took / COUNT * 1e6:.2f} µs each; {found.steps} steps, worst balance "
        f"{found.residual.max():.1e}, within relations {found.sound.mean():.2%}"
    )


def main() -> None:
    case = msgspec.convert(CASE, WallCase)
    timed(case, state_of(case), "packed")
    half = msgspec.convert(
        {**CASE, "fill": "part of the packing lost", "lost": 0.5, "insulation": "mineral wool",
         "insulation_thickness": 0.05, "cover_gap": 0.05},
        WallCase,
    )  # fmt: skip
    timed(half, state_of(half), "half lost, insulated, covered")
    evaluate(case)
    start = time.perf_counter()
    evaluate(case)
    print(f"report of one wall with ranges, 4096 samples: {time.perf_counter() - start:.3f} s")
    start = time.perf_counter()
    predictions = inverse.predict(case)
    middle = time.perf_counter()
    inverse.explain(predictions, Reading(temperature=393.15))
    end = time.perf_counter()
    print(f"{len(predictions.found)} causes predicted in {middle - start:.3f} s, one reading "
          f"ranked in {1e3 * (end - middle):.1f} ms")  # fmt: skip
    readings = np.linspace(330.0, 700.0, 1825)
    start = time.perf_counter()
    inverse.probabilities(predictions, readings, 3.0)
    print(f"five years of daily readings ranked in {time.perf_counter() - start:.2f} s")


if __name__ == "__main__":
    main()
