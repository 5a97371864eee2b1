"""How often random lines with gaps, friction and springs fail to come to rest, and where.

Run with ``python -m benchmarks.line_trials [COUNT [SEED]]``; a report, not a test.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from typing import Any

import numpy as np

from takeup.line.model import (
    Anchor,
    Bend,
    ConstantSpring,
    Guide,
    Line,
    Pipe,
    Rest,
    RodHanger,
    State,
    Station,
    Stop,
    Straight,
    Strut,
    VariableSpring,
)
from takeup.line.solve import Unsolved, prepare, solve

PIPE = Pipe(name="p", outside=0.3239, wall=0.00953, metal="carbon steel", insulation_mass=40.0)
STATES = (State(name="cold"), State(name="hot", temperature=560.0), State(name="cold again"))
AXES = np.vstack([np.eye(3), -np.eye(3)])


def trial(rng: Any) -> Line:
    """A line of two to six legs, a support of random kind about every 4 m of it."""
    stations = [Station(name="s0", position=(0.0, 0.0, 0.0))]
    pieces: list[Any] = []
    held: list[str] = []
    at, last, radius = np.zeros(3), -1, 0.457
    for leg in range(int(rng.integers(2, 7))):
        which = int(rng.choice([k for k in range(6) if last < 0 or k % 3 != last % 3]))
        along = AXES[which]
        if last >= 0:
            before = AXES[last]
            corner, at = at + radius * before, at + radius * (before + along)
            stations.append(Station(name=f"b{leg}", position=tuple(at.tolist())))
            pieces.append(Bend(start=stations[-2].name, end=stations[-1].name, pipe="p",
                               corner=tuple(corner.tolist()), radius=radius))  # fmt: skip
        for part in range(int(rng.integers(1, 4))):
            at = at + along * rng.uniform(2.0, 5.0)
            stations.append(Station(name=f"s{leg}.{part}", position=tuple(at.tolist())))
            pieces.append(Straight(start=stations[-2].name, end=stations[-1].name, pipe="p"))
            held.append(stations[-1].name)
        last = which
    supports: list[Any] = [
        Anchor(name="first", station="s0"),
        Anchor(name="last", station=held[-1]),
    ]
    for name in held[:-1]:
        gap, friction = float(rng.uniform(0.0, 0.01)), float(rng.uniform(0.0, 0.5))
        kind = int(rng.integers(0, 8))
        supports += [
            [Rest(name=f"rest {name}", station=name, friction=friction)],
            [Rest(name=f"rest {name}", station=name, friction=friction),
             Guide(name=f"guide {name}", station=name, gap=gap, across=None, friction=0.0)],
            [Guide(name=f"guide {name}", station=name, gap=gap, friction=friction)],
            [Stop(name=f"stop {name}", station=name, direction=tuple(rng.normal(size=3).tolist()),
                  gap_plus=gap, gap_minus=gap)],
            [RodHanger(name=f"rod {name}", station=name, length=float(rng.uniform(0.5, 3.0)))],
            [VariableSpring(name=f"spring {name}", station=name, rate=float(rng.uniform(2e4, 2e5)),
                            load=float(rng.uniform(2e3, 8e3)), travel_up=0.03, travel_down=0.03)],
            [ConstantSpring(name=f"constant {name}", station=name,
                            load=float(rng.uniform(2e3, 8e3)), travel_up=0.08, travel_down=0.08)],
            [Strut(name=f"strut {name}", station=name, direction=(0.0, 1.0, 0.0))],
        ][kind]  # fmt: skip
    return Line(tag="T", pipes=(PIPE,), stations=tuple(stations), pieces=tuple(pieces),
                supports=tuple(supports), states=STATES)  # fmt: skip


def main(count: int = 200, seed: int = 1) -> None:
    failed: Counter[str] = Counter()
    steps: Counter[int] = Counter()
    poor, seconds = 0, []
    for number in range(count):
        made = trial(np.random.default_rng((seed, number)))
        begun = time.process_time()
        try:
            results = solve(prepare(made))
        except Unsolved as fault:
            failed[
                f"{str(fault).split(chr(39))[1]}: {str(fault).split(chr(39))[3].split()[0]}"
            ] += 1
        else:
            steps[max(result.certificate.steps for result in results)] += 1
            poor += any(not result.certificate.good for result in results)
        seconds.append(time.process_time() - begun)
    print(
        f"{count} lines, {sum(failed.values())} do not come to rest, {poor} with a poor certificate"
    )
    print("state and support that will not settle:", dict(failed))
    print("solved, by the most steps of load of a state:", dict(sorted(steps.items())))
    print(f"time each: median {np.median(seconds) * 1e3:.0f} ms, worst {max(seconds):.2f} s")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
