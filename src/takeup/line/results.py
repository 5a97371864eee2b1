"""What a solved line says: stresses against the code, loads against limits, springs, joints."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import msgspec
import numpy as np

from takeup import materials
from takeup.bellows import evaluate
from takeup.bellows.model import BellowsCase, BellowsReport, Movement
from takeup.checks import Check, LimitKind, Quantity, compare
from takeup.errors import TakeupError
from takeup.line import codes, elements, stress
from takeup.line.frame import ROOM, STEPS
from takeup.line.model import (
    Anchor,
    Bend,
    ConstantSpring,
    Guide,
    Line,
    Piece,
    Pipe,
    Reducer,
    Rest,
    RodHanger,
    State,
    Stop,
    Straight,
    Strut,
    VariableSpring,
)
from takeup.line.rows import laws as drawn_laws
from takeup.line.solve import JointMovement, Prepared, StateResult, free_movement, loads, rest_at
from takeup.line.stress import Factors
from takeup.sources import Source, Standing, practice
from takeup.units import Array

FEW = "Fewer than both a cold and a hot state: no range."
VARIABILITY = 0.25
"""Change of load of a variable spring over its hot load [-]."""
SPRINGS = practice("variable springs: load change between hot and cold at most a quarter")
MAKER = Source(
    document="Takeup",
    at="load on a support against what its maker or owner allows",
    standing=Standing.DERIVED,
)
OPERATING = (
    "Friction and gaps are solved as drawn; supports that are worn, seized or lost change every "
    "load here."
)


class Forces(msgspec.Struct, frozen=True, kw_only=True):
    """Forces at both ends of the elements in local axes, (n, 2) each [N, N.m]."""

    axial: Array
    inplane: Array
    outplane: Array
    torsion: Array


def local(ready: Prepared, ends: Array) -> Forces:
    """Section forces at both ends of each element from end forces (n, 12), tension positive.

    For bends in-plane is about the normal of the bend; for round straight pipe the two
    bending directions are any.
    """
    made = ready.frame
    count = len(made.spots)
    tangent = np.empty((count, 2, 3))
    normal = np.empty((count, 3))
    arm = made.elements.arm / np.linalg.norm(made.elements.arm, axis=1, keepdims=True)
    tangent[:] = arm[:, None, :]
    normal[:] = elements.frames(arm)[:, 2, :]
    for at, spot in enumerate(made.spots):
        if spot.what != "bend":
            continue
        piece = ready.line.pieces[spot.piece]
        assert isinstance(piece, Bend)
        a, b = made.nodes[made.ends[at, 0]], made.nodes[made.ends[at, 1]]
        corner = np.array(piece.corner)
        first, last = corner - a, b - corner
        tangent[at, 0] = first / np.linalg.norm(first)
        tangent[at, 1] = last / np.linalg.norm(last)
        n = np.cross(tangent[at, 0], tangent[at, 1])
        normal[at] = n / np.linalg.norm(n)
    # Force of the nodes on the piece: at its end it is the section's own, at its start minus it.
    parts = np.stack([-ends[:, :6], ends[:, 6:]], axis=1)
    force, moment = parts[..., :3], parts[..., 3:]
    across = np.cross(normal[:, None, :], tangent)
    return Forces(
        axial=np.einsum("nki,nki->nk", force, tangent),
        inplane=np.einsum("nki,ni->nk", moment, normal),
        outplane=np.einsum("nki,nki->nk", moment, across),
        torsion=np.einsum("nki,nki->nk", moment, tangent),
    )


def factors(ready: Prepared, at: int) -> tuple[Factors, Factors]:
    """Stress intensification at both ends of an element."""
    line, spot = ready.line, ready.frame.spots[at]
    piece = line.pieces[spot.piece]
    pipes = {pipe.name: pipe for pipe in line.pipes}
    own = Factors()
    if isinstance(piece, Bend):
        own = stress.bend_factors(pipes[piece.pipe], piece)
    elif isinstance(piece, Reducer):
        length = float(np.linalg.norm(
            ready.frame.nodes[ready.frame.node(piece.end)]
            - ready.frame.nodes[ready.frame.node(piece.start)]
        ))  # fmt: skip
        own = stress.reducer_factors(pipes[piece.pipe], pipes[piece.to_pipe], length)
    tees = {tee.station: tee for tee in line.tees}
    found = []
    for node in ready.frame.ends[at].tolist():
        name = ready.frame.names[node]
        if name in tees and spot.pipe:
            run = max(
                (pipes[other.pipe] for other in line.pieces
                 if isinstance(other, (Straight, Bend)) and name in (other.start, other.end)),
                key=lambda pipe: pipe.outside,
            )  # fmt: skip
            tee = stress.tee_factors(tees[name], run)
            most = max(tee.inplane, tee.outplane)
            # The plane of the tee is not looked for: the larger factor acts on both moments.
            found.append(Factors(inplane=max(most, own.inplane), outplane=max(most, own.outplane),
                                 source=tee.source))  # fmt: skip
        else:
            found.append(own)
    return found[0], found[1]


def _name(piece: Piece) -> str:
    return f"{type(piece).__name__.lower()} {piece.start} to {piece.end}"


def _stressed(ready: Prepared) -> Iterable[tuple[int, Piece, Any]]:
    """Elements of pipe whose stress counts: not bellows, rigid parts or what lies in joints."""
    pipes = {pipe.name: pipe for pipe in ready.line.pipes}
    for at, spot in enumerate(ready.frame.spots):
        if spot.what in {"straight", "bend", "reducer"}:
            yield at, ready.line.pieces[spot.piece], pipes[spot.pipe]


def _pipe_there(ready: Prepared, at: int, end: int, pipe: Pipe) -> Pipe:
    """The pipe at one end of an element: along a reducer it goes from one size to the other."""
    spot = ready.frame.spots[at]
    piece = ready.line.pieces[spot.piece]
    if not isinstance(piece, Reducer):
        return pipe
    other = next(one for one in ready.line.pipes if one.name == piece.to_pipe)
    share = (spot.number + end) / STEPS
    sizes = {
        name: getattr(pipe, name) * (1.0 - share) + getattr(other, name) * share
        for name in ("outside", "wall", "allowance")
    }
    return msgspec.structs.replace(pipe, **sizes)


def _allowable(metal: str, temperature: float) -> tuple[float | None, Source | None, str]:
    try:
        found = materials.allowable_stress(metal, temperature)
    except TakeupError as reason:
        return None, None, str(reason)
    return float(found.value), found.source, ""


def sustained(ready: Prepared, hot: StateResult, state: State) -> Array:
    """End forces (n, 12) by weight and pressure alone, supports as they stand when hot.

    What has lifted off or hangs free when hot carries nothing, a closed contact carries both
    ways, and friction is left out.
    """
    laws = drawn_laws(ready.line, ready.rows, state)
    slope = np.zeros((len(ready.reference), len(ready.reference)))
    force = np.zeros(len(ready.reference))
    supports = {support.name: support for support in ready.line.supports}
    for law, memory in zip(laws, hot.memory, strict=True):
        rows = np.array(law.rows, dtype=np.intp)
        f, block, _ = law.answer(hot.row_movement[rows], memory)
        rubbing = slice(len(rows), None)
        if isinstance(supports.get(law.name), (Rest, Guide)) and law.memory:
            rubbing = slice(len(rows) - law.memory, None)
        f, block = f.copy(), block.copy()
        f[rubbing] = 0.0
        block[rubbing, :] = 0.0
        slope[np.ix_(rows, rows)] = block
        force[rows] = f - block @ hot.row_movement[rows]
    acting = loads(ready, msgspec.structs.replace(state, temperature=ROOM, temperatures={}))
    free = free_movement(ready, acting.force, np.zeros(len(ready.held)))
    c = ready.flexibility
    u = np.asarray(
        np.linalg.solve(
            np.eye(len(free)) - c @ (slope + np.diag(ready.reference)), free + c @ force
        )
    )
    push = force + slope @ u
    motion = rest_at(ready, acting, push, u, np.zeros(len(ready.held)))
    made = ready.frame
    places = (6 * made.ends[:, :, None] + np.arange(6)).reshape(len(made.ends), 12)
    return elements.end_forces(made.elements, motion[places], acting.strain, acting.line_load)


class Judged(msgspec.Struct, frozen=True, kw_only=True):
    """Checks of a line and what else its states say."""

    checks: tuple[Check, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...] = (OPERATING,)


def judge(
    ready: Prepared, results: Sequence[StateResult], *, cold: str, hot: str, liberal: bool = False
) -> Judged:
    """Stresses between two states and every load and travel against its limit.

    ``ready`` must stand on moduli at room temperature for the range to be the code's.
    ``liberal`` takes the larger allowable range where sustained stress leaves room.
    """
    by_name = {result.state: result for result in results}
    states = {state.name: state for state in ready.line.states}
    if cold not in by_name or hot not in by_name:
        return Judged(checks=(), notes=(FEW,))
    checks = list(_stresses(ready, by_name[cold], by_name[hot], states[cold], states[hot], liberal))
    for result in results:
        checks += _supports(ready.line, result)
    checks += _springs(ready.line, by_name[cold], by_name[hot])
    notes = [
        f"Pipe {pipe.name}: D/T {pipe.outside / pipe.wall:.0f} is above 100, where the factors "
        "have no data."
        for pipe in ready.line.pipes
        if pipe.outside / pipe.wall > stress.THIN
    ]
    notes += [
        f"State {result.state!r} is not solved well enough to be used."
        for result in results
        if not result.certificate.good
    ]
    return Judged(checks=tuple(checks), notes=tuple(notes))


def _stresses(
    ready: Prepared, cold: StateResult, hot: StateResult, first: State, last: State, liberal: bool
) -> Iterable[Check]:
    difference = local(ready, hot.ends - cold.ends)
    steady = local(ready, sustained(ready, hot, last))
    f = float(codes.cycle_factor(ready.line.cycles))
    worst: dict[str, tuple[float, Check]] = {}
    for at, piece, pipe in _stressed(ready):
        both = factors(ready, at)
        metal = ready.frame.sections[pipe.name].metal
        hot_at = last.temperatures.get(pipe.name, last.temperature)
        sc, _, cold_fault = _allowable(metal, first.temperatures.get(pipe.name, first.temperature))
        sh, source, hot_fault = _allowable(metal, hot_at)
        for end in (0, 1):
            there = _pipe_there(ready, at, end, pipe)
            nominal = stress.wall_section(there)
            worn = stress.wall_section(there, there.allowance)
            index = stress.sustained_index(both[end])
            sl = float(stress.combined(
                steady.axial[at, end], steady.inplane[at, end], steady.outplane[at, end],
                steady.torsion[at, end], worn, index,
                axial=stress.pressure_stress(there, last.pressure),
            ))  # fmt: skip
            se = float(stress.combined(
                difference.axial[at, end], difference.inplane[at, end],
                difference.outplane[at, end], difference.torsion[at, end], nominal, both[end],
            ))  # fmt: skip
            sa = None
            if sc is not None and sh is not None:
                sa = float(stress.allowed_range(sc, sh, f, sl if liberal else None))
            station = ready.frame.names[int(ready.frame.ends[at, end])]
            for id, demand, capacity, clause, faults in (
                ("sustained", sl, sh, stress.SUSTAINED, (hot_fault,)),
                ("range", se, sa, stress.LIBERAL if liberal else stress.ALLOWED_RANGE,
                 (cold_fault, hot_fault)),
            ):  # fmt: skip
                check = compare(
                    id=f"{id}@{piece.start}/{piece.end}",
                    name=f"{'Sustained stress' if id == 'sustained' else 'Displacement stress range'}"
                    f", {_name(piece)}",
                    symbol="SL" if id == "sustained" else "SE",
                    demand=demand,
                    capacity=capacity,
                    kind="stress",
                    source=clause,
                    missing=tuple(fault for fault in faults if fault),
                    inputs=(
                        Quantity(name="In-plane factor", symbol="ii", value=both[end].inplane,
                                 kind="ratio"),
                        Quantity(name="Out-of-plane factor", symbol="io",
                                 value=both[end].outplane, kind="ratio"),
                        Quantity(name="Section modulus", symbol="Z", value=nominal.modulus,
                                 kind="volume"),
                        Quantity(name="Metal temperature", symbol="T", value=hot_at,
                                 kind="temperature"),
                    ),
                    because=f"at {station}" if not any(faults) else "",
                    cautions=("Allowable stress: " + source.cite(),) if source else (),
                )  # fmt: skip
                if check.id not in worst or demand > worst[check.id][0]:
                    worst[check.id] = (demand, check)
    return [check for _, check in worst.values()]


def _supports(line: Line, result: StateResult) -> Iterable[Check]:
    for one in line.supports:
        reaction = result.reaction(one.name)
        if isinstance(one, Anchor):
            if one.allowed is None:
                continue
            values = (*reaction.force, *reaction.moment)
            shares = [abs(v) / a if a > 0.0 else np.inf for v, a in
                      zip(values, one.allowed, strict=True)]  # fmt: skip
            at = int(np.argmax(shares))
            symbol = ("Fx", "Fy", "Fz", "Mx", "My", "Mz")[at]
            yield compare(
                id=f"load.{one.name}@{result.state}",
                name=f"Load on {'nozzle' if one.nozzle else 'anchor'} {one.name}, {result.state}",
                symbol=symbol, demand=abs(values[at]), capacity=one.allowed[at],
                kind="force" if at < 3 else "moment", source=MAKER,
                limit_kind=LimitKind.PUBLISHED,
                because=f"{symbol} is nearest to what is allowed",
            )  # fmt: skip
        elif isinstance(one, (Rest, Guide, Stop, RodHanger, Strut)) and one.allowed is not None:
            size = float(np.linalg.norm(reaction.force))
            yield compare(
                id=f"load.{one.name}@{result.state}",
                name=f"Load on {one.name}, {result.state}", symbol="F", demand=size,
                capacity=one.allowed, kind="force", source=MAKER, limit_kind=LimitKind.PUBLISHED,
                because="resultant of the load on the support",
            )  # fmt: skip


def _springs(line: Line, cold: StateResult, hot: StateResult) -> Iterable[Check]:
    for one in line.supports:
        if not isinstance(one, (VariableSpring, ConstantSpring)):
            continue
        for result in (cold, hot):
            rise = result.reaction(one.name).movement[2]
            room = one.travel_up if rise >= 0.0 else one.travel_down
            yield compare(
                id=f"travel.{one.name}@{result.state}",
                name=f"Travel of spring {one.name}, {result.state}", symbol="z",
                demand=abs(rise), capacity=room, kind="movement", source=practice("spring travel"),
                limit_kind=LimitKind.DERIVED,
                because="up from the installed position" if rise >= 0.0
                else "down from the installed position",
            )  # fmt: skip
        if isinstance(one, VariableSpring):
            loads_ = [-result.reaction(one.name).force[2] for result in (cold, hot)]
            change = abs(loads_[1] - loads_[0]) / loads_[1] if loads_[1] > 0.0 else None
            yield compare(
                id=f"variability.{one.name}",
                name=f"Change of load of spring {one.name}, cold to hot", symbol="",
                demand=change, capacity=VARIABILITY, kind="share", source=SPRINGS,
                limit_kind=LimitKind.RULE_OF_THUMB,
                missing=() if change is not None else ("load when hot: the spring carries none",),
                because="rate times travel over the hot load" if change is not None else "",
            )  # fmt: skip


def between(cold: StateResult, hot: StateResult, tag: str, number: int | None = None) -> Any:
    """Hot minus cold of a joint, in its own axes: what marks are compared with."""
    a, b = cold.joint(tag, number), hot.joint(tag, number)
    return msgspec.structs.replace(
        b,
        axial=b.axial - a.axial,
        lateral=(b.lateral[0] - a.lateral[0], b.lateral[1] - a.lateral[1]),
        angular=(b.angular[0] - a.angular[0], b.angular[1] - a.angular[1]),
        torsion=b.torsion - a.torsion,
    )


def movement_of(move: JointMovement, name: str, cycles: float) -> Movement:
    """A joint's movement as the bellows engine takes it.

    Lateral along the second axis of the joint goes with turning about its third, and so on.
    """
    return Movement(
        name=name,
        axial=move.axial,
        lateral=move.lateral[0],
        angular=move.angular[1],
        lateral_across=move.lateral[1],
        angular_across=move.angular[0],
        cycles=cycles,
    )


def used(
    cases: Mapping[str, BellowsCase], cold: StateResult, hot: StateResult, cycles: float
) -> dict[str, BellowsReport]:
    """What the line's own movements mean for the bellows of each joint."""
    return {
        tag: evaluate(
            msgspec.structs.replace(
                case, movements=(movement_of(between(cold, hot, tag), "cold to hot", cycles),)
            )
        )
        for tag, case in cases.items()
    }
