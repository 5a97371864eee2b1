"""From a line to nodes and elements: sections, joints taken apart, masses, growth by state."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import msgspec
import numpy as np

from takeup import materials
from takeup.errors import Contradiction, UnknownName
from takeup.line import codes, elements, planes
from takeup.line.elements import Elements
from takeup.line.model import (
    BellowsSpring,
    Bend,
    Hold,
    Joint,
    Line,
    Pipe,
    Reducer,
    Rigid,
    State,
    Straight,
)
from takeup.units import GRAVITY, Array

ROOM = 294.2612
"""21 °C [K]: installed."""
STEPS = 6
"""Straight steps that stand for a reducer."""
POISSON = 0.3


class Section(msgspec.Struct, frozen=True, kw_only=True):
    """A pipe section: areas, inertia, mass per length."""

    pipe: Pipe
    area: float
    inertia: float
    modulus: float
    """Section modulus Z [m3]"""
    inside: float
    mass: float
    """Metal, lining and insulation [kg/m]"""
    contents: float
    """[kg/m]"""
    metal: str


def section(pipe: Pipe) -> Section:
    """The section of a pipe by its nominal dimensions."""
    inside = pipe.outside - 2.0 * pipe.wall
    if inside <= 0.0:
        raise Contradiction(
            f"pipe {pipe.name!r} (line {pipe.at}): wall {pipe.wall * 1e3:g} mm leaves no bore in "
            f"{pipe.outside * 1e3:g} mm"
        )
    area = math.pi / 4.0 * (pipe.outside**2 - inside**2)
    inertia = math.pi / 64.0 * (pipe.outside**4 - inside**4)
    bore = max(0.0, inside - 2.0 * pipe.lining_thickness)
    metal = materials.alloy(pipe.metal).name
    density = float(materials.density(metal).value)
    return Section(
        pipe=pipe,
        area=area,
        inertia=inertia,
        modulus=2.0 * inertia / pipe.outside,
        inside=inside,
        mass=area * density + pipe.insulation_mass + pipe.lining_mass,
        contents=math.pi / 4.0 * bore**2 * pipe.contents_density,
        metal=metal,
    )


class Spot(msgspec.Struct, frozen=True, kw_only=True):
    """Which piece an element belongs to, and what it is there."""

    piece: int
    """Place of the piece in the line; its text line is ``line.pieces[piece].at``"""
    what: str
    """straight, bend, reducer, rigid, stub, bellows, spool, pin"""
    pipe: str
    """Name of the pipe; nothing for parts without one"""
    number: int = 0
    """Bellows 0 or 1 of a joint, step of a reducer"""


class Frame(msgspec.Struct, frozen=True, kw_only=True):
    """Nodes and elements of a line at one set of moduli."""

    names: tuple[str, ...]
    """Of the nodes; stations first, then what lies inside joints and reducers"""
    nodes: Array
    """(N, 3) [m]"""
    ends: Any
    """(n, 2) node of start and end of each element"""
    elements: Elements
    spots: tuple[Spot, ...]
    sections: dict[str, Section]
    mass: Array
    """(n,) per length, without contents [kg/m]"""
    contents: Array
    """(n,) [kg/m]"""
    lumps: Array
    """(N,) masses at nodes [kg]"""
    inside_joint: dict[str, tuple[int, ...]]
    """Nodes of each joint from its start to its end"""

    def node(self, station: str) -> int:
        """Place of a station's node."""
        try:
            return self.names.index(station)
        except ValueError:
            raise UnknownName("station", station, self.names) from None


Moduli = Callable[[str], float]


class _Lot(msgspec.Struct):
    """Elements of one kind while they are gathered."""

    start: list[int]
    end: list[int]
    compliance: list[list[float]]
    extra: list[Any]
    spots: list[Spot]
    mass: list[float]
    contents: list[float]


