"""What a solved line says: stresses against the code, loads against limits, joints."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping, Sequence

import msgspec
import numpy as np

from takeup.bellows import evaluate
from takeup.bellows.model import BellowsCase, BellowsReport, Movement
from takeup.checks import Check, LimitKind, Outcome, compare
from takeup.line import (
    elements,
    en13480,
    factors,
    planes,
    pressure,
    stresses,
    supports,
)
from takeup.line.anchors import AnchorReaction, anchored, estimated
from takeup.line.books import Books, books
from takeup.line.contact import Law, Parts
from takeup.line.frame import ROOM
from takeup.line.model import (
    Book,
    ConstantSpring,
    Guide,
    Joint,
    Line,
    RangeRule,
    Rest,
    State,
    VariableSpring,
)
from takeup.line.rows import Rows
from takeup.line.rows import laws as drawn_laws
from takeup.line.solve import JointMovement, Prepared, StateResult, free_movement, loads, rest_at
from takeup.sources import Source, Standing
from takeup.units import Array

NOTHING = Parts(())
"""What a support that is gone does."""
FEW = "Fewer than both a cold and a hot state: no range."
OPERATING = (
    "Friction and gaps are solved as drawn; supports that are worn, seized or lost change every "
    "load here."
)
DESIGNED = Source(
    document="Takeup",
    at="movement of a joint, cold to hot, against what it is designed for",
    standing=Standing.DERIVED,
)
NO_MOVEMENT = {"axial": 5e-4, "lateral": 5e-4, "angular": 1e-3}
"""A movement that nobody stated a limit for is asked about from here [m, rad]."""


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
    tangent, normal = planes.directions(ready.line, ready.frame)
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


Laws = Callable[[Line, Rows, State], tuple[Law, ...]]
"""Laws of supports and locks of a state, on the rows of a line."""


def sustained(
    ready: Prepared, result: StateResult, state: State, laws: Laws | None = None
) -> Array:
    """End forces (n, 12) by weight, pressure and acceleration alone, supports as in ``result``.

    What has lifted off or hangs free in that state carries nothing, a closed contact carries
    both ways, springs keep their load and rate, and friction is left out.  Growth of metal, of
    rods and of anchors is left out, and so is the offset at which a gap closed.  ``laws`` stand in
    place of those of the line as drawn (:func:`takeup.line.what_if.lasting_laws`).
    """
    made_of = (laws or drawn_laws)(ready.line, ready.rows, state)
    slope = np.zeros((len(ready.reference), len(ready.reference)))
    force = np.zeros(len(ready.reference))
    held = {support.name: support for support in ready.line.supports}
    for law, memory in zip(made_of, result.memory, strict=True):
        rows = np.array(law.rows, dtype=np.intp)
        u = result.row_movement[rows]
        f, block, _ = law.answer(u, memory)
        f, block = f.copy(), block.copy()
        one = held.get(law.name)
        if (
            isinstance(one, ConstantSpring)
            and not one.seized
            and law.answer != NOTHING
            and -one.travel_down < u[0] < one.travel_up
        ):
            f[:], block[:] = one.load, 0.0
        if isinstance(one, (Rest, Guide)) and law.memory:
            block[len(rows) - law.memory :, :] = 0.0
        if law.memory and one is None:
            block[:] = 0.0  # pins: friction is left out
        slope[np.ix_(rows, rows)] = block
        if isinstance(one, (VariableSpring, ConstantSpring)):
            force[rows] = f - block @ u
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
    books: tuple[Books, ...] = ()
    """Every piece by Appendix D and by B31J"""
    reactions: tuple[AnchorReaction, ...] = ()


def judge(
    ready: Prepared,
    results: Sequence[StateResult],
    *,
    cold: str,
    hot: str,
    book: Book | None = None,
    rule: RangeRule | None = None,
    laws: Laws | None = None,
) -> Judged:
    """Stresses between two states and every load, travel and movement against its limit.

    ``ready`` must stand on moduli at room temperature for the range to be the code's.  ``book``
    and ``rule`` stand before those of the line.  States with the role occasional are judged by
    302.3.6.  ``laws`` as for :func:`sustained`.
    """
    line = ready.line
    by_name = {result.state: result for result in results}
    states = {state.name: state for state in line.states}
    if cold not in by_name or hot not in by_name:
        return Judged(checks=(), notes=(FEW,))
    chosen = line.factors if book is None else book
    other = Book.B31J if chosen is Book.APPENDIX_D else Book.APPENDIX_D
    placed = {one: stresses.place(line, ready.frame, one) for one in (chosen, other)}
    ranged = by_name[hot].ends - by_name[cold].ends
    steady = sustained(ready, by_name[hot], states[hot], laws)
    checks = [
        *stresses.checks(
            line, ready.frame, placed[chosen], ranged, steady, states[cold], states[hot],
            line.range_rule if rule is None else rule,
        )
    ]  # fmt: skip
    checks += en13480.checks(
        line, ready.frame, placed[Book.APPENDIX_D], ranged, steady, states[hot]
    )
    checks += pressure.checks(line, {n: s.metal for n, s in ready.frame.sections.items()})
    for result in results:
        if states[result.state].role == "occasional":
            checks += stresses.occasional(
                line, ready.frame, placed[chosen],
                sustained(ready, result, states[result.state], laws), states[result.state],
            )  # fmt: skip
        checks += supports.loads(line, result)
    checks += supports.springs(line, by_name[cold], by_name[hot])
    checks += designed(line, by_name[cold], by_name[hot])
    reactions = anchored(ready, placed[chosen], by_name[cold], by_name[hot], steady,
                         (states[cold], states[hot]))  # fmt: skip
    checks += estimated(line, reactions)
    return Judged(
        checks=tuple(checks),
        notes=tuple(_notes(line, results)),
        books=books(
            line, ready.frame, (placed[Book.APPENDIX_D], placed[Book.B31J]), ranged, steady,
            states[hot].pressure,
        ),
        reactions=reactions,
    )  # fmt: skip


def _notes(line: Line, results: Sequence[StateResult]) -> Iterable[str]:
    for pipe in line.pipes:
        ratio = pipe.outside / pipe.wall
        if ratio > factors.THIN:
            yield (
                f"Pipe {pipe.name}: D/T {ratio:.0f} is above 100, where the factors have no data. "
                "As a duct it may lose its shape at bends, branches and supports first; beams do "
                "not show that."
            )
    for result in results:
        if not result.certificate.good:
            yield f"State {result.state!r} is not solved well enough to be used."


def designed(line: Line, cold: StateResult, hot: StateResult) -> Iterable[Check]:
    """Movement of each joint against the movement that its line text says it is designed for."""
    for piece in line.pieces:
        if not isinstance(piece, Joint) or piece.locked:
            continue
        move = own_movement(cold, hot, piece.tag)
        found = {
            "axial": abs(move.axial),
            "lateral": float(np.hypot(*move.lateral)),
            "angular": float(np.hypot(*move.angular)),
        }
        for name, value in found.items():
            limit = None if piece.design is None else getattr(piece.design, name)
            if piece.design is None or (limit is None and value < NO_MOVEMENT[name]):
                continue
            yield compare(
                id=f"movement.{piece.tag}.{name}",
                name=f"{name.capitalize()} movement of joint {piece.tag}, cold to hot",
                demand=value,
                capacity=limit,
                kind="angle" if name == "angular" else "movement",
                source=DESIGNED,
                limit_kind=LimitKind.PUBLISHED,
                missing=() if limit is not None else (f"design {name} movement of {piece.tag}",),
                because="design movements count as stated together" if limit is not None else "",
            )


def without_design(line: Line, known: Container[str] = ()) -> Iterable[Check]:
    """Joints that nobody gave a design movement for, nor are ``known`` by their bellows: open."""
    for piece in line.pieces:
        if not isinstance(piece, Joint) or piece.locked or piece.design is not None:
            continue
        if piece.tag not in known:
            yield Check(
                id=f"movement.{piece.tag}",
                name=f"Movement of joint {piece.tag}, cold to hot",
                outcome=Outcome.NOT_EVALUATED,
                kind="movement",
                source=DESIGNED,
                limit_kind=LimitKind.PUBLISHED,
                because=f"unknown: movement that {piece.tag} is designed for; give design in the "
                "text, or see what its bellows make of the movement",
            )


def between(
    cold: StateResult, hot: StateResult, tag: str, number: int | None = None
) -> JointMovement:
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


def own_movement(
    cold: StateResult, hot: StateResult, tag: str, number: int | None = None
) -> JointMovement:
    """Hot minus cold of what moves in a joint: without the growth of its pipe ends.

    Of one bellows, its own.  Of two, along the joint the sum of both, since they take the growth
    of the spool too; across it and in turning, that between the ends of the joint.
    """
    of = [one.number for one in hot.joints if one.tag == tag and one.number is not None]
    if number is not None or len(of) == 1:
        return between(cold, hot, tag, of[0] if number is None else number)
    whole = between(cold, hot, tag)
    axial = sum(between(cold, hot, tag, one).axial for one in of)
    return msgspec.structs.replace(whole, axial=axial)


MOVED = "cold to hot"
"""Name of the movement that a line makes of a joint."""


def used(
    cases: Mapping[str, BellowsCase], cold: StateResult, hot: StateResult, cycles: float
) -> dict[str, BellowsReport]:
    """What the line's own movements mean for the bellows of each joint.

    Keys are tags; of a joint with two bellows, ``TAG A`` and ``TAG B``, each with its own movement.
    """
    found = {}
    for key, case in cases.items():
        tag, number = place_of(key)
        move = own_movement(cold, hot, tag, number)
        moves = (movement_of(move, MOVED, cycles),)
        found[key] = evaluate(msgspec.structs.replace(case, movements=moves))
    return found


def place_of(key: str) -> tuple[str, int | None]:
    """Tag and number of a bellows called ``TAG``, ``TAG A`` or ``TAG B``."""
    tag, _, letter = key.rpartition(" ")
    return (tag, "AB".index(letter)) if tag and letter in {"A", "B"} else (key, None)
