"""Solve a line: state after state, each with its certificate.

The frame is factorised once per set of moduli, in banded form.  Supports and hardware see it
only through its flexibility in their own rows, and are settled there.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import Any

import msgspec
import numpy as np
from scipy import linalg, sparse
from scipy.sparse import csgraph

from takeup import materials
from takeup.errors import TakeupError
from takeup.line import contact, elements, loose, settling
from takeup.line import rows as rowing
from takeup.line.bundle import Bundle
from takeup.line.contact import Law
from takeup.line.frame import ROOM, Frame, frame, growth, line_load
from takeup.line.model import Anchor, Hold, Joint, Line, State
from takeup.line.rows import Rows
from takeup.line.settling import Settled
from takeup.units import Array

LEAST = 1e3
"""Forces below which a certificate does not look at shares [N]."""


class Moduli(StrEnum):
    """Which elastic moduli a solution takes."""

    COLD = "at room temperature"
    HOT = "at the temperature of the hottest state"


class Unsolved(TakeupError):
    """A line that does not come to rest, with what is loose."""


class Prepared(msgspec.Struct, frozen=True, kw_only=True):
    """A line ready to be solved again and again."""

    line: Line
    frame: Frame
    rows: Rows
    reference: Array
    """Stand-in stiffness of each row (m,)"""
    free: Any
    """Free degrees of freedom, in banded order"""
    held: Any
    """Degrees of freedom held by rigid anchors"""
    factor: Any
    """Banded Cholesky factor of the frame with its stand-ins"""
    stiffness: Any
    """The frame alone, sparse (6N, 6N)"""
    inner: Any
    """Of it what is free, sparse"""
    across: Any
    """Free columns of the rows, sparse (m, free)"""
    coupling: Any
    """Sparse (free, held) part of the frame"""
    seen: Array
    """K^-1 B^T (free, m)"""
    flexibility: Array
    """B K^-1 B^T (m, m)"""
    moduli: dict[str, float]
    """Elastic modulus by metal [Pa]"""
    shear: bool
    """Whether straight pipe gives by shear"""
    stiffening: str
    """State whose pressure stiffens bends; nothing: none"""


class Certificate(msgspec.Struct, frozen=True, kw_only=True):
    """How well a state is solved."""

    residual: float
    """Largest unbalanced force at a node over the largest force at one [-]"""
    balance: float
    """Unbalance of loads and reactions on the whole over the total load [-]"""
    rounds: int
    steps: int

    @property
    def good(self) -> bool:
        """Whether the state may be used."""
        return self.residual < 1e-6 and self.balance < 1e-6


class JointMovement(msgspec.Struct, frozen=True, kw_only=True):
    """Movement of a joint, or of one bellows of it, from installed [m, rad]."""

    tag: str
    number: int | None
    """Bellows 0 or 1; ``None``: between the ends of the joint"""
    axial: float
    """+ extension"""
    lateral: tuple[float, float]
    """In the joint's two cross directions"""
    angular: tuple[float, float]
    torsion: float
    axes: tuple[tuple[float, float, float], ...]
    """Along the joint and its two cross directions"""


class Reaction(msgspec.Struct, frozen=True, kw_only=True):
    """Force of the line ON a support [N, N.m], global axes."""

    name: str
    force: tuple[float, float, float]
    moment: tuple[float, float, float]
    movement: tuple[float, float, float]
    """Of its station [m]"""


class StateResult(msgspec.Struct, frozen=True, kw_only=True):
    """One state at rest."""

    state: str
    motion: Array
    """(N, 6) [m, rad]"""
    ends: Array
    """Forces of the nodes on each element (n, 12) [N, N.m], global axes"""
    rows: Array
    """Force on the line at each row (m,)"""
    row_movement: Array
    memory: tuple[Array, ...]
    reactions: tuple[Reaction, ...]
    joints: tuple[JointMovement, ...]
    certificate: Certificate
    way: tuple[tuple[float, Array], ...] = ()
    """Movement of the rows at each share of the way from the state before"""

    def reaction(self, name: str) -> Reaction:
        """Load on the support called ``name``."""
        return next(one for one in self.reactions if one.name == name)

    def joint(self, tag: str, number: int | None = None) -> JointMovement:
        """Movement of a joint or of one of its bellows."""
        return next(one for one in self.joints if one.tag == tag and one.number == number)


