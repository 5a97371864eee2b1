"""Which movements supports and hardware see, and by which law they answer in a state."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
from scipy import sparse

from takeup import materials
from takeup.errors import Contradiction
from takeup.line import contact, elements
from takeup.line.contact import Law
from takeup.line.frame import ROOM, Frame, held_by, pin_axes
from takeup.line.model import (
    Anchor,
    ConstantSpring,
    Guide,
    Hardware,
    Hold,
    Joint,
    Line,
    Rest,
    RodHanger,
    State,
    Stop,
    Strut,
    Support,
    VariableSpring,
)
from takeup.units import Array

UP = np.array([0.0, 0.0, 1.0])
STEEL = 2.0e11
"""Modulus of rods where nothing else is known [Pa]."""


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """The rows of one support, rod set or joint."""

    name: str
    rows: tuple[int, ...]
    what: str
    """support, rod, linkage, bellows, pin, lock"""
    directions: tuple[tuple[float, float, float], ...] = ()
    """Direction of each row of a support"""


class Rows(msgspec.Struct, frozen=True, kw_only=True):
    """Rows of B on the motion of all nodes, and whose they are."""

    matrix: Any
    """(m, 6 N), sparse"""
    places: tuple[Place, ...]
    fixed: dict[int, str]
    """Nodes that rigid anchors hold, with the anchor's name"""

    def place(self, name: str) -> Place:
        """The rows called ``name``."""
        return next(place for place in self.places if place.name == name)


