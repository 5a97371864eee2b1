"""One line as two general-purpose frame packages take it: polygons of straight beams, springs.

Bends become chords with the moment of inertia divided by the flexibility factor; growth becomes
a pair of forces E A e on each beam.  Used by tests and by ``benchmarks.line``.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from takeup import materials
from takeup.line import codes
from takeup.line.frame import ROOM, Section, section
from takeup.line.model import (
    Anchor,
    Bend,
    Line,
    Rest,
    State,
    Straight,
    Strut,
    VariableSpring,
)
from takeup.units import GRAVITY

CLOSED = 1e11
"""Stiffness of a one-way support when closed [N/m], as in the line solver."""


@dataclass
class Beam:
    """One straight beam between two nodes."""

    start: int
    end: int
    section: Section
    inertia: float
    strain: float
    weight: float
    """Per length [N/m], downwards"""


@dataclass
class Model:
    """Nodes (stations first), beams and what holds them."""

    modulus: float
    shear: bool
    nodes: list[Any]
    beams: list[Beam] = field(default_factory=list)
    fixed: dict[int, tuple[str, Any]] = field(default_factory=dict)
    """Rigid anchors: name and imposed movement (3,)"""
    springs: list[tuple[str, int, Any, Any]] = field(default_factory=list)
    """Name, node, stiffness (6,) and force on the line at no movement (3,)"""
    one_way: list[tuple[str, int]] = field(default_factory=list)
    """Supports that only push up"""

    @property
    def g(self) -> float:
        return self.modulus / 2.6

    def length(self, beam: Beam) -> float:
        return float(np.linalg.norm(self.nodes[beam.end] - self.nodes[beam.start]))

    def growth(self, beam: Beam) -> Any:
        """Force that growth puts on the end of a beam [N]."""
        along = (self.nodes[beam.end] - self.nodes[beam.start]) / self.length(beam)
        return self.modulus * beam.section.area * beam.strain * along


@dataclass
class Answer:
    """What a package says: motion of all nodes (N, 6), force and moment on supports (6,)."""

    motion: Any
    reactions: dict[str, Any]
    seconds: dict[str, float]


def model(line: Line, state: State, modulus: float, *, chords: int, shear: bool) -> Model:
    """The line in one state; a piece or support that has no counterpart is refused."""
    place = {station.name: at for at, station in enumerate(line.stations)}
    made = Model(modulus, shear, [np.array(s.position, dtype=float) for s in line.stations])
    pipes = {pipe.name: section(pipe) for pipe in line.pipes}
    for piece in line.pieces:
        if not isinstance(piece, (Straight, Bend)):
            raise TypeError(f"no counterpart for {type(piece).__name__}")
        one = pipes[piece.pipe]
        temperature = state.temperatures.get(piece.pipe, state.temperature)
        strain = float(materials.expansion_total(one.metal, temperature, ROOM).value)
        mass = one.mass + (one.contents if state.contents else 0.0)
        weight = GRAVITY * mass if state.weight else 0.0
        a, b = place[piece.start], place[piece.end]
        if isinstance(piece, Straight):
            made.beams.append(Beam(a, b, one, one.inertia, strain, weight))
            continue
        k = float(codes.of_bend(one.pipe, piece).k)
        last = a
        for point in _arc(piece, made.nodes[a], made.nodes[b], chords):
            made.nodes.append(point)
            made.beams.append(Beam(last, len(made.nodes) - 1, one, one.inertia / k, strain, weight))
            last = len(made.nodes) - 1
        made.beams.append(Beam(last, b, one, one.inertia / k, strain, weight))
    for support in line.supports:
        node = place[support.station]
        none = np.zeros(3)
        if isinstance(support, Anchor) and support.stiffness is None:
            moved = np.array(support.growth.get(state.name, (0.0, 0.0, 0.0)))
            made.fixed[node] = support.name, moved
        elif isinstance(support, Anchor):
            made.springs.append((support.name, node, np.array(support.stiffness), none))
        elif isinstance(support, Strut):
            along = np.abs(np.array(support.direction))
            if np.count_nonzero(along) != 1:
                raise ValueError("a strut must lie along an axis to be compared")
            stiffness = support.stiffness * np.concatenate([along / along.max(), none])
            made.springs.append((support.name, node, stiffness, none))
        elif isinstance(support, VariableSpring):
            stiffness = np.array([0.0, 0.0, support.rate, 0.0, 0.0, 0.0])
            made.springs.append((support.name, node, stiffness, np.array([0.0, 0.0, support.load])))
        elif isinstance(support, Rest) and not support.friction and not support.gap:
            made.one_way.append((support.name, node))
        else:
            raise TypeError(f"no counterpart for {type(support).__name__} {support.name!r}")
    return made


def _arc(bend: Bend, start: Any, end: Any, chords: int) -> list[Any]:
    corner = np.array(bend.corner)
    first = (corner - start) / np.linalg.norm(corner - start)
    last = (end - corner) / np.linalg.norm(end - corner)
    angle = math.acos(float(np.clip(first @ last, -1.0, 1.0)))
    inward = last - first * float(first @ last)
    inward /= np.linalg.norm(inward)
    centre = start + bend.radius * inward
    return [
        centre - bend.radius * (inward * math.cos(t) - first * math.sin(t))
        for t in angle * np.arange(1, chords) / chords
    ]


def pynite(made: Model) -> Answer:
    """By PyNiteFEA: slender beams (no shear), one-way springs by its own iteration."""
    from Pynite import FEModel3D

    if made.shear:
        raise ValueError("its beams have no shear")
    begun = time.perf_counter()
    fe = FEModel3D()
    fe.add_material("m", made.modulus, made.g, 0.3, 0.0)
    for at, point in enumerate(made.nodes):
        fe.add_node(f"n{at}", *map(float, point))
    known: dict[tuple[float, float], str] = {}
    for at, beam in enumerate(made.beams):
        key = beam.section.area, beam.inertia
        if key not in known:
            known[key] = f"s{len(known)}"
            fe.add_section(known[key], beam.section.area, beam.inertia, beam.inertia,
                           2.0 * beam.section.inertia)  # fmt: skip
        fe.add_member(f"b{at}", f"n{beam.start}", f"n{beam.end}", "m", known[key])
        if beam.weight:
            fe.add_member_dist_load(f"b{at}", "FZ", -beam.weight, -beam.weight)
    force = np.zeros((len(made.nodes), 3))
    for beam in made.beams:
        push = made.growth(beam)
        force[beam.end] += push
        force[beam.start] -= push
    for node, (_, moved) in made.fixed.items():
        fe.def_support(f"n{node}", *([True] * 6))
        for k, axis in enumerate(("DX", "DY", "DZ")):
            if moved[k]:
                fe.def_node_disp(f"n{node}", axis, float(moved[k]))
    for _, node, stiffness, load in made.springs:
        force[node] += load
        for k, axis in enumerate(("DX", "DY", "DZ", "RX", "RY", "RZ")):
            if stiffness[k]:
                fe.def_support_spring(f"n{node}", axis, float(stiffness[k]))
    for _, node in made.one_way:
        fe.def_support_spring(f"n{node}", "DZ", CLOSED, "-")
    for node, one in enumerate(force):
        for k, axis in enumerate(("FX", "FY", "FZ")):
            if one[k]:
                fe.add_node_load(f"n{node}", axis, float(one[k]))
    built = time.perf_counter()
    if made.one_way:
        fe.analyze(check_stability=False)
    else:
        fe.analyze_linear(check_stability=False)
    done = time.perf_counter()
    name = "Combo 1"
    motion = np.array(
        [
            [getattr(fe.nodes[f"n{at}"], axis)[name]
             for axis in ("DX", "DY", "DZ", "RX", "RY", "RZ")]
            for at in range(len(made.nodes))
        ]
    )  # fmt: skip
    found = {
        anchor: -np.array(
            [getattr(fe.nodes[f"n{node}"], f"Rxn{axis}")[name]
             for axis in ("FX", "FY", "FZ", "MX", "MY", "MZ")]
        )
        for node, (anchor, _) in made.fixed.items()
    }  # fmt: skip
    return Answer(
        motion, {**found, **_springs(made, motion)}, {"build": built - begun, "solve": done - built}
    )


def pyfe3d(made: Model) -> Answer:
    """By pyfe3d: compiled beams, shear as asked (its moduli carry the shape factor), linear."""
    from pyfe3d import DOUBLE, INT, BeamC, BeamCData, BeamCProbe, Spring, SpringData, SpringProbe
    from pyfe3d.beamprop import BeamProp
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import splu

    if made.one_way:
        raise ValueError("it has no one-way supports")
    begun = time.perf_counter()
    nodes = np.array(made.nodes)
    grounds = {node: len(nodes) + at for at, (_, node, _, _) in enumerate(made.springs)}
    count = len(nodes) + len(made.springs)
    places = np.concatenate([nodes, nodes[list(grounds)]]) if grounds else nodes
    x = places.ravel()
    each, spring_each = BeamCData().KC0_SPARSE_SIZE, SpringData().KC0_SPARSE_SIZE
    size = each * len(made.beams) + spring_each * len(made.springs)
    rows, columns = np.zeros(size, dtype=INT), np.zeros(size, dtype=INT)
    values = np.zeros(size, dtype=DOUBLE)
    probe, spring_probe = BeamCProbe(), SpringProbe()
    force = np.zeros((count, 6))
    known: dict[tuple[float, float], Any] = {}
    at = 0
    for beam in made.beams:
        key = beam.section.area, beam.inertia
        if key not in known:
            prop = BeamProp()
            prop.A, prop.E = beam.section.area, made.modulus
            prop.Iyy = prop.Izz = beam.inertia
            prop.GJ = made.g * 2.0 * beam.section.inertia
            prop.G12 = prop.G13 = 0.5 * made.g if made.shear else 1e9 * made.g
            known[key] = prop
        one = BeamC(probe)
        one.c1, one.c2, one.n1, one.n2 = 6 * beam.start, 6 * beam.end, beam.start, beam.end
        one.init_k_KC0 = at
        arm = nodes[beam.end] - nodes[beam.start]
        length = math.sqrt(arm @ arm)
        side = (1.0, 0.0, 0.0) if abs(arm[2]) > 0.9 * length else (0.0, 0.0, 1.0)
        one.update_rotation_matrix(*side, x)
        one.update_probe_xe(x)
        one.update_KC0(rows, columns, values, known[key])
        at += each
        push = made.modulus * beam.section.area * beam.strain / length * arm
        force[beam.end, :3] += push
        force[beam.start, :3] -= push
        if beam.weight:
            load = np.array([0.0, 0.0, -beam.weight])
            turn = np.cross(arm, load) * length / 12.0
            for end, sign in ((beam.start, 1.0), (beam.end, -1.0)):
                force[end, :3] += 0.5 * length * load
                force[end, 3:] += sign * turn
    for order, (_, node, stiffness, load) in enumerate(made.springs):
        part = Spring(spring_probe)
        part.c1, part.c2 = 6 * node, 6 * (len(nodes) + order)
        part.init_k_KC0 = at
        part.kxe, part.kye, part.kze, part.krxe, part.krye, part.krze = map(float, stiffness)
        part.update_rotation_matrix(1.0, 0.0, 0.0, 0.0, 1.0, 0.0)
        part.update_KC0(rows, columns, values)
        at += spring_each
        force[node, :3] += load
    free = np.ones((count, 6), dtype=bool)
    motion = np.zeros((count, 6))
    free[len(nodes) :] = False
    for node, (_, moved) in made.fixed.items():
        free[node] = False
        motion[node, :3] = moved
    k = coo_matrix((values, (rows, columns)), shape=(6 * count, 6 * count)).tocsc()
    built = time.perf_counter()
    inner = np.flatnonzero(free.ravel())
    outer = np.flatnonzero(~free.ravel())
    flat = motion.ravel()
    right = force.ravel()[inner] - k[inner][:, outer] @ flat[outer]
    flat[inner] = splu(k[inner][:, inner]).solve(right)
    held = (k @ flat - force.ravel()).reshape(-1, 6)
    done = time.perf_counter()
    motion = flat.reshape(-1, 6)[: len(nodes)]
    found = {name: -held[node] for node, (name, _) in made.fixed.items()}
    return Answer(
        motion, {**found, **_springs(made, motion)}, {"build": built - begun, "solve": done - built}
    )


def _springs(made: Model, motion: Any) -> dict[str, Any]:
    found = {}
    for name, node, stiffness, load in made.springs:
        found[name] = stiffness * motion[node] - np.concatenate([load, np.zeros(3)])
    for name, node in made.one_way:
        found[name] = np.array([0.0, 0.0, CLOSED * min(motion[node, 2], 0.0), 0.0, 0.0, 0.0])
    return found