def moduli_of(line: Line, which: Moduli) -> dict[str, float]:
    """Elastic modulus of each metal of the line [Pa]."""
    hottest = ROOM
    if which == Moduli.HOT:
        hottest = max((state.temperature for state in line.states), default=ROOM)
    found: dict[str, float] = {}
    for pipe in line.pipes:
        metal = materials.alloy(pipe.metal).name
        found[metal] = float(materials.modulus(metal, hottest).value)
    return found


def prepare(
    line: Line,
    which: Moduli = Moduli.COLD,
    *,
    shear: bool = True,
    stiffening: str = "",
    moduli: dict[str, float] | None = None,
) -> Prepared:
    """Take a line apart and factorise it.

    ``stiffening`` names the state whose pressure stiffens bends.  Raises
    :class:`takeup.errors.Contradiction`, :class:`takeup.errors.UnknownName` or
    :class:`Unsolved` for a line that does not hang together or has a loose part.
    """
    known = moduli if moduli is not None else moduli_of(line, which)
    state = next((one for one in line.states if one.name == stiffening), None)
    made = frame(line, known.__getitem__, shear=shear, stiffening=state)
    found = rowing.rows(line, made)
    fault = loose.apart(line, made, found)
    if fault:
        raise Unsolved(fault)
    blank = State(name="")
    reference = np.zeros(found.matrix.shape[0])
    for law in rowing.laws(line, found, blank):
        reference[list(law.rows)] = law.reference
    k = _assemble(made)
    count = 6 * len(made.nodes)
    held_nodes = np.array(sorted(found.fixed), dtype=np.intp)
    held = (6 * held_nodes[:, None] + np.arange(6)).ravel() if len(held_nodes) else held_nodes
    mask = np.ones(count, dtype=bool)
    mask[held] = False
    free = np.flatnonzero(mask)
    b = found.matrix
    stood_in = (k + b.T @ sparse.diags(reference) @ b).tocsr()
    inner = stood_in[free][:, free].tocsr()
    factor, seen = None, np.zeros((0, b.shape[0]))
    if len(free):  # a line may be held at every station
        free = free[csgraph.reverse_cuthill_mckee(inner, symmetric_mode=True)]
        banded = _banded(stood_in[free][:, free].tocoo())
        factor = _factor(banded)
        if factor is None:
            raise Unsolved(loose.loose(made, stood_in, free))
        seen = linalg.cho_solve_banded(
            (factor, True), b[:, free].toarray(order="F").T, check_finite=False
        )
    return Prepared(
        line=line,
        frame=made,
        rows=found,
        reference=reference,
        free=free,
        held=held,
        factor=factor,
        stiffness=k,
        inner=k[free][:, free],
        across=b[:, free],
        coupling=stood_in[free][:, held] if len(held) else None,
        seen=seen,
        flexibility=b[:, free] @ seen,
        moduli=known,
        shear=shear,
        stiffening=stiffening,
    )


def _assemble(made: Frame) -> Any:
    blocks = elements.stiffness(made.elements)
    places = (6 * made.ends[:, :, None] + np.arange(6)).reshape(len(made.ends), 12)
    rows = np.repeat(places, 12, axis=1).ravel()
    columns = np.tile(places, (1, 12)).ravel()
    count = 6 * len(made.nodes)
    return sparse.csr_matrix((blocks.ravel(), (rows, columns)), shape=(count, count))


def _banded(matrix: Any) -> Array:
    below = matrix.row >= matrix.col
    rows, columns, values = matrix.row[below], matrix.col[below], matrix.data[below]
    width = int((rows - columns).max(initial=0))
    found = np.zeros((width + 1, matrix.shape[0]))
    np.add.at(found, (rows - columns, columns), values)
    return found


def _factor(banded: Array) -> Any:
    """Banded Cholesky factor; ``None`` where something can move without resistance."""
    try:
        factor = linalg.cholesky_banded(banded, lower=True, check_finite=False)
    except linalg.LinAlgError:
        return None
    return None if float((factor[0] ** 2 / banded[0]).min()) < loose.SINGULAR else factor


class Loads(msgspec.Struct, frozen=True):
    """What acts on the line in a state."""

    force: Array
    """On the nodes (6N,)"""
    moved: Array
    """Of the held degrees of freedom"""
    strain: Array
    line_load: Array


