"""How often random lines with gaps, friction and springs fail to come to rest, and where.

Run with ``python -m benchmarks.line_trials [COUNT [SEED]]``; a report, not a test.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from typing import Any

import msgspec
import numpy as np

from takeup.line.model import (
    Anchor,
    BellowsSpring,
    Bend,
    ConstantSpring,
    Guide,
    Hardware,
    Hold,
    Joint,
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


def jointed(line: Line, rng: Any) -> Line:
    """The line with bellows in about half of its longer straights, and pressure in its states.

    Free, tied with or without play, with limit rods, or with a gimbal whose pins rub.
    """
    places = {one.name: np.array(one.position) for one in line.stations}
    stations, pieces, count = list(line.stations), [], 0
    for piece in line.pieces:
        start, end = places[piece.start], places[piece.end]
        length = float(np.linalg.norm(end - start))
        if not isinstance(piece, Straight) or length < 2.5 or rng.random() < 0.5:
            pieces.append(piece)
            continue
        count += 1
        names = (f"j{count}", f"k{count}")
        for name, far in zip(names, (0.8, 1.7), strict=True):
            at = start + far / length * (end - start)
            stations.append(Station(name=name, position=tuple(at.tolist())))
        rods = {"circle": 0.55, "rod_area": 4e-4}
        hardware: tuple[Hardware, ...] = [
            (),
            (Hardware(hold=Hold.TIED, rods=4, gap_out=float(rng.choice([0.0, 0.002])), **rods),),
            (Hardware(hold=Hold.LIMIT, rods=3, gap_out=0.005, gap_in=0.02, **rods),),
            (Hardware(hold=Hold.GIMBAL, friction=0.2, pin_diameter=0.05),),
        ][int(rng.integers(0, 4))]
        bellows = BellowsSpring(length=0.35, axial_rate=float(10.0 ** rng.uniform(4.8, 6.0)),
                                mean_diameter=0.36, mass=40.0)  # fmt: skip
        pieces += [
            msgspec.structs.replace(piece, end=names[0]),
            Joint(tag=f"J{count}", start=names[0], end=names[1], bellows=(bellows,),
                  hardware=hardware),
            msgspec.structs.replace(piece, start=names[1]),
        ]  # fmt: skip
    states = tuple(
        msgspec.structs.replace(
            s, pressure=0.0 if s.name == "cold" else float(rng.uniform(0, 1.5e6))
        )
        for s in line.states
    )
    return msgspec.structs.replace(
        line, stations=tuple(stations), pieces=tuple(pieces), states=states
    )


def main(count: int = 200, seed: int = 1) -> None:
    print("without joints")
    run([trial(np.random.default_rng((seed, number))) for number in range(count)])
    print("with joints")
    made = []
    for number in range(count):
        rng = np.random.default_rng((seed, 7, number))
        made.append(jointed(trial(rng), rng))
    run(made)


def run(lines: list[Line]) -> None:
    failed: Counter[str] = Counter()
    steps: Counter[int] = Counter()
    poor, seconds = 0, []
    for made in lines:
        begun = time.process_time()
        try:
            results = solve(prepare(made))
        except Unsolved as fault:
            failed[str(fault)] += 1
        else:
            steps[max(result.certificate.steps for result in results)] += 1
            poor += any(not result.certificate.good for result in results)
        seconds.append(time.process_time() - begun)
    print(
        f"{len(lines)} lines, {sum(failed.values())} do not come to rest, {poor} with a poor certificate"
    )
    print("state and support that will not settle:", dict(failed))
    print("solved, by the most steps of load of a state:", dict(sorted(steps.items())))
    print(f"time each: median {np.median(seconds) * 1e3:.0f} ms, worst {max(seconds):.2f} s")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