class _Gather:
    """Takes the pieces of a line apart."""

    def __init__(
        self, line: Line, moduli: Moduli, *, shear: bool, stiffening: State | None
    ) -> None:
        self.line, self.moduli, self.shear, self.stiffening = line, moduli, shear, stiffening
        self.pipes = {pipe.name: section(pipe) for pipe in line.pipes}
        self.names = [station.name for station in line.stations]
        self.place = {name: at for at, name in enumerate(self.names)}
        self.points = [np.array(station.position, dtype=float) for station in line.stations]
        self.lumps: dict[int, float] = {}
        self.lots = {
            kind: _Lot([], [], [], [], [], [], []) for kind in ("straight", "bend", "free")
        }
        self.inside: dict[str, tuple[int, ...]] = {}
        self.before: str = line.pipes[0].name if line.pipes else ""
        self.of_bend = planes.flexibility(line)
        self.branches = planes.branches(line)

    def add_node(self, name: str, point: Array) -> int:
        self.names.append(name)
        self.points.append(np.asarray(point, dtype=float))
        return len(self.names) - 1

    def station(self, name: str, at: int) -> int:
        if name not in self.place:
            raise UnknownName(f"station (line {at})", name, tuple(self.place))
        return self.place[name]

    def compliance(self, one: Section, flexibility: float = 1.0) -> list[float]:
        e = self.moduli(one.metal)
        g = e / (2.0 * (1.0 + POISSON))
        sheared = 2.0 / (g * one.area) if self.shear else 0.0
        bending = flexibility / (e * one.inertia)
        return [1.0 / (e * one.area), sheared, sheared, 1.0 / (2.0 * g * one.inertia), bending,
                bending]  # fmt: skip

    def put(
        self,
        kind: str,
        start: int,
        end: int,
        compliance: list[float],
        spot: Spot,
        mass: float,
        contents: float,
        extra: Any = None,
    ) -> None:
        lot = self.lots[kind]
        lot.start.append(start)
        lot.end.append(end)
        lot.compliance.append(compliance)
        lot.extra.append(extra)
        lot.spots.append(spot)
        lot.mass.append(mass)
        lot.contents.append(contents)

    def pipe(self, name: str, at: int) -> Section:
        if name not in self.pipes:
            raise UnknownName(f"pipe (line {at})", name, tuple(self.pipes))
        return self.pipes[name]

    def gap(self, a: int, b: int, piece: Any) -> float:
        length = float(np.linalg.norm(self.points[b] - self.points[a]))
        if length < 1e-6:
            raise Contradiction(
                f"piece from {piece.start!r} to {piece.end!r} (line {piece.at}) has no length; "
                "give its two ends different places"
            )
        return length

    def take(self, number: int, piece: Any) -> None:
        a, b = self.station(piece.start, piece.at), self.station(piece.end, piece.at)
        length = self.gap(a, b, piece)
        if isinstance(piece, Straight):
            one = self.pipe(piece.pipe, piece.at)
            spot = Spot(piece=number, what="straight", pipe=piece.pipe)
            self.put("straight", a, b, self.compliance(one), spot, one.mass, one.contents,
                     self.branch(number, one, length))  # fmt: skip
            self.before = piece.pipe
        elif isinstance(piece, Bend):
            self.bend(number, piece, a, b)
            self.before = piece.pipe
        elif isinstance(piece, Reducer):
            self.reducer(number, piece, a, b)
            self.before = piece.to_pipe
        elif isinstance(piece, Rigid):
            spot = Spot(piece=number, what="rigid", pipe=self.before)
            self.put("free", a, b, [], spot, piece.mass / length, 0.0, np.eye(6) / elements.RIGID)
        else:
            self.joint(number, piece, a, b, length)

    def bend(self, number: int, piece: Bend, a: int, b: int) -> None:
        one = self.pipe(piece.pipe, piece.at)
        pressure, temperature_modulus = 0.0, self.moduli(one.metal)
        if self.stiffening is not None:
            pressure = self.stiffening.pressure
        k = float(codes.of_bend(one.pipe, piece, pressure, temperature_modulus).k)
        compliance = self.compliance(one, k)
        inside, outside, twist = self.of_bend(piece)
        for place, stated, taken in ((5, inside, k), (4, outside, k), (3, twist, 1.0)):
            compliance[place] *= 1.0 if stated is None else stated / taken
        spot = Spot(piece=number, what="bend", pipe=piece.pipe)
        self.put("bend", a, b, compliance, spot, one.mass, one.contents,
                 (np.array(piece.corner), piece.radius))  # fmt: skip

    def branch(self, number: int, one: Section, length: float) -> Any:
        """Spring at the run's surface of a branch whose flexibility a person states."""
        found = self.branches.get(number)
        if found is None:
            return None
        at = min(found.out / length, 1.0)
        size = (one.pipe.outside - one.pipe.wall) / (self.moduli(one.metal) * one.inertia)
        return (1.0 - at if found.end else at, found.axes, size * np.array(found.k))

    def reducer(self, number: int, piece: Reducer, a: int, b: int) -> None:
        first, last = self.pipe(piece.pipe, piece.at), self.pipe(piece.to_pipe, piece.at)
        before = a
        for step in range(STEPS):
            share = (step + 0.5) / STEPS
            mixed = {
                name: getattr(first.pipe, name) * (1.0 - share) + getattr(last.pipe, name) * share
                for name in ("outside", "wall", "insulation_mass", "lining_mass",
                             "lining_thickness", "contents_density")
            }  # fmt: skip
            one = section(msgspec.structs.replace(first.pipe, **mixed))
            after = b
            if step < STEPS - 1:
                along = (step + 1) / STEPS
                point = self.points[a] * (1.0 - along) + self.points[b] * along
                after = self.add_node(f"{piece.start} to {piece.end}, step {step + 1}", point)
            spot = Spot(piece=number, what="reducer", pipe=piece.pipe, number=step)
            self.put("straight", before, after, self.compliance(one), spot, one.mass, one.contents)
            before = after

    def joint(self, number: int, piece: Joint, a: int, b: int, length: float) -> None:
        along = (self.points[b] - self.points[a]) / length
        one = self.pipe(piece.spool_pipe or self.before, piece.at)
        soft = sum(spring.length for spring in piece.bellows)
        spool = 0.0
        if len(piece.bellows) == 2:
            spool = (piece.over_both if piece.over_both is not None else length) - soft
        stub = (length - soft - spool) / 2.0
        if not piece.bellows or spool < -1e-9 or stub < -1e-9:
            raise Contradiction(
                f"joint {piece.tag} (line {piece.at}): {soft * 1e3:g} mm of convolutions"
                f"{f' and {spool * 1e3:g} mm of spool' if spool else ''} do not fit into the "
                f"{length * 1e3:g} mm between its ends"
            )
        nodes = [a]
        place = 0.0
        parts: list[tuple[str, float, int]] = [("stub", stub, 0)]
        for which, spring in enumerate(piece.bellows):
            parts.append(("bellows", spring.length, which))
            if which + 1 < len(piece.bellows):
                parts.append(("spool", spool, 0))
        parts.append(("stub", stub, 1))
        parts = [part for part in parts if part[1] > 1e-9]
        for order, (what, size, which) in enumerate(parts):
            place += size
            last = order == len(parts) - 1
            after = b if last else self.add_node(
                f"{piece.tag}.{order + 1}", self.points[a] + along * place
            )  # fmt: skip
            spot = Spot(piece=number, what=what, pipe=one.pipe.name, number=which)
            if what == "bellows":
                self.bellows(piece, which, nodes[-1], after, along, spot, one)
            else:
                self.put("straight", nodes[-1], after, self.compliance(one), spot, one.mass,
                         one.contents)  # fmt: skip
            nodes.append(after)
        self.inside[piece.tag] = tuple(nodes)

    def bellows(
        self, piece: Joint, which: int, a: int, b: int, along: Array, spot: Spot, one: Section
    ) -> None:
        spring = piece.bellows[which]
        mass = spring.mass / spring.length
        if piece.locked:
            self.put("free", a, b, [], spot, mass, one.contents, np.eye(6) / elements.RIGID)
            return
        hold = held_by(piece, which, along)
        if hold is None:
            e = self.moduli(one.metal)
            turning = spring.axial_rate * spring.mean_diameter**2 / 8.0
            twist = spring.torsion_rate or e * one.inertia / (1.0 + POISSON) / spring.length
            compliance = [
                1.0 / (spring.axial_rate * spring.length), 0.0, 0.0,
                1.0 / (twist * spring.length), 1.0 / (turning * spring.length),
                1.0 / (turning * spring.length),
            ]  # fmt: skip
            self.put("straight", a, b, compliance, spot, mass, one.contents)
            return
        flexibility = pin_flexibility(spring, hold, along)
        self.put("free", a, b, [], spot, mass, one.contents, flexibility)


