"""What a line to turn about is made of: its parts as a page takes them, and its shape in space."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec
import numpy as np

from takeup.documents.drawing.isometric_parts import carried, curve
from takeup.errors import Contradiction, UnknownName
from takeup.line.model import Bend, Joint, Line, Piece, Reducer, Rigid
from takeup.line.solve import StateResult
from takeup.units import Array

BENT, STRAIGHT = 13, 9
"""Points along a bend and along anything else."""
Triple = tuple[float, float, float]
Row = tuple[str, ...]
"""What, its value, and its value before a change where there was one."""
Link = tuple[str, str]


class SceneState(msgspec.Struct, frozen=True, kw_only=True):
    """A state that can be looked at."""

    name: str
    largest: float
    """Largest movement of a station, of both shapes where there are two [m]"""
    words: str
    usable: bool


class ScenePiece(msgspec.Struct, frozen=True, kw_only=True):
    """A piece of the line: its axis, and where its axis goes in each state."""

    kind: str
    """pipe, joint, rigid or reducer"""
    points: tuple[Triple, ...]
    """Of the axis [m]"""
    size: float
    """Outside diameter at its start [m]; 0: not known"""
    size_to: float
    """At its end [m]"""
    over: bool
    """Whether a check on it is not met"""
    locked: bool = False
    spans: tuple[tuple[float, float], ...] = ()
    """Where along a joint its bellows stand [-]"""
    moved: tuple[tuple[Triple, ...], ...] = ()
    """Movement of the points by state [m]"""


class SceneTarget(msgspec.Struct, frozen=True, kw_only=True):
    """A place that can be looked at: station, joint, support or rigid part."""

    name: str
    kind: str
    """In words, such as variable spring"""
    group: str
    """joint, support, part or station"""
    at: Triple
    symbol: str = ""
    along: Triple = (1.0, 0.0, 0.0)
    """Of the pipe there"""
    size: float = 0.0
    """Outside diameter of the pipe there [m]"""
    held: Triple | None = None
    """Direction that a guide, stop or strut holds"""
    moved: tuple[Triple, ...] = ()
    """By state [m]"""
    push: tuple[Triple, ...] = ()
    """Load of the line on an anchor by state, of the largest [-]"""
    numbers: tuple[tuple[Row, ...], ...] = ()
    """By state"""
    gone: bool = False
    """Whether a change took it away"""
    says: tuple[str, ...] = ()
    """By state: anything out of the ordinary"""
    links: tuple[Link, ...] = ()


class Scene(msgspec.Struct, frozen=True, kw_only=True):
    """A line to be turned about."""

    tag: str
    states: tuple[SceneState, ...]
    pieces: tuple[ScenePiece, ...]
    targets: tuple[SceneTarget, ...]
    before: tuple[ScenePiece, ...] = ()
    """Pieces of the line before a change"""
    symbols: dict[str, str] = {}
    """By kind of support: what to draw at the origin, pipe along x"""
    key: tuple[tuple[str, str], ...] = ()
    """A small drawing and its words"""
    compared: tuple[str, str] | None = None
    """Heads of the columns of values where there are two"""


class Shape:
    """A line and its results, as places and movements of places."""

    def __init__(self, line: Line, results: Sequence[StateResult]) -> None:
        if not line.pieces:
            raise Contradiction(f"line {line.tag!r} has no pieces to draw")
        for result in results:
            if len(result.motion) < len(line.stations):
                raise Contradiction(
                    f"state {result.state!r} was solved on another line than {line.tag!r}"
                )
        self.line, self.results = line, results
        self.place = {station.name: at for at, station in enumerate(line.stations)}
        self.at = np.array([station.position for station in line.stations], dtype=float)
        self.curves = [
            curve(p, self.point(p.start), self.point(p.end), BENT if isinstance(p, Bend) else STRAIGHT)
            for p in line.pieces
        ]  # fmt: skip

    def index(self, station: str) -> int:
        """Place of a station among all."""
        try:
            return self.place[station]
        except KeyError:
            raise UnknownName("station", station, tuple(self.place)) from None

    def point(self, station: str) -> Array:
        """Where a station stands [m]."""
        found: Array = self.at[self.index(station)]
        return found

    def moved(self, result: StateResult, at: int) -> Array:
        """Movement of the points of a piece."""
        piece = self.line.pieces[at]
        ends = result.motion[self.index(piece.start)], result.motion[self.index(piece.end)]
        return carried(piece, self.curves[at], *ends)

    def result(self, state: str) -> StateResult | None:
        """The result of a state; ``None`` where it was not solved."""
        return next((one for one in self.results if one.state == state), None)


def beside(piece: Piece, line: Line, sizes: Mapping[str, float]) -> float:
    """Size of the pipe beside a piece that has none [m]; 0: not known."""
    ends = {piece.start, piece.end}
    return next(
        (
            sizes.get(other.pipe, 0.0)
            for other in line.pieces
            if not isinstance(other, (Joint, Rigid)) and {other.start, other.end} & ends
        ),
        0.0,
    )


def kind_of_piece(piece: Piece) -> str:
    """pipe, joint, rigid or reducer."""
    if isinstance(piece, Joint):
        return "joint"
    if isinstance(piece, Rigid):
        return "rigid"
    return "reducer" if isinstance(piece, Reducer) else "pipe"


def spans_of(joint: Joint, shape: Shape) -> tuple[tuple[float, float], ...]:
    """Where along a joint its bellows stand [-]."""
    whole = float(np.linalg.norm(shape.point(joint.end) - shape.point(joint.start))) or 1.0
    if len(joint.bellows) == 1:
        share = min(1.0, joint.bellows[0].length / whole)
        return ((0.5 - share / 2, 0.5 + share / 2),)
    over = min(1.0, (joint.over_both or whole) / whole)
    start, end = 0.5 - over / 2, 0.5 + over / 2
    return (
        (start, start + joint.bellows[0].length / whole),
        (end - joint.bellows[-1].length / whole, end),
    )


def triple(values: Array) -> Triple:
    """East, north, up to six digits, without minus zeros."""
    x, y, z = (float(f"{v:.6g}") + 0.0 for v in values)
    return x, y, z


def triples(points: Array) -> tuple[Triple, ...]:
    """Points (k, 3) as plain numbers."""
    return tuple(triple(point) for point in points)
