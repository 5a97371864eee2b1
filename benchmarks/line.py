"""Time of one long line from text to report, and a linear one beside general-purpose packages.

Run with ``OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 python -m benchmarks.line``; a report, not a
test.  Imports and tables of materials are not in the times.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
from benchmarks import line_peers
from benchmarks.line_what_if import big

from takeup.line.model import Anchor, Bend, Guide, Line, Pipe, Rest, State, Station, Straight
from takeup.line.report import report
from takeup.line.solve import Moduli, moduli_of, prepare, solve
from takeup.line.text import read, write

PIPE = Pipe(name="p", outside=0.3239, wall=0.00953, metal="carbon steel", insulation_mass=40.0)
STATES = (State(name="cold"), State(name="hot", temperature=560.0))


def zigzag(legs: int, contact: bool) -> Line:
    """Legs of 12 m in four straights with a bend between: five elements a leg."""
    stations = [Station(name="s0", position=(0.0, 0.0, 0.0))]
    pieces: list[Any] = []
    supports: list[Any] = [Anchor(name="a0", station="s0")]
    at, radius = np.zeros(3), 0.457
    ways = np.array([(1, 0, 0), (0, 1, 0), (1, 0, 0), (0, -1, 0)], dtype=float)
    for leg in range(legs):
        way = ways[leg % 4]
        for part in range(4):
            at = at + 3.0 * way
            name = f"s{leg}.{part}"
            stations.append(Station(name=name, position=tuple(at.tolist())))
            pieces.append(Straight(start=stations[-2].name, end=name, pipe="p"))
            if contact and part in {1, 3}:
                supports.append(Rest(name=f"r{name}", station=name, friction=0.3))
            if contact and part == 2 and leg % 4 == 0:
                supports.append(Guide(name=f"g{name}", station=name, gap=0.003))
        if leg + 1 < legs:
            after = ways[(leg + 1) % 4]
            corner, at = at + radius * way, at + radius * (way + after)
            stations.append(Station(name=f"b{leg}", position=tuple(at.tolist())))
            pieces.append(Bend(start=stations[-2].name, end=f"b{leg}", pipe="p",
                               corner=tuple(corner.tolist()), radius=radius))  # fmt: skip
        if leg % 10 == 9:
            supports.append(Anchor(name=f"a{leg}", station=f"s{leg}.3"))
    supports = [
        s for s in supports
        if isinstance(s, Anchor) or s.station not in {a.station for a in supports if isinstance(a, Anchor)}
    ]  # fmt: skip
    return Line(tag="Z", pipes=(PIPE,), stations=tuple(stations), pieces=tuple(pieces),
                supports=tuple(supports), states=STATES if contact else STATES[1:])  # fmt: skip


def best(work: Callable[[], Any], times: int = 3) -> float:
    found = []
    for _ in range(times):
        begun = time.process_time()
        work()
        found.append(time.process_time() - begun)
    return min(found)


def stages(name: str, line: Line) -> None:
    """Print the time of each stage from text to report; the best of five [s]."""
    text = write(line)
    found: dict[str, list[float]] = {}

    def timed(stage: str, work: Callable[[], Any]) -> Any:
        begun = time.process_time()
        made = work()
        found.setdefault(stage, []).append(time.process_time() - begun)
        return made

    for _ in range(5):
        made = timed("read", lambda: read(text))
        ready = timed("prepare", lambda made=made: prepare(made))
        results = timed("solve", lambda ready=ready: solve(ready))
        timed("report", lambda ready=ready, results=results: report(ready, results))
    least = {stage: min(times) for stage, times in found.items()}
    print(
        f"{name}: {len(ready.frame.spots)} elements, {len(ready.reference)} rows, {len(text)} characters"
    )
    print("  " + ", ".join(f"{stage} {took:.3f}" for stage, took in least.items())
          + f": {sum(least.values()):.3f} s of one core from text to report")  # fmt: skip
    print("  rounds of Newton and steps of load by state: "
          + ", ".join(f"{r.state} {r.certificate.rounds} in {r.certificate.steps}" for r in results)
          + f"; largest residual {max(r.certificate.residual for r in results):.0e}")  # fmt: skip


def main() -> None:
    stages("flat zigzag on rests and guides that rub", zigzag(80, True))
    stages("the same without friction, gaps or supports but anchors", zigzag(80, False))
    stages("ten long legs with four joints, rests that rub, springs", big(0.3))
    plain = zigzag(80, False)
    modulus = next(iter(moduli_of(plain, Moduli.COLD).values()))
    ours = best(lambda: solve(prepare(plain)))
    print(f"linear line, from a built line to results: {ours:.4f} s")
    for peer, shear in ((line_peers.pyfe3d, True), (line_peers.pynite, False)):
        (same,) = solve(prepare(plain, shear=shear))
        force = np.linalg.norm(same.reaction("a0").force)
        for chords in (4, 8, 16, 32, 64):
            begun = time.process_time()
            their = peer(
                line_peers.model(plain, plain.states[0], modulus, chords=chords, shear=shear)
            )
            took = time.process_time() - begun
            off = abs(np.linalg.norm(their.reactions["a0"][:3]) / force - 1.0)
            if off < 1e-4:
                break
        print(f"{peer.__name__}: {chords} chords a bend, off by {off:.1e}, {took:.4f} s, "
              f"{took / ours:.2f} times ours")  # fmt: skip


if __name__ == "__main__":
    main()
