"""The study of tolerances: time, memory, how well it repeats, how right its shares are.

python benchmarks/bellows_uncertainty.py [largest power of two] [seeds]
"""

from __future__ import annotations

import gc
import resource
import sys
import time
from pathlib import Path

import msgspec
import numpy as np

from takeup.bellows.model import BellowsCase, Condition
from takeup.bellows.uncertainty import Sampling, drivers, sampling, spread, usual

EXAMPLE = Path(__file__).parents[1] / "examples" / "bellows.json"
WATCHED = "inplane_squirm@design"


def pressed() -> BellowsCase:
    """The example, pressed until in-plane squirm fails in about one sample of twenty."""
    case = msgspec.json.decode(EXAMPLE.read_bytes(), type=BellowsCase)
    design = next(c for c in case.conditions if c.name == "design")
    low, high = design.pressure, 20.0 * design.pressure
    for _ in range(24):
        middle = (low * high) ** 0.5
        loaded = at(case, design, middle)
        low, high = (middle, high) if share(loaded, 1024, 1) < 0.05 else (low, middle)
    return at(case, design, low)


def at(case: BellowsCase, design: Condition, pressure: float) -> BellowsCase:
    """The case at another design pressure alone."""
    changed = msgspec.structs.replace(design, pressure=pressure)
    return msgspec.structs.replace(
        case,
        conditions=tuple(changed if c.name == "design" else c for c in case.conditions),
    )


def share(case: BellowsCase, samples: int, seed: int, layout: Sampling = Sampling.SOBOL) -> float:
    """Share of samples in which the watched check fails."""
    report = spread(case, usual(case), samples=samples, seed=seed, sampling=layout)
    found = next(check.share for check in report.checks if check.id == WATCHED)
    assert found is not None
    return found.value


def speed(case: BellowsCase, most: int) -> None:
    """Print seconds, samples per second and peak memory by number of samples."""
    spreads = usual(case)
    print(f"{len(spreads)} inputs spread: {', '.join(one.input for one in spreads)}")
    for power in range(12, most + 1, 2):
        gc.collect()
        start = time.perf_counter()
        report = spread(case, spreads, samples=2**power, seed=1)
        taken = time.perf_counter() - start
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
        print(
            f"  {2**power:8d} samples, {len(report.checks)} checks: {taken:7.3f} s"
            f"  {2**power / taken:10.0f} samples/s   peak {peak:6.0f} MB"
        )


def repeats(case: BellowsCase, seeds: int) -> None:
    """Print how far a share scatters over seeds, against independent samples."""
    truth = share(case, 2**18, 12345)
    print(f"{WATCHED}: {truth:.4%} of 262144 samples fail")
    for power in (10, 12, 14):
        count = 2**power
        alone = (truth * (1.0 - truth) / count) ** 0.5
        for layout in Sampling:
            found = np.array([share(case, count, seed, layout) for seed in range(seeds)])
            ends = [drivers.share(round(value * count), count) for value in found]
            held = np.mean([end.low <= truth <= end.high for end in ends])
            print(
                f"  {count:6d} {layout.value:24}  scatter {found.std(ddof=1):.3%}"
                f" (independent {alone:.3%}), interval holds it in {held:.0%} of {seeds}"
            )


def known() -> None:
    """Print the error of the shares on a function whose shares are known."""
    exact = np.array([0.3139, 0.4424, 0.0])
    for power in (10, 12, 14, 16):
        for layout in Sampling:
            u = sampling.points(2**power, 11, seed=7, sampling=layout)
            x = np.pi * (2.0 * u[:, :3] - 1.0)
            y = np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
            shares, noise = drivers.first_order(u[:, :3], u[:, 3:], y[:, None])
            print(
                f"  Ishigami, {2**power:6d} {layout.value:24} "
                f"{np.round(shares[:, 0], 4)} against {exact}, noise {noise[0]:.4f}"
            )


def main() -> None:
    """Run all three."""
    most = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    seeds = int(sys.argv[2]) if len(sys.argv) > 2 else 40
    case = pressed()
    speed(case, most)
    repeats(case, seeds)
    known()


if __name__ == "__main__":
    main()