def loads(ready: Prepared, state: State) -> Loads:
    """Weight, growth, thrust and nozzle movement of a state."""
    made, line = ready.frame, ready.line
    strain, weight = growth(line, made, state), line_load(made, state)
    equivalent = elements.equivalent(made.elements, strain, weight)
    force = np.zeros(6 * len(made.nodes))
    places = (6 * made.ends[:, :, None] + np.arange(6)).reshape(len(made.ends), 12)
    np.add.at(force, places.ravel(), equivalent.ravel())
    for pair, spot, arm in zip(made.ends.tolist(), made.spots, made.elements.arm, strict=True):
        if spot.what != "bellows":
            continue
        piece = line.pieces[spot.piece]
        assert isinstance(piece, Joint)
        if any(hardware.hold == Hold.BALANCED for hardware in piece.hardware):
            continue
        area = np.pi / 4.0 * piece.bellows[spot.number].mean_diameter ** 2
        push = state.pressure * area * arm / np.linalg.norm(arm)
        force[6 * pair[1] : 6 * pair[1] + 3] += push
        force[6 * pair[0] : 6 * pair[0] + 3] -= push
    moved = np.zeros(len(ready.held))
    anchors = {one.name: one for one in line.supports if isinstance(one, Anchor)}
    for order, node in enumerate(sorted(ready.rows.fixed)):
        anchor = anchors[ready.rows.fixed[node]]
        moved[6 * order : 6 * order + 3] = anchor.growth.get(state.name, (0.0, 0.0, 0.0))
    return Loads(force, moved, strain, weight)


def solve(
    ready: Prepared,
    laws: Any = None,
    *,
    states: Sequence[str] | None = None,
    near: Sequence[StateResult] = (),
) -> tuple[StateResult, ...]:
    """Every state of the line, one after another, since friction remembers.

    ``laws(line, rows, state)`` may answer for supports that are not as drawn.  ``near`` are
    results of much the same line with the same rows: each step of a state is tried from where
    that line stood, and from where this one comes only if that does not settle.  Raises
    :class:`Unsolved` with the support that does not settle.
    """
    make = laws or rowing.laws
    results: list[StateResult] = []
    nothing = Loads(
        np.zeros(6 * len(ready.frame.nodes)), np.zeros(len(ready.held)),
        np.zeros(len(ready.frame.spots)), np.zeros((len(ready.frame.spots), 3)),
    )  # fmt: skip
    past: dict[str, tuple[Loads, StateResult | None]] = {}
    before: tuple[Loads, StateResult | None] = (nothing, None)
    wanted = None if states is None else set(states)
    known = {one.state: one for one in near}
    for state in ready.line.states:
        if wanted is not None and state.name not in wanted:
            continue
        base = past.get(state.after, before)
        acting = loads(ready, state)
        result = _reach(ready, state, make(ready.line, ready.rows, state), base, acting,
                        known.get(state.name))  # fmt: skip
        before = (acting, result)
        past[state.name] = before
        results.append(result)
    return tuple(results)


def _reach(
    ready: Prepared,
    state: State,
    laws: Sequence[Law],
    base: tuple[Loads, StateResult | None],
    acting: Loads,
    near: StateResult | None,
) -> StateResult:
    """Go from one state to the next, in as few steps of the load as will settle."""
    start, before = base
    u = np.zeros(len(ready.reference)) if before is None else before.row_movement
    memory = contact.blank(laws) if before is None else before.memory
    # A line is installed at once: half its weight on springs set for all of it means nothing.
    # Where friction remembers, what comes after is reached in steps, halved where they are too
    # far to settle.
    step = 1.0 if before is None or not any(law.memory for law in laws) else FIRST_STEP
    share, rounds = 0.0, 0
    settled: Settled | None = None
    bundle = Bundle(laws, len(ready.reference))
    way: list[tuple[float, Array]] = []
    while share < 1.0:
        to = min(1.0, share + step)
        force = start.force + to * (acting.force - start.force)
        moved = start.moved + to * (acting.moved - start.moved)
        free = free_movement(ready, force, moved)
        settled = settling.settle(bundle, ready.flexibility, ready.reference, free, u, memory,
                                  guess=_stood(near, to))  # fmt: skip
        rounds += settled.rounds
        if settled.good:
            u, memory, share = settled.movement, settled.memory, to
            step *= 1.5
            way.append((share, u))
            continue
        step *= 0.5
        if step < LEAST_STEP:
            raise Unsolved(_restless(ready, state, laws, settled, memory))
    assert settled is not None
    result = _result(ready, state, laws, acting, settled, rounds, tuple(way))
    if not result.certificate.good:
        raise Unsolved(
            f"state {state.name!r} is not in balance: {result.certificate.residual:.1e} of the "
            f"largest force at a node, {result.certificate.balance:.1e} of it on the whole line, "
            "stays open; look for parts a million times stiffer than the pipe beside them"
        )
    return result