class Pin(msgspec.Struct, frozen=True, kw_only=True):
    """Axes about which pins let a bellows turn."""

    axes: tuple[Array, ...]


def held_by(piece: Joint, which: int, along: Array) -> Pin | None:
    """The pins over one bellows, or nothing where it moves freely between its ends."""
    pinned = [h for h in piece.hardware if h.hold in {Hold.HINGE, Hold.GIMBAL}]
    if not pinned:
        return None
    hardware = pinned[min(which, len(pinned) - 1)]
    if hardware.hold == Hold.GIMBAL:
        return Pin(axes=())
    if hardware.axis is not None:
        return Pin(axes=(np.array(hardware.axis, dtype=float),))
    if hardware.clock is None:
        raise Contradiction(
            f"hinge of joint {piece.tag} (line {piece.at}) has no direction of its pins; give axis "
            "or clock"
        )
    return Pin(axes=(elements.at_clock(along, hardware.clock),))


def pin_axes(pin: Pin, along: Array) -> tuple[Array, ...]:
    """Unit axes across the joint about which its pins let it turn."""
    if not pin.axes:
        across = elements.frames(along[None, :])[0]
        return (across[1], across[2])
    found = []
    for axis in pin.axes:
        square = axis - along * float(axis @ along)
        size = float(np.linalg.norm(square))
        if size < 0.1:
            raise Contradiction("the pins of a hinge must lie across the line, not along it")
        found.append(square / size)
    return tuple(found)