class _Builder:
    def __init__(self, line: Line, made: Frame) -> None:
        self.line, self.made = line, made
        self.entries: list[tuple[int, int, float]] = []
        self.count = 0
        self.places: list[Place] = []
        self.fixed: dict[int, str] = {}
        self.touching: dict[int, list[Array]] = {}
        arm = made.elements.arm
        for pair, unit in zip(
            made.ends.tolist(), arm / np.linalg.norm(arm, axis=1, keepdims=True), strict=True
        ):
            for node in pair:
                self.touching.setdefault(node, []).append(unit)

    def row(self, parts: list[tuple[int, Array, Array]]) -> int:
        """One row: (node, on its translation, on its rotation)."""
        for node, moved, turned in parts:
            for k in range(3):
                if moved[k]:
                    self.entries.append((self.count, 6 * node + k, float(moved[k])))
                if turned[k]:
                    self.entries.append((self.count, 6 * node + 3 + k, float(turned[k])))
        self.count += 1
        return self.count - 1

    def along(self, node: int) -> Array:
        """Direction of the pipe at a node: mean of what starts and ends there."""
        total = np.zeros(3)
        for unit in self.touching.get(node, ()):
            total += unit if total @ unit >= 0.0 else -unit
        size = float(np.linalg.norm(total))
        return total / size if size > 0.0 else np.array([1.0, 0.0, 0.0])

    def support(self, one: Support) -> None:
        node = self.made.node(one.station)
        none = np.zeros(3)
        if isinstance(one, Anchor):
            if one.stiffness is None:
                self.fixed[node] = one.name
                return
            axes = np.eye(3)
            rows = [self.row([(node, axes[k], none)]) for k in range(3)]
            rows += [self.row([(node, none, axes[k])]) for k in range(3)]
            self.add(one.name, rows, "support", [*axes, *axes])
            return
        directions = self.directions(one, node)
        rows = [self.row([(node, direction, none)]) for direction in directions]
        self.add(one.name, rows, "support", directions)

    def directions(self, one: Support, node: int) -> list[Array]:
        along = self.along(node)
        size = math.hypot(along[0], along[1])
        level = np.array([along[0], along[1], 0.0]) / size if size > 1e-6 else np.eye(3)[0]
        side = np.array([-level[1], level[0], 0.0])
        if isinstance(one, Rest):
            return [UP, level, side] if one.friction > 0.0 else [UP]
        if isinstance(one, Guide):
            across = self.across(one, along)
            return [*across, along] if one.friction > 0.0 else across
        if isinstance(one, (Stop, Strut)):
            size = float(np.linalg.norm(one.direction))
            if size < 1e-9:
                raise Contradiction(
                    f"support {one.name!r} (line {one.at}) has no direction; say which way it holds"
                )
            return [np.array(one.direction) / size]
        hanging = isinstance(one, RodHanger) or (isinstance(one, VariableSpring) and one.rod > 0.0)
        return [UP, level, side] if hanging else [UP]

    @staticmethod
    def across(one: Guide, along: Array) -> list[Array]:
        if one.across is not None:
            direction = np.array(one.across, dtype=float)
            direction = direction - along * float(along @ direction)
            size = float(np.linalg.norm(direction))
            if size < 1e-6:
                raise Contradiction(
                    f"guide {one.name!r} (line {one.at}) is said to hold along the line; give a "
                    "direction across it"
                )
            return [direction / size]
        frame = elements.frames(along[None, :])[0]
        return [frame[1], frame[2]]

    def joint(self, piece: Joint) -> None:
        made = self.made
        start, end = made.node(piece.start), made.node(piece.end)
        along = made.nodes[end] - made.nodes[start]
        along = along / np.linalg.norm(along)
        for number, hardware in enumerate(piece.hardware):
            if hardware.hold in {Hold.TIED, Hold.LIMIT}:
                self.rods(piece, hardware, start, end, along, number)
            elif hardware.hold == Hold.PANTOGRAPH:
                self.pantograph(piece)
        self.turning(piece)
        arm = made.nodes[end] - made.nodes[start]
        held = elements.carry(arm[None, :])[0]
        rows = []
        for k in range(6):
            unit = np.zeros(6)
            unit[k] = 1.0
            start_side = -held[:, k]
            rows.append(
                self.row([(end, unit[:3], unit[3:]), (start, start_side[:3], start_side[3:])])
            )
        self.add(piece.tag, rows, "lock", [])

    def turning(self, piece: Joint) -> None:
        """Rows of each bellows that stiffens when cold, or of pins that rub."""
        if piece.locked:
            return
        for pair, spot in zip(self.made.ends.tolist(), self.made.spots, strict=True):
            if spot.what != "bellows" or self.line.pieces[spot.piece] is not piece:
                continue
            spring, (a, b) = piece.bellows[spot.number], pair
            arm = self.made.nodes[b] - self.made.nodes[a]
            along = arm / np.linalg.norm(arm)
            none = np.zeros(3)
            pin = held_by(piece, spot.number, along)
            if pin is not None:
                if spring.axial_rate_cold is None and not rubs(piece, spot.number):
                    continue
                axes = pin_axes(pin, along)
                rows = [self.row([(b, none, axis), (a, none, -axis)]) for axis in axes]
                self.add(f"{piece.tag} pins {spot.number + 1}", rows, "pin", list(axes))
            elif spring.axial_rate_cold is not None:
                frame = elements.frames(along[None, :])[0]
                rows = [
                    self.row([(b, axis, none), (a, -axis, -np.cross(arm, axis))]) for axis in frame
                ]
                rows += [self.row([(b, none, axis), (a, none, -axis)]) for axis in frame[1:]]
                self.add(f"{piece.tag} bellows {spot.number + 1}", rows, "bellows",
                         [*frame, *frame[1:]])  # fmt: skip

    def rods(
        self, piece: Joint, hardware: Hardware, start: int, end: int, along: Array, number: int
    ) -> None:
        if hardware.rods < 1 or hardware.circle <= 0.0 or hardware.rod_area <= 0.0:
            raise Contradiction(
                f"rods of joint {piece.tag} (line {piece.at}) need their number, the diameter of "
                "their circle and the area of one rod"
            )
        across = elements.frames(along[None, :])[0]
        first, second = across[1], across[2]
        if hardware.clock is not None:
            first = elements.at_clock(along, hardware.clock)
            second = elements.at_clock(along, hardware.clock + 3.0)
        rows = []
        for k in range(hardware.rods):
            angle = 2.0 * np.pi * k / hardware.rods
            radial = 0.5 * hardware.circle * (np.cos(angle) * first + np.sin(angle) * second)
            turned = np.cross(radial, along)
            rows.append(self.row([(end, along, turned), (start, -along, -turned)]))
        self.add(f"{piece.tag} rods{f' {number + 1}' if number else ''}", rows, "rod", [])

    def pantograph(self, piece: Joint) -> None:
        if len(piece.bellows) != 2:
            raise Contradiction(
                f"pantograph of joint {piece.tag} (line {piece.at}) needs two bellows to share "
                "movement between"
            )
        ends = [
            tuple(pair)
            for pair, spot in zip(self.made.ends.tolist(), self.made.spots, strict=True)
            if spot.what == "bellows" and self.line.pieces[spot.piece] is piece
        ]
        (a, b), (c, d) = ends
        none = np.zeros(3)
        rows = []
        for axis in np.eye(3):
            half = 0.5 * axis
            rows.append(
                self.row([(b, half, none), (c, half, none), (a, -half, none), (d, -half, none)])
            )
        self.add(f"{piece.tag} linkage", rows, "linkage", [])

    def add(self, name: str, rows: list[int], what: str, directions: list[Array]) -> None:
        self.places.append(
            Place(
                name=name,
                rows=tuple(rows),
                what=what,
                directions=tuple((float(d[0]), float(d[1]), float(d[2])) for d in directions),
            )
        )