def _restless(
    ready: Prepared,
    state: State,
    laws: Sequence[Law],
    settled: Settled,
    memory: Sequence[Array],
) -> str:
    """Why a state does not come to rest: what comes loose, or which support does not settle."""
    way = loose.gives_way(ready, laws, settled.movement, memory)
    if way:
        return (
            f"state {state.name!r} does not come to rest: {way}. Hold it there, or look at the "
            "loads and gaps of these supports"
        )
    return (
        f"state {state.name!r} does not come to rest; the support that will not settle is "
        f"{settled.stuck or 'not known'!r}: see whether anything else holds the line there"
    )


def _stood(near: StateResult | None, share: float) -> Array | None:
    """Where the rows of a line much the same stood at that share of its way."""
    if near is None or not near.way:
        return None
    after = next(at for at, (where, _) in enumerate(near.way) if where >= share)
    b, there = near.way[after]
    if b == share or after == 0:
        return there
    a, here = near.way[after - 1]
    return np.asarray(here + (share - a) / (b - a) * (there - here))


FIRST_STEP, LEAST_STEP = 0.25, 1.0 / 512.0
"""Share of the way from one state to the next gone at first, and at least."""


def free_movement(ready: Prepared, force: Array, moved: Array) -> Array:
    """Movement of the rows by the loads alone, with the stand-ins in place (m,)."""
    right = force[ready.free]
    found = np.zeros(len(ready.reference))
    if len(ready.held):
        right = right - ready.coupling @ moved
        found = ready.rows.matrix[:, ready.held] @ moved
    return np.asarray(found + ready.seen.T @ right)


def _result(
    ready: Prepared,
    state: State,
    laws: Sequence[Law],
    acting: Loads,
    settled: Settled,
    rounds: int,
    way: tuple[tuple[float, Array], ...],
) -> StateResult:
    made, b = ready.frame, ready.rows.matrix
    motion = rest_at(ready, acting, settled.force, settled.movement, acting.moved)
    places = (6 * made.ends[:, :, None] + np.arange(6)).reshape(len(made.ends), 12)
    ends = elements.end_forces(made.elements, motion[places], acting.strain, acting.line_load)
    outer = acting.force + b.T @ settled.force
    unbalanced = ready.stiffness @ motion - outer
    reactions = _reactions(ready, motion, settled, unbalanced)
    size = max(float(np.abs(outer).max(initial=0.0)), float(np.abs(ends).max(initial=0.0)), LEAST)
    residual = float(np.abs(unbalanced[ready.free]).max(initial=0.0)) / size
    return StateResult(
        state=state.name,
        motion=motion.reshape(-1, 6),
        ends=ends,
        rows=settled.force,
        row_movement=settled.movement,
        memory=settled.memory,
        reactions=reactions,
        joints=joint_movements(ready, motion.reshape(-1, 6)),
        certificate=Certificate(
            residual=residual,
            balance=_balance(ready, acting, reactions, size),
            rounds=rounds,
            steps=len(way),
        ),
        way=way,
    )


REFINED = 2
"""Rounds of refinement: rigid parts are 1e5 times as stiff as pipe."""


def rest_at(ready: Prepared, acting: Loads, force: Array, movement: Array, moved: Array) -> Array:
    """Motion of all nodes (6N,) under loads and given forces at the rows."""
    right = acting.force + ready.rows.matrix.T @ (force + ready.reference * movement)
    motion = np.zeros(6 * len(ready.frame.nodes))
    inner = right[ready.free]
    if len(ready.held):
        motion[ready.held] = moved
        inner = inner - ready.coupling @ moved
    _at_rest(ready, motion, inner)
    return motion


