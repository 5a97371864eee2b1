"""The line solver against two general-purpose frame packages on the same models.

PyNiteFEA (slender beams, one-way springs) and pyfe3d (compiled beams with shear) know nothing
of this package.  Both take straight beams only, so that bends are polygons of chords there.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec
import numpy as np
import pytest
from benchmarks import line_peers
from benchmarks.line_peers import Answer

from takeup import materials
from takeup.line.model import (
    Anchor,
    Bend,
    Line,
    Pipe,
    Rest,
    State,
    Station,
    Straight,
    Strut,
    VariableSpring,
)
from takeup.line.solve import StateResult, prepare, solve

E = 203.4e9
STEEL = "carbon steel"
PIPE = Pipe(name="8", outside=0.2191, wall=0.00818, metal=STEEL, insulation_mass=30.0)
HOT = State(name="hot", temperature=533.15)
STEADY = 1e-8
"""Share by which two solutions of the same straight beams may differ: round-off of theirs."""

PEERS = pytest.mark.parametrize(
    "peer", [line_peers.pynite, line_peers.pyfe3d], ids=["pynite", "pyfe3d"]
)


def ours(made: Line, *, shear: bool = False) -> StateResult:
    ready = prepare(made, moduli={materials.alloy(STEEL).name: E}, shear=shear)
    (result,) = solve(ready)
    assert result.certificate.good
    return result


def theirs(
    peer: Callable[..., Answer], made: Line, *, shear: bool = False, chords: int = 1
) -> Answer:
    return peer(line_peers.model(made, made.states[0], E, chords=chords, shear=shear))


def apart(made: Line, our: StateResult, their: Answer) -> tuple[float, float]:
    """Largest difference of reactions and of station movements, as shares of the largest."""
    found, sizes = [], []
    for part in (slice(0, 3), slice(3, 6)):
        a = np.array([(*r.force, *r.moment)[part] for r in our.reactions])
        b = np.array([their.reactions[r.name][part] for r in our.reactions])
        found.append(float(np.abs(a - b).max()))
        sizes.append(max(float(np.abs(a).max()), 1.0))
    reaction = max(one / size for one, size in zip(found, sizes, strict=True))
    moved = our.motion[: len(made.stations)]
    other = their.motion[: len(made.stations)]
    movement = max(
        float(np.abs(moved[:, part] - other[:, part]).max())
        / max(float(np.abs(moved[:, part]).max()), 1e-6)
        for part in (slice(0, 3), slice(3, 6))
    )
    return reaction, movement


def straights(points: list[tuple[float, float, float]], supports: Any, **fields: Any) -> Line:
    stations = tuple(Station(name=f"s{k}", position=point) for k, point in enumerate(points))
    pieces = tuple(
        Straight(start=f"s{k}", end=f"s{k + 1}", pipe="8") for k in range(len(points) - 1)
    )
    values: dict[str, Any] = {"states": (HOT,), **fields}
    return Line(
        tag="L", pipes=(PIPE,), stations=stations, pieces=pieces, supports=supports, **values
    )


def ends(last: int, **moved: tuple[float, float, float]) -> tuple[Anchor, ...]:
    growth = {"hot": moved["nozzle"]} if moved else {}
    return Anchor(name="first", station="s0"), Anchor(
        name="last", station=f"s{last}", growth=growth
    )


@PEERS
def test_straight_run_held_at_both_ends(peer: Callable[..., Answer]) -> None:
    """Growth and weight of a straight run in a slanted direction give the same loads."""
    made = straights([(0, 0, 0), (4, 2, 1), (8, 4, 2), (14, 7, 3.5)], ends(3))
    reaction, movement = apart(made, ours(made), theirs(peer, made))
    assert reaction < STEADY
    assert movement < 1e-6  # the run hardly moves, so that shares of it are of round-off


THREE = [(0, 0, 0), (6, 0, 0), (6, 5, 0), (6, 5, 4), (11, 5, 4), (11, 9, 6), (16, 9, 6)]


def sprung() -> Line:
    supports = (
        *ends(6, nozzle=(0.004, -0.002, 0.006)),
        Strut(name="strut", station="s1", direction=(0, 1, 0), stiffness=4e6),
        VariableSpring(
            name="spring", station="s3", rate=90e3, load=9e3, travel_up=9.0, travel_down=9.0
        ),
        Anchor(name="soft", station="s4", stiffness=(2e6, 3e6, 1e6, 4e5, 2e5, 1e5)),
    )
    return straights(THREE, supports)


@PEERS
def test_line_in_space_with_springs(peer: Callable[..., Answer]) -> None:
    """A line in three dimensions on springs, a strut and a moving nozzle agrees."""
    made = sprung()
    reaction, movement = apart(made, ours(made), theirs(peer, made))
    assert reaction < STEADY
    assert movement < STEADY


def test_shear_of_beams() -> None:
    """With shear, short legs give the same loads as compiled beams with shear."""
    made = sprung()
    our = ours(made, shear=True)
    reaction, movement = apart(made, our, theirs(line_peers.pyfe3d, made, shear=True))
    assert reaction < STEADY
    assert movement < STEADY
    without, _ = apart(made, our, theirs(line_peers.pyfe3d, made))
    assert without > 1e-3


def bent(weight: bool = False) -> Line:
    radius = 0.305
    corners = [np.array(p, dtype=float) for p in [(0, 0, 0), (5, 0, 0), (5, 3, 0), (5, 3, 4)]]
    stations, pieces = [Station(name="s0", position=(0, 0, 0))], []
    last = "s0"
    for k in (1, 2):
        before = corners[k] - corners[k - 1]
        after = corners[k + 1] - corners[k]
        a = corners[k] - radius * before / np.linalg.norm(before)
        b = corners[k] + radius * after / np.linalg.norm(after)
        stations += [
            Station(name=f"in{k}", position=tuple(a)),
            Station(name=f"out{k}", position=tuple(b)),
        ]
        pieces += [
            Straight(start=last, end=f"in{k}", pipe="8"),
            Bend(start=f"in{k}", end=f"out{k}", pipe="8", corner=tuple(corners[k]), radius=radius),
        ]
        last = f"out{k}"
    stations.append(Station(name="s3", position=tuple(corners[3])))
    pieces.append(Straight(start=last, end="s3", pipe="8"))
    return Line(
        tag="L",
        pipes=(PIPE,),
        stations=tuple(stations),
        pieces=tuple(pieces),
        supports=ends(3),
        states=(msgspec.structs.replace(HOT, weight=weight),),
    )


@PEERS
def test_polygons_of_chords_close_in_on_the_bend(peer: Callable[..., Answer]) -> None:
    """Chords with I/k approach the exact bend from above, by the square of their number."""
    made = bent()
    our = ours(made)
    exact = np.linalg.norm(our.reaction("first").force)
    above = [
        float(np.linalg.norm(theirs(peer, made, chords=n).reactions["first"][:3]) / exact) - 1.0
        for n in (4, 16, 64)
    ]
    assert above[0] > above[1] > above[2] > 0.0
    assert above[2] < 1e-4
    assert above[0] / above[1] == pytest.approx(16.0, rel=0.05)
    assert above[1] / above[2] == pytest.approx(16.0, rel=0.05)


@PEERS
def test_weight_of_bends(peer: Callable[..., Answer]) -> None:
    """With weight, 64 chords a bend come within 1e-4 of loads and movements."""
    made = bent(weight=True)
    reaction, movement = apart(made, ours(made), theirs(peer, made, chords=64))
    assert reaction < 1e-4
    assert movement < 3e-4


def test_beam_on_one_way_supports() -> None:
    """Of rests under a beam lifted at one end, the same ones carry, and as much."""
    made = straights(
        [(0, 0, 0), (6, 0, 0), (12, 0, 0), (18, 0, 0), (21, 0, 0)],
        (
            Anchor(name="first", station="s0", growth={"hot": (0.0, 0.0, 0.03)}),
            *(Rest(name=f"rest {k}", station=f"s{k}", friction=0.0) for k in (1, 2, 3, 4)),
        ),
    )
    our, their = ours(made), theirs(line_peers.pynite, made)
    reaction, movement = apart(made, our, their)
    assert reaction < 1e-6
    assert movement < 1e-6
    carried = [-our.reaction(f"rest {k}").force[2] for k in (1, 2, 3, 4)]
    assert min(carried) == 0.0 < max(carried)