def rows(line: Line, made: Frame) -> Rows:
    """Rows of every support, rod set and joint of ``line``."""
    builder = _Builder(line, made)
    for support in line.supports:
        builder.support(support)
    for piece in line.pieces:
        if isinstance(piece, Joint):
            builder.joint(piece)
    entries = builder.entries
    matrix = sparse.csr_matrix(
        (
            [value for _, _, value in entries],
            ([row for row, _, _ in entries], [column for _, column, _ in entries]),
        ),
        shape=(builder.count, 6 * len(made.nodes)),
    )
    return Rows(matrix=matrix, places=tuple(builder.places), fixed=builder.fixed)


def laws(line: Line, found: Rows, state: State) -> tuple[Law, ...]:
    """How each place answers in ``state``, in the order of its rows."""
    supports = {support.name: support for support in line.supports}
    joints = {piece.tag: piece for piece in line.pieces if isinstance(piece, Joint)}
    made = []
    for place in found.places:
        count = len(place.rows)
        if place.what == "support":
            law = support_law(supports[place.name], state, count)
        elif place.what == "rod":
            law = _rods(line, joints[place.name.split(" rods")[0]], place, state)
        elif place.what == "bellows":
            law = _stiffer(line, joints, place, state)
        elif place.what == "pin":
            law = _pins(line, joints, place, state)
        elif place.what == "linkage":
            law = contact.bilateral(place.name, [contact.CLOSED] * count)
        else:
            law = contact.nothing(place.name, count)
        law.rows = place.rows
        made.append(law)
    return tuple(made)


def _numbered(joints: dict[str, Joint], place: Place, what: str) -> tuple[Joint, int]:
    tag, _, number = place.name.rpartition(f" {what} ")
    return joints[tag], int(number) - 1


def cold_share(line: Line, piece: Joint, number: int, state: State) -> float:
    """By what share a bellows is stiffer in ``state`` than when hottest [-].

    The rate goes in a straight line from the cold one when installed to the hot one in the
    hottest state (engineering assumption: so, nearly, does the modulus).
    """
    spring = piece.bellows[number]
    if spring.axial_rate_cold is None:
        return 0.0
    full = spring.axial_rate_cold / spring.axial_rate - 1.0
    hottest = max(one.temperatures.get(piece.tag, one.temperature) for one in line.states)
    if hottest <= ROOM:
        return full
    now = state.temperatures.get(piece.tag, state.temperature)
    return full * min(1.0, max(0.0, (hottest - now) / (hottest - ROOM)))


def _stiffer(line: Line, joints: dict[str, Joint], place: Place, state: State) -> Law:
    """What a bellows has more of stiffness than when hot: axial, two lateral, two angular rows."""
    piece, number = _numbered(joints, place, "bellows")
    spring = piece.bellows[number]
    share = cold_share(line, piece, number, state)
    length = spring.length
    turning = spring.axial_rate * spring.mean_diameter**2 / 8.0
    aside, both, turn = 12.0 / length**2 * turning, 6.0 / length * turning, 4.0 * turning
    k = np.zeros((5, 5))
    k[0, 0] = spring.axial_rate
    k[1, 1] = k[2, 2] = aside
    k[3, 3] = k[4, 4] = turn
    k[1, 4] = k[4, 1] = -both
    k[2, 3] = k[3, 2] = both
    return contact.linkage(place.name, share * k)


TAKEN_UP = 1e-4
"""Turning within which the friction of pins is taken up [rad]."""


def rubs(piece: Joint, number: int) -> bool:
    """Whether the pins over a bellows have friction."""
    one = pins_of(piece, number)
    return one is not None and one.friction > 0.0 and one.pin_diameter > 0.0


def pins_of(piece: Joint, number: int) -> Hardware | None:
    """The hinge or gimbal over one bellows."""
    pinned = [h for h in piece.hardware if h.hold in {Hold.HINGE, Hold.GIMBAL}]
    return pinned[min(number, len(pinned) - 1)] if pinned else None


def pin_moment(piece: Joint, number: int, pressure: float) -> float:
    """Largest moment by friction of both pins about one axis, mu P Ae d / 2 [N.m].

    The pull on them is taken as the pressure thrust alone.
    """
    one = pins_of(piece, number)
    if one is None:
        return 0.0
    thrust = abs(pressure) * np.pi / 4.0 * piece.bellows[number].mean_diameter ** 2
    return float(one.friction * thrust * one.pin_diameter / 2.0)


