"""Directions in a line: tangents and planes of pieces, branches and their runs."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from takeup.errors import Contradiction
from takeup.line import elements
from takeup.line.model import Bend, Line, OfTee, Pipe, Reducer, Straight, Tee
from takeup.units import Array

if TYPE_CHECKING:
    from takeup.line.frame import Frame


def directions(line: Line, made: Frame) -> tuple[Array, Array]:
    """Tangents at both ends (n, 2, 3) and the normal (n, 3) of every element, unit vectors.

    The normal of a bend is that of its plane; for round straight pipe it is any across it.
    """
    count = len(made.spots)
    tangent = np.empty((count, 2, 3))
    arm = made.elements.arm / np.linalg.norm(made.elements.arm, axis=1, keepdims=True)
    tangent[:] = arm[:, None, :]
    normal = np.array(elements.frames(arm)[:, 2, :])
    bends = [at for at, spot in enumerate(made.spots) if spot.what == "bend"]
    if bends:
        corner = np.array([_corner(line, made.spots[at].piece) for at in bends])
        a, b = (made.nodes[made.ends[bends, end]] for end in (0, 1))
        first, last = _units(corner - a), _units(b - corner)
        tangent[bends, 0], tangent[bends, 1] = first, last
        normal[bends] = _units(np.cross(first, last))
    return tangent, normal


def _corner(line: Line, number: int) -> tuple[float, float, float]:
    piece = line.pieces[number]
    assert isinstance(piece, Bend)
    return piece.corner


def _units(vectors: Array) -> Array:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))


class Plane(msgspec.Struct, frozen=True):
    """A branch connection in space."""

    tee: Tee
    run: tuple[tuple[int, int], tuple[int, int]]
    """Element and end, twice"""
    branch: tuple[int, int]
    normal: tuple[float, float, float]


def planes(line: Line, made: Frame, tangent: Array) -> dict[int, Plane]:
    """Which ends are run and branch at the node of every tee; the run goes straightest on."""
    nodes = {made.node(tee.station): tee for tee in line.tees}
    met: dict[int, list[tuple[int, int]]] = {node: [] for node in nodes}
    for at, pair in enumerate(made.ends.tolist()):
        for end in (0, 1):
            if pair[end] in met:
                met[pair[end]].append((at, end))
    found = {}
    for node, ends in met.items():
        if len(ends) != 3:
            continue
        out = [tangent[at, end] * (1.0 if end == 0 else -1.0) for at, end in ends]
        c, across = branch_of(out)
        if not across.any():
            continue
        a, b = (k for k in range(3) if k != c)
        normal = (float(across[0]), float(across[1]), float(across[2]))
        found[node] = Plane(nodes[node], (ends[a], ends[b]), ends[c], normal)
    return found


def pipe_at(line: Line, made: Frame, pipes: Mapping[str, Pipe], at: int, end: int) -> Pipe:
    """The pipe at one end of an element: along a reducer it goes from one size to the other."""
    from takeup.line.frame import STEPS

    spot = made.spots[at]
    pipe = pipes[spot.pipe]
    piece = line.pieces[spot.piece]
    if not isinstance(piece, Reducer) or spot.what != "reducer":
        return pipe
    other = pipes[piece.to_pipe]
    share = (spot.number + end) / STEPS
    sizes = {
        name: getattr(pipe, name) * (1.0 - share) + getattr(other, name) * share
        for name in ("outside", "wall", "allowance")
    }
    return msgspec.structs.replace(pipe, **sizes)


class BranchSpring(msgspec.Struct, frozen=True, kw_only=True):
    """Flexibility of a branch at the surface of its run, as a person states it."""

    end: int
    """Of the piece at the tee: 0 its start, 1 its end"""
    out: float
    """From the station to the surface of the run [m]"""
    axes: Array
    """Normal of the tee's plane, across it, along the branch, as rows"""
    k: tuple[float, float, float]
    """In-plane, out-of-plane, torsion: turning is k d / (E I) of the branch [-]"""


def branches(line: Line) -> dict[int, BranchSpring]:
    """Springs of branches by number of the piece; a branch must begin as straight pipe.

    Raises :class:`takeup.errors.Contradiction` where it does not.
    """
    wanted = {
        one.station: one
        for one in line.stated
        if one.part is OfTee.BRANCH
        and any(k is not None for k in (one.k_in, one.k_out, one.k_torsion))
    }
    if not wanted:
        return {}
    places_ = {one.name: np.array(one.position) for one in line.stations}
    pipes = {pipe.name: pipe for pipe in line.pipes}
    found = {}
    for station, one in wanted.items():
        ends = []
        for number, piece in enumerate(line.pieces):
            for end, (near, far) in enumerate(((piece.start, piece.end), (piece.end, piece.start))):
                if near == station:
                    to = np.array(piece.corner) if isinstance(piece, Bend) else places_[far]
                    way = to - places_[station]
                    ends.append((number, end, way / np.linalg.norm(way)))
        if len(ends) != 3:
            continue
        branch, across = branch_of([way for _, _, way in ends])
        number, end, way = ends[branch]
        if not isinstance(line.pieces[number], Straight):
            raise Contradiction(
                f"flexibility of the branch at {station!r} (line {one.at}) is taken on straight "
                "pipe only; put a straight leg between the tee and what follows"
            )
        run = max(
            (pipes[getattr(line.pieces[n], "pipe", "")].outside
             for n, _, _ in ends if n != number and getattr(line.pieces[n], "pipe", "") in pipes),
            default=0.0,
        )  # fmt: skip
        found[number] = BranchSpring(
            end=end,
            out=run / 2.0,
            axes=np.array([across, np.cross(across, way), way]),
            k=(one.k_in or 0.0, one.k_out or 0.0, one.k_torsion or 0.0),
        )
    return found


def branch_of(out: Sequence[Array]) -> tuple[int, Array]:
    """Which of three directions from a station is the branch, and the normal of their plane.

    The run goes straightest on.  The normal is zero where the three do not span a plane.
    """
    a, b = min(((0, 1), (0, 2), (1, 2)), key=lambda pair: float(out[pair[0]] @ out[pair[1]]))
    across = np.cross(out[a] - out[b], out[3 - a - b])
    size = float(np.linalg.norm(across))
    return 3 - a - b, across / size if size > 1e-6 else np.zeros(3)


def flexibility(line: Line) -> Callable[[Bend], tuple[float | None, float | None, float | None]]:
    """In-plane, out-of-plane and torsional flexibility that a person states for a bend [-]."""
    stated = {one.piece: one for one in line.stated if one.piece is not None}

    def of(piece: Bend) -> tuple[float | None, float | None, float | None]:
        one = stated.get((piece.start, piece.end))
        return (None, None, None) if one is None else (one.k_in, one.k_out, one.k_torsion)

    return of
