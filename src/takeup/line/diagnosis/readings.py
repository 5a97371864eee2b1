"""What is read at a line, and how a reading follows from motion and support forces."""

from __future__ import annotations

from enum import StrEnum

import msgspec
import numpy as np

from takeup.errors import Contradiction, UnknownName
from takeup.line import elements
from takeup.line.model import (
    ConstantSpring,
    Guide,
    Joint,
    Line,
    Rest,
    RodHanger,
    VariableSpring,
)
from takeup.line.solve import Prepared
from takeup.units import Array


class Kind(StrEnum):
    """Kinds of reading."""

    JOINT = "joint mark"
    """Movement between the ends of a joint, hot minus cold [m, rad]"""
    INDICATOR = "position indicator"
    """Upward travel of a spring or hanger, hot minus cold [m]"""
    GAP = "guide gap"
    """Clear room on the plus side of a guide, in one state [m]"""
    POSITION = "position against record"
    """Place of a station less that of the sound line in the same state [m]"""
    LOAD = "support load"
    """Carried by a rest, spring or hanger, in one state [N]"""


JOINT_PARTS = ("axial", "lateral 1", "lateral 2", "angular 1", "angular 2")
AXES = ("east", "north", "up")
LOADED = (Rest, RodHanger, VariableSpring, ConstantSpring)
ERRORS = {Kind.JOINT: 1e-3, Kind.INDICATOR: 2e-3, Kind.GAP: 1e-3, Kind.POSITION: 5e-3}
"""Usual errors of readings that are not taken yet, one standard deviation [m, rad]; engineering
assumption.  That of a load is a tenth of what the sound line carries there."""


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """One reading, taken or only thought of."""

    kind: Kind
    place: str
    """Tag of the joint, name of the support, or station of a position"""
    part: str = ""
    """Joint: axial, lateral 1/2, angular 1/2; gap: 1 or 2; position: east, north, up"""
    hot: bool = True
    """State of a gap, position or load; joint marks and indicators are hot minus cold"""
    value: float | None = None
    """[m, rad, N]; ``None``: not taken"""
    error: float | None = None
    """One standard deviation; ``None``: the usual one"""

    @property
    def words(self) -> str:
        """The reading in words."""
        when = ""
        if self.kind in {Kind.GAP, Kind.POSITION, Kind.LOAD}:
            when = ", hot" if self.hot else ", cold"
        part = f", {self.part}" if self.part else ""
        return f"{self.kind.value} at {self.place}{part}{when}"

    @property
    def key(self) -> tuple[str, str, str, bool]:
        """What is read, whatever it showed."""
        return self.kind.value, self.place, self.part, self.hot


class Functionals(msgspec.Struct, frozen=True, kw_only=True):
    """Readings as linear forms: hot and cold shares of ``motion`` and ``force`` plus a constant."""

    motion: Array
    """(k, 6N)"""
    force: Array
    """(k, m)"""
    hot: Array
    cold: Array
    constant: Array
    record: Array
    """1 where the sound line's own value is taken off (k,)"""


def candidates(line: Line) -> tuple[Reading, ...]:
    """Every joint mark, indicator, load and position at a support that could be read next."""
    found: list[Reading] = []
    for piece in line.pieces:
        if isinstance(piece, Joint):
            found += [Reading(kind=Kind.JOINT, place=piece.tag, part=part) for part in JOINT_PARTS]
    for one in line.supports:
        if isinstance(one, (VariableSpring, ConstantSpring, RodHanger)):
            found.append(Reading(kind=Kind.INDICATOR, place=one.name))
        if isinstance(one, LOADED):
            found.append(Reading(kind=Kind.LOAD, place=one.name))
        for hot in (False, True):
            found += [
                Reading(kind=Kind.POSITION, place=one.station, part=axis, hot=hot) for axis in AXES
            ]
    return tuple({reading.key: reading for reading in found}.values())


def functionals(ready: Prepared, readings: tuple[Reading, ...]) -> Functionals:
    """Linear forms of ``readings``.

    Raises :class:`takeup.errors.UnknownName` for a place or part that the line has not.
    """
    count, size = len(readings), 6 * len(ready.frame.nodes)
    motion, force = np.zeros((count, size)), np.zeros((count, len(ready.reference)))
    hot, cold = np.zeros(count), np.zeros(count)
    constant, record = np.zeros(count), np.zeros(count)
    for at, reading in enumerate(readings):
        hot[at], cold[at] = (1.0, 0.0) if reading.hot else (0.0, 1.0)
        if reading.kind in {Kind.JOINT, Kind.INDICATOR}:
            hot[at], cold[at] = 1.0, -1.0
        if reading.kind == Kind.JOINT:
            _joint(ready, reading, motion[at])
        elif reading.kind == Kind.POSITION:
            node = ready.frame.node(reading.place)
            motion[at, 6 * node + _part(reading, AXES)] = 1.0
            record[at] = 1.0
        else:
            constant[at] = _support(ready, reading, motion[at], force[at])
    return Functionals(
        motion=motion, force=force, hot=hot, cold=cold, constant=constant, record=record
    )


def _part(reading: Reading, known: tuple[str, ...]) -> int:
    if reading.part not in known:
        raise UnknownName(f"part of {reading.kind.value} at {reading.place!r}", reading.part, known)
    return known.index(reading.part)


def _joint(ready: Prepared, reading: Reading, into: Array) -> None:
    joints = {piece.tag: piece for piece in ready.line.pieces if isinstance(piece, Joint)}
    if reading.place not in joints:
        raise UnknownName("joint", reading.place, tuple(joints))
    piece = joints[reading.place]
    a, b = ready.frame.node(piece.start), ready.frame.node(piece.end)
    arm = ready.frame.nodes[b] - ready.frame.nodes[a]
    axes = elements.frames((arm / np.linalg.norm(arm))[None, :])[0]
    which = _part(reading, JOINT_PARTS)
    on_a, on_b = into[6 * a : 6 * a + 6], into[6 * b : 6 * b + 6]
    if which >= 3:
        on_b[3:] = axes[which - 2]
        on_a[3:] = -axes[which - 2]
        return
    on_b[:3] = axes[which]
    on_a[:3] = -axes[which]
    if which:  # sideways movement counts from the mean direction of the two ends
        turned = -0.5 * np.cross(arm, axes[which])
        on_a[3:], on_b[3:] = turned, turned


def _support(ready: Prepared, reading: Reading, motion: Array, force: Array) -> float:
    supports = {one.name: one for one in ready.line.supports}
    if reading.place not in supports:
        raise UnknownName("support", reading.place, tuple(supports))
    one = supports[reading.place]
    place = ready.rows.place(one.name)
    if reading.kind == Kind.LOAD and isinstance(one, LOADED):
        force[place.rows[0]] = 1.0
        return 0.0
    node = ready.frame.node(one.station)
    if reading.kind == Kind.INDICATOR and isinstance(one, LOADED):
        motion[6 * node + 2] = 1.0
        return 0.0
    if reading.kind == Kind.GAP and isinstance(one, Guide):
        sides = ("1",) if one.across is not None else ("1", "2")
        side = _part(reading, sides)
        motion[6 * node : 6 * node + 3] = -np.array(place.directions[side])
        return one.gap
    raise Contradiction(
        f"{reading.kind.value} cannot be read at {reading.place!r}: it is no support of that kind"
    )