def _pins(line: Line, joints: dict[str, Joint], place: Place, state: State) -> Law:
    """Pins: stiffness beyond that when hot, and friction that sticks up to its moment."""
    piece, number = _numbered(joints, place, "pins")
    spring = piece.bellows[number]
    turning = spring.axial_rate * spring.mean_diameter**2 / 8.0
    most = max((abs(one.pressure) for one in line.states), default=0.0)
    return contact.turning(
        place.name, len(place.rows),
        stiffness=cold_share(line, piece, number, state) * turning,
        moment=pin_moment(piece, number, state.pressure),
        stick=pin_moment(piece, number, most) / TAKEN_UP,
    )  # fmt: skip


def _rods(line: Line, piece: Joint, place: Place, state: State) -> Law:
    which = place.name.partition(" rods")[2].strip()
    hardware = [h for h in piece.hardware if h.hold in {Hold.TIED, Hold.LIMIT}]
    one = hardware[min(int(which) - 1 if which else 0, len(hardware) - 1)]
    stiffness = STEEL * one.rod_area / _rod_length(line, piece, one)
    longer = rod_growth(line, piece, one, place.name, state)
    inner = None if one.gap_in is None else one.gap_in - longer
    return contact.gaps(
        place.name, len(place.rows), plus=one.gap_out + longer, minus=inner, stiffness=stiffness
    )


def _rod_length(line: Line, piece: Joint, one: Hardware) -> float:
    """Between nuts: as stated, else that of the bellows or of both with their spool [m]."""
    if one.rod_length:
        return one.rod_length
    if len(piece.hardware) > 1:  # one across each bellows
        return piece.bellows[min(piece.hardware.index(one), len(piece.bellows) - 1)].length
    if len(piece.bellows) == 1:
        return piece.bellows[0].length
    if piece.over_both is not None:
        return piece.over_both
    ends = [one.position for one in line.stations if one.name in {piece.start, piece.end}]
    return math.dist(*ends)


def rod_growth(line: Line, piece: Joint, one: Hardware, name: str, state: State) -> float:
    """How much longer the rods called ``name`` are in ``state`` than when installed [m].

    At their own temperature where the state gives one, else by the share of the rise of the
    joint's metal that they are said to make, else nothing.
    """
    metal = one.rod_metal or _metal_beside(line, piece)
    temperature = state.temperatures.get(name)
    if temperature is None:
        if one.rod_rise is None:
            return 0.0
        shell = state.temperatures.get(piece.tag, state.temperature)
        temperature = ROOM + one.rod_rise * (shell - ROOM)
    if not metal or temperature == ROOM:
        return 0.0
    strain = float(materials.expansion_total(materials.alloy(metal).name, temperature, ROOM).value)
    return strain * _rod_length(line, piece, one)


def _metal_beside(line: Line, piece: Joint) -> str:
    """Alloy of the spool of a joint, or of a pipe that ends where the joint does."""
    by_name = {pipe.name: pipe.metal for pipe in line.pipes}
    if piece.spool_pipe in by_name:
        return by_name[piece.spool_pipe]
    ends = {piece.start, piece.end}
    beside = (
        getattr(other, "pipe", "") for other in line.pieces if {other.start, other.end} & ends
    )
    return next((by_name[name] for name in beside if name in by_name), "")


def support_law(one: Support, state: State, count: int) -> Law:
    """How a support answers in ``state``."""
    if isinstance(one, Anchor):
        assert one.stiffness is not None
        shift = np.zeros(6)
        shift[:3] = one.growth.get(state.name, (0.0, 0.0, 0.0))
        return contact.moved(one.name, one.stiffness, shift)
    if isinstance(one, Rest):
        return contact.pressed(one.name, friction=one.friction, clear=one.gap)
    if isinstance(one, Guide):
        return guide(one, count)
    if isinstance(one, Stop):
        return contact.gap(
            one.name, plus=one.gap_plus, minus=None if one.one_way else one.gap_minus
        )
    if isinstance(one, RodHanger):
        return contact.hung(one.name, stiffness=one.stiffness, length=one.length)
    if isinstance(one, VariableSpring):
        return contact.variable(
            one.name, rate=one.rate, load=one.load, up=one.travel_up, down=one.travel_down,
            rod=one.rod, pinned=one.pinned,
        )  # fmt: skip
    if isinstance(one, ConstantSpring):
        return contact.constant(
            one.name, load=one.load, tolerance=one.tolerance, up=one.travel_up,
            down=one.travel_down, seized=one.seized,
        )  # fmt: skip
    return contact.bilateral(one.name, [one.stiffness])


def guide(one: Guide, count: int) -> Law:
    """A guide: one or two directions with a gap either side, and friction along the line."""
    sides = count - 1 if one.friction > 0.0 else count
    return contact.guided(one.name, sides, gap=one.gap, friction=one.friction)