def _at_rest(ready: Prepared, motion: Array, right: Array) -> None:
    """Put the motion of the free nodes into ``motion``, refined against the frame itself."""
    if ready.factor is None:
        return
    b, inner = ready.across, ready.inner
    found = linalg.cho_solve_banded((ready.factor, True), right, check_finite=False)
    for _ in range(REFINED):
        left = right - inner @ found - b.T @ (ready.reference * (b @ found))
        found = found + linalg.cho_solve_banded((ready.factor, True), left, check_finite=False)
    motion[ready.free] = found


def _reactions(
    ready: Prepared, motion: Array, settled: Settled, unbalanced: Array
) -> tuple[Reaction, ...]:
    made = ready.frame
    found = []
    stations = {support.name: support.station for support in ready.line.supports}
    for node, name in ready.rows.fixed.items():
        on_line = unbalanced[6 * node : 6 * node + 6]
        found.append(
            Reaction(
                name=name,
                force=_three(-on_line[:3]),
                moment=_three(-on_line[3:]),
                movement=_three(motion[6 * node : 6 * node + 3]),
            )
        )
    for place in ready.rows.places:
        if place.what != "support":
            continue
        node = made.node(stations[place.name])
        force, moment = np.zeros(3), np.zeros(3)
        for order, (row, direction) in enumerate(zip(place.rows, place.directions, strict=True)):
            part = settled.force[row] * np.array(direction)
            if len(place.rows) == 6 and order >= 3:
                moment += part
            else:
                force += part
        found.append(
            Reaction(
                name=place.name,
                force=_three(-force),
                moment=_three(-moment),
                movement=_three(motion[6 * node : 6 * node + 3]),
            )
        )
    return tuple(found)


def _three(values: Array) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])


def _balance(ready: Prepared, acting: Loads, reactions: Sequence[Reaction], size: float) -> float:
    """Loads and reactions on the whole line, forces and moments about the origin."""
    made = ready.frame
    force = acting.force.reshape(-1, 6)
    total = force[:, :3].sum(axis=0)
    moment = force[:, 3:].sum(axis=0) + np.cross(made.nodes, force[:, :3]).sum(axis=0)
    if reactions:
        stations = {support.name: support.station for support in ready.line.supports}
        at = made.nodes[[made.node(stations[one.name]) for one in reactions]]
        on = np.array([one.force for one in reactions])
        total = total - on.sum(axis=0)
        turned = np.array([one.moment for one in reactions]) + np.cross(at, on)
        moment = moment - turned.sum(axis=0)
    arm = float(np.ptp(made.nodes, axis=0).max())
    return float(max(np.abs(total).max() / size, np.abs(moment).max() / (size * max(arm, 1.0))))


def joint_movements(ready: Prepared, motion: Array) -> tuple[JointMovement, ...]:
    """What every joint and every bellows does, in the joint's own axes."""
    made, line = ready.frame, ready.line
    found = []
    for number, piece in enumerate(line.pieces):
        if not isinstance(piece, Joint):
            continue
        a, b = made.node(piece.start), made.node(piece.end)
        own = [
            (tuple(pair), spot.number)
            for pair, spot in zip(made.ends.tolist(), made.spots, strict=True)
            if spot.piece == number and spot.what == "bellows"
        ]
        for (start, end), which in [((a, b), None), *own]:
            found.append(_movement(piece.tag, which, made.nodes, motion, start, end))
    return tuple(found)


def _movement(
    tag: str, which: int | None, nodes: Array, motion: Array, a: int, b: int
) -> JointMovement:
    arm = nodes[b] - nodes[a]
    length = float(np.linalg.norm(arm))
    axes = elements.frames((arm / length)[None, :])[0]
    apart = motion[b, :3] - motion[a, :3]
    turned = motion[b, 3:] - motion[a, 3:]
    mean = 0.5 * (motion[a, 3:] + motion[b, 3:])
    axial = float(apart @ axes[0])
    aside = apart - axial * axes[0] - np.cross(mean, arm)
    return JointMovement(
        tag=tag,
        number=which,
        axial=axial,
        lateral=(float(aside @ axes[1]), float(aside @ axes[2])),
        angular=(float(turned @ axes[1]), float(turned @ axes[2])),
        torsion=float(turned @ axes[0]),
        axes=tuple(_three(axis) for axis in axes),
    )
