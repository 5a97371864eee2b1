"""Time of one long line: parts of the work, and a linear one beside general-purpose packages.

Run with ``python -m benchmarks.line``; a report, not a test.  Starts from a built line: reading
its text is not in the times.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
from benchmarks import line_peers

from takeup.line import rows as rowing
from takeup.line.frame import frame
from takeup.line.model import Anchor, Bend, Guide, Line, Pipe, Rest, State, Station, Straight
from takeup.line.solve import Moduli, _assemble, moduli_of, prepare, solve

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
        begun = time.perf_counter()
        work()
        found.append(time.perf_counter() - begun)
    return min(found)


def main() -> None:
    heavy = zigzag(80, True)
    moduli = moduli_of(heavy, Moduli.COLD).__getitem__
    made = frame(heavy, moduli)
    ready = prepare(heavy)
    print(f"{len(made.ends)} elements, {len(ready.reference)} rows of contact")
    print(f"frame {best(lambda: frame(heavy, moduli)):.3f} s, rows {best(lambda: rowing.rows(heavy, made)):.3f} s, "
          f"assembly {best(lambda: _assemble(made)):.3f} s")  # fmt: skip
    print(f"prepare, with these and the factor {best(lambda: prepare(heavy)):.3f} s")
    plain = zigzag(80, False)
    modulus = next(iter(moduli_of(plain, Moduli.COLD).values()))
    (exact,) = solve(prepare(plain))
    ours = best(lambda: solve(prepare(plain)))
    force = np.linalg.norm(exact.reaction("a0").force)
    print(f"linear line: {ours:.4f} s")
    for peer, shear in ((line_peers.pyfe3d, True), (line_peers.pynite, False)):
        (same,) = solve(prepare(plain, shear=shear))
        force = np.linalg.norm(same.reaction("a0").force)
        for chords in (4, 8, 16, 32, 64):
            begun = time.perf_counter()
            their = peer(
                line_peers.model(plain, plain.states[0], modulus, chords=chords, shear=shear)
            )
            took = time.perf_counter() - begun
            off = abs(np.linalg.norm(their.reactions["a0"][:3]) / force - 1.0)
            if off < 1e-4:
                break
        print(f"{peer.__name__}: {chords} chords a bend, off by {off:.1e}, {took:.4f} s, "
              f"{took / ours:.2f} times ours")  # fmt: skip
    begun = time.perf_counter()
    results = solve(ready)
    print(f"settle two states {time.perf_counter() - begun:.3f} s, "
          f"{[(r.certificate.rounds, r.certificate.steps, r.certificate.good) for r in results]}")  # fmt: skip


if __name__ == "__main__":
    main()
