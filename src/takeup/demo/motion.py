"""How the demo lines move: as modelled, and with the faults that are planted on them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from takeup.demo.planted import LINES, PlantedLine

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.line.model import Line, Support
    from takeup.line.solve import JointMovement, StateResult

Triple = tuple[float, float, float]


class JointMoved(msgspec.Struct, frozen=True, kw_only=True):
    """One joint, cold to hot, between its ends."""

    tag: str
    length: float
    """Between its ends when installed [m]"""
    expected: JointMovement
    """As modelled"""
    actual: JointMovement
    """With what is planted on the line"""
    twelve: Triple
    """Towards 12 o'clock"""
    three: Triple
    """Towards 3 o'clock, looking along the flow"""

    def opening(self, side: Triple, radius: float) -> float:
        """By how much the actual joint is longer at a point on ``side`` than in its middle [m]."""
        along, first, second = (np.array(axis) for axis in self.actual.axes)
        turn = self.actual.angular[0] * first + self.actual.angular[1] * second
        return float(np.cross(turn, radius * np.array(side)) @ along)


class SpringMoved(msgspec.Struct, frozen=True, kw_only=True):
    """Height above installed [m] and load [N] of a spring, cold then hot."""

    name: str
    height: tuple[float, float]
    load: tuple[float, float]
    actual: tuple[float, float]
    """Height with what is planted on the line"""


class LineMoved(msgspec.Struct, frozen=True, kw_only=True):
    """A line, cold to hot."""

    line: str
    joints: dict[str, JointMoved]
    springs: dict[str, SpringMoved]
    loads: dict[str, float]
    """Largest force on each support [N]"""


def moved(site: Site) -> tuple[LineMoved, ...]:
    """Every line of the demo that has a model; the register must hold its joints."""
    from takeup.register.entities import LineModel

    planted = {one.line: one for one in LINES}
    return tuple(
        _moved(site, kept, planted.get(kept.line)) for kept in site.register().all(LineModel)
    )


def _moved(site: Site, kept: object, planted: PlantedLine | None) -> LineMoved:
    from takeup.desk.line_joints import joints
    from takeup.line.elements import at_clock
    from takeup.line.model import ConstantSpring, VariableSpring
    from takeup.line.model import Joint as Piece
    from takeup.line.results import between
    from takeup.line.text import read
    from takeup.register.entities import LineModel

    assert isinstance(kept, LineModel)
    known, _ = joints(site, kept.line)
    line = read(kept.text, joints=known)
    cold, hot = solved(line)
    cold_now, hot_now = (cold, hot) if planted is None else solved(wrong(line, planted, cold, hot))
    place = {station.name: station.position for station in line.stations}
    found = {}
    for piece in line.pieces:
        if not isinstance(piece, Piece):
            continue
        expected = between(cold, hot, piece.tag)
        along = np.array(expected.axes[0])
        found[piece.tag] = JointMoved(
            tag=piece.tag,
            length=math.dist(place[piece.start], place[piece.end]),
            expected=expected,
            actual=between(cold_now, hot_now, piece.tag),
            twelve=_three(at_clock(along, 12.0)),
            three=_three(at_clock(along, 3.0)),
        )
    return LineMoved(
        line=kept.line,
        joints=found,
        springs={
            one.name: SpringMoved(
                name=one.name,
                height=_heights(one.name, cold, hot),
                load=(-cold.reaction(one.name).force[2], -hot.reaction(one.name).force[2]),
                actual=_heights(one.name, cold_now, hot_now),
            )
            for one in line.supports
            if isinstance(one, VariableSpring | ConstantSpring)
        },
        loads={
            one.name: max(float(np.linalg.norm(s.reaction(one.name).force)) for s in (cold, hot))
            for one in line.supports
        },
    )


def solved(line: Line) -> tuple[StateResult, StateResult]:
    """The cold and the hot state of ``line``."""
    from takeup.line.solve import prepare, solve

    results = {one.state: one for one in solve(prepare(line))}
    names = {state.role: state.name for state in line.states}
    return results[names["cold"]], results[names["hot"]]


def wrong(line: Line, planted: PlantedLine, cold: StateResult, hot: StateResult) -> Line:
    """``line`` as it really stands, with the planted fault built into its supports."""
    from takeup.line.model import Anchor, VariableSpring

    name = next(state.name for state in line.states if state.role == "hot")

    def as_found(one: Support) -> Support:
        if one.name != planted.place:
            return one
        if isinstance(one, VariableSpring):
            at = cold.reaction(one.name).movement[2]
            return msgspec.structs.replace(one, travel_up=at + planted.size, travel_down=-at)
        assert isinstance(one, Anchor)
        # The line pushes the anchor: it gives way to that side once hot.
        push = np.array(hot.reaction(one.name).force)
        slip = planted.size * push / np.linalg.norm(push)
        growth = np.array(one.growth.get(name, (0.0, 0.0, 0.0))) + slip
        return msgspec.structs.replace(one, growth=one.growth | {name: _three(growth)})

    return msgspec.structs.replace(line, supports=tuple(map(as_found, line.supports)))


def joints_of(lines: Sequence[LineMoved]) -> Mapping[str, JointMoved]:
    """Every joint by its tag."""
    return {tag: joint for line in lines for tag, joint in line.joints.items()}


def _heights(name: str, cold: StateResult, hot: StateResult) -> tuple[float, float]:
    return cold.reaction(name).movement[2], hot.reaction(name).movement[2]


def _three(values: object) -> Triple:
    x, y, z = (float(v) + 0.0 for v in np.asarray(values, dtype=float))
    return x, y, z