def pin_flexibility(spring: BellowsSpring, pin: Pin, along: Array) -> Array:
    """Flexibility at the end of a hinged bellows: rigid but for turning about its pins (6, 6)."""
    turning = spring.axial_rate * spring.mean_diameter**2 / 8.0
    to_end = elements.carry(0.5 * spring.length * along[None, :])[0]
    found = np.eye(6) / elements.RIGID
    for unit in pin_axes(pin, along):
        turn = np.zeros((6, 6))
        turn[3:, 3:] = np.outer(unit, unit) / turning
        found = found + to_end.T @ turn @ to_end
    return np.asarray(found)


def frame(
    line: Line, moduli: Moduli, *, shear: bool = True, stiffening: State | None = None
) -> Frame:
    """Nodes and elements of ``line`` with elastic moduli by metal [Pa].

    ``stiffening`` names the state whose pressure stiffens bends; without it they are not.
    Raises :class:`takeup.errors.Contradiction` and :class:`takeup.errors.UnknownName` for a
    line that does not hang together.
    """
    gather = _Gather(line, moduli, shear=shear, stiffening=stiffening)
    for number, piece in enumerate(line.pieces):
        gather.take(number, piece)
    points = np.array(gather.points)
    parts: list[Elements] = []
    order: list[tuple[int, int]] = []
    spots: list[Spot] = []
    mass: list[float] = []
    contents: list[float] = []
    for kind, lot in gather.lots.items():
        if not lot.start:
            continue
        start, end = points[lot.start], points[lot.end]
        if kind == "straight":
            made = elements.straight(start, end, np.array(lot.compliance))
            for at, extra in enumerate(lot.extra):
                if extra is not None:
                    elements.sprung(made, at, *extra)
        elif kind == "bend":
            corner = np.array([extra[0] for extra in lot.extra])
            radius = np.array([extra[1] for extra in lot.extra])
            made = elements.bend(start, end, corner, radius, np.array(lot.compliance))
        else:
            made = elements.from_flexibility(start, end, np.array(lot.extra))
            heavy = elements.rigid(start, end)
            made = msgspec.structs.replace(made, load_total=heavy.load_total)
        parts.append(made)
        order += list(zip(lot.start, lot.end, strict=True))
        spots += lot.spots
        mass += lot.mass
        contents += lot.contents
    if not parts:
        raise Contradiction(f"line {line.tag!r} has no pieces")
    lumps = np.zeros(len(points))
    return Frame(
        names=tuple(gather.names),
        nodes=points,
        ends=np.array(order, dtype=np.intp),
        elements=elements.join(parts),
        spots=tuple(spots),
        sections=gather.pipes,
        mass=np.array(mass),
        contents=np.array(contents),
        lumps=lumps,
        inside_joint=gather.inside,
    )


def growth(line: Line, made: Frame, state: State) -> Array:
    """Free growth per length of each element from installed to ``state`` (n,) [-].

    Bellows and pinned parts have none of their own: their convolutions take it up.
    """
    found = np.zeros(len(made.spots))
    cache: dict[tuple[str, float], float] = {}
    for at, spot in enumerate(made.spots):
        if spot.what == "bellows" or not spot.pipe:
            continue
        metal = made.sections[spot.pipe].metal
        piece = line.pieces[spot.piece]
        if isinstance(piece, Rigid) and piece.metal:
            metal = materials.alloy(piece.metal).name
        temperature = state.temperatures.get(spot.pipe, state.temperature)
        key = (metal, temperature)
        if key not in cache:
            cache[key] = float(materials.expansion_total(metal, temperature, ROOM).value)
        found[at] = cache[key]
    return found


def line_load(made: Frame, state: State) -> Array:
    """Weight, and acceleration as a static load, per length of each element (n, 3) [N/m]."""
    mass = made.mass + (made.contents if state.contents else 0.0)
    shares = np.array(state.acceleration) - [0.0, 0.0, float(state.weight)]
    return np.asarray(GRAVITY * mass[:, None] * shares)


def connected(made: Frame) -> Sequence[tuple[int, ...]]:
    """Groups of nodes that hang together by elements."""
    parent = list(range(len(made.nodes)))

    def root(at: int) -> int:
        while parent[at] != at:
            parent[at] = parent[parent[at]]
            at = parent[at]
        return at

    for a, b in made.ends.tolist():
        parent[root(a)] = root(b)
    groups: dict[int, list[int]] = {}
    for at in range(len(parent)):
        groups.setdefault(root(at), []).append(at)
    return tuple(tuple(group) for group in groups.values())
