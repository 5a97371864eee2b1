"""What if: a joint locked or taken out, a support lost, seized or reset, another temperature.

Changes of supports and locks are changes of laws on rows that the factorised line already
knows, so that nothing is factorised again.  Taking a joint out changes the line itself, which
is then prepared anew.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec
import numpy as np

from takeup import materials
from takeup.errors import Contradiction, TakeupError, UnknownName
from takeup.line import contact
from takeup.line import rows as rowing
from takeup.line.contact import Law
from takeup.line.design_out import alternatives
from takeup.line.model import Anchor, Joint, Line, State, VariableSpring
from takeup.line.results import local
from takeup.line.rows import Rows
from takeup.line.solve import Prepared, StateResult, prepare, solve
from takeup.line.stress import wall_section
from takeup.units import Array

HELD = 1e11
"""Stiffness of a lock and of a seized support [N/m, N.m/rad]."""


class Lock(msgspec.Struct, frozen=True, kw_only=True):
    """A joint boxed in: it keeps the position it has in a state, from then on."""

    joint: str
    state: str


class TakeOut(msgspec.Struct, frozen=True, kw_only=True):
    """A joint taken out and pipe put in its place, cold and without force."""

    joint: str


class Lose(msgspec.Struct, frozen=True, kw_only=True):
    """A support that is gone: rod broken, coil broken, shoe fallen off."""

    support: str


class Seize(msgspec.Struct, frozen=True, kw_only=True):
    """A support that holds its station where it stands in a state, from then on."""

    support: str
    state: str


class Reset(msgspec.Struct, frozen=True, kw_only=True):
    """A variable spring with another load, rate or travel."""

    support: str
    load: float | None = None
    rate: float | None = None
    travel_up: float | None = None
    travel_down: float | None = None


class Reheat(msgspec.Struct, frozen=True, kw_only=True):
    """A state at another metal temperature [K]."""

    state: str
    temperature: float


Change = Lock | TakeOut | Lose | Seize | Reset | Reheat
LOCKING = (
    "Boxing in takes flexibility away: growth that the joint took up loads pipe, anchors and "
    "nozzles instead.",
    "A joint locked hot must be freed before the line cools down, or the cold state shown here "
    "is what it meets.",
)


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One number before and after."""

    what: str
    kind: str
    state: str
    before: float
    after: float

    @property
    def change(self) -> float:
        """After less before."""
        return self.after - self.before


class WhatIf(msgspec.Struct, frozen=True, kw_only=True):
    """A line as it is and as it would be."""

    before: tuple[StateResult, ...]
    after: tuple[StateResult, ...]
    rows: tuple[Row, ...]
    words: tuple[str, ...]
    cautions: tuple[str, ...]


Laws = Callable[[Line, Rows, State], tuple[Law, ...]]


def _known(line: Line, changes: Sequence[Change]) -> None:
    joints = {piece.tag for piece in line.pieces if isinstance(piece, Joint)}
    supports = {support.name: support for support in line.supports}
    states = {state.name for state in line.states}
    for change in changes:
        if isinstance(change, (Lock, TakeOut)) and change.joint not in joints:
            raise UnknownName("joint", change.joint, sorted(joints))
        if isinstance(change, (Lose, Seize, Reset)):
            if change.support not in supports:
                raise UnknownName("support", change.support, sorted(supports))
            one = supports[change.support]
            if isinstance(one, Anchor) and one.stiffness is None:
                raise Contradiction(
                    f"{change.support!r} is a rigid anchor: what is lost or reset must be able to "
                    "give; state the anchor with a stiffness"
                )
            if isinstance(change, Reset) and not isinstance(one, VariableSpring):
                raise Contradiction(
                    f"{change.support!r} is not a variable spring: nothing to reset"
                )
        if isinstance(change, (Lock, Seize, Reheat)) and change.state not in states:
            raise UnknownName("state", change.state, sorted(states))


def changed_line(line: Line, changes: Sequence[Change]) -> Line:
    """The line with what is a change of the line itself: temperatures, springs, joints out."""
    _known(line, changes)
    for change in changes:
        if isinstance(change, TakeOut):
            line = next(iter(alternatives(line, change.joint, largest=0.0))).line
        elif isinstance(change, Reheat):
            states = tuple(
                msgspec.structs.replace(s, temperature=change.temperature, temperatures={})
                if s.name == change.state
                else s
                for s in line.states
            )
            line = msgspec.structs.replace(line, states=states)
        elif isinstance(change, Reset):
            given = {
                name: value
                for name in ("load", "rate", "travel_up", "travel_down")
                if (value := getattr(change, name)) is not None
            }
            supports = tuple(
                msgspec.structs.replace(s, **given) if s.name == change.support else s
                for s in line.supports
            )
            line = msgspec.structs.replace(line, supports=supports)
    return line


def changed_laws(ready: Prepared, changes: Sequence[Change], before: Sequence[StateResult]) -> Laws:
    """Laws of the changed supports and locks, on the rows as they are."""
    order = [state.name for state in ready.line.states]
    at = {result.state: result for result in before}
    lost = {change.support for change in changes if isinstance(change, Lose)}
    held: dict[str, tuple[int, Array, tuple[float, ...]]] = {}
    for change in changes:
        if isinstance(change, (Lock, Seize)):
            name = change.joint if isinstance(change, Lock) else change.support
            place = ready.rows.place(name)
            rows = np.array(place.rows, dtype=np.intp)
            result = at[change.state]
            force = result.rows[rows] if isinstance(change, Seize) else np.zeros(len(rows))
            held[name] = (order.index(change.state), result.row_movement[rows], tuple(force))

    def laws(line: Line, found: Rows, state: State) -> tuple[Law, ...]:
        made = []
        for law in rowing.laws(line, found, state):
            one = law
            if law.name in lost:
                one = contact.nothing(law.name, len(law.rows), law.memory)
            elif law.name in held and order.index(state.name) > held[law.name][0]:
                _, place, force = held[law.name]
                one = _holding(law, place, np.array(force))
            one.rows = law.rows
            made.append(one)
        return tuple(made)

    return laws


def _holding(law: Law, place: Array, force: Array) -> Law:
    """Hold the rows of ``law`` at ``place``, from the force they carry there."""
    k = HELD * np.eye(len(place))

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return force - k @ (u - place), -k, memory

    return Law(name=law.name, reference=law.reference, answer=answer, memory=law.memory)


def what_if(ready: Prepared, changes: Sequence[Change]) -> WhatIf:
    """Solve as it is and as changed, and say what that does.

    A lock or a seizure acts on the states that come after the one it happens in: give the line
    the cool-down and heat-up that follow as states of their own (:func:`with_next_cycle`).
    Raises as :func:`takeup.line.solve.solve`, and
    :class:`takeup.errors.UnknownName` for what is not on the line.
    """
    _known(ready.line, changes)
    before = solve(ready)
    line = changed_line(ready.line, changes)
    if any(isinstance(change, TakeOut) for change in changes):
        after_ready = prepare(
            line, moduli=ready.moduli, shear=ready.shear, stiffening=ready.stiffening
        )
    else:
        after_ready = msgspec.structs.replace(ready, line=line)
    after = solve(after_ready, changed_laws(ready, _kept(changes), before))
    rows = (
        *_reactions(before, after),
        *_joints(before, after),
        *_stress(ready, after_ready, before, after),
    )
    locking = any(isinstance(change, Lock) for change in changes)
    return WhatIf(
        before=before,
        after=after,
        rows=rows,
        words=_words(ready.line, rows),
        cautions=LOCKING if locking else (),
    )


def _kept(changes: Sequence[Change]) -> list[Change]:
    return [change for change in changes if isinstance(change, (Lock, Lose, Seize))]


def with_next_cycle(line: Line, cold: str, hot: str) -> Line:
    """The line with the next cool-down and heat-up after its last state."""
    states = {state.name: state for state in line.states}
    for name in (cold, hot):
        if name not in states:
            raise UnknownName("state", name, tuple(states))
    again = (
        msgspec.structs.replace(states[cold], name=f"{cold} after", after=""),
        msgspec.structs.replace(states[hot], name=f"{hot} again", after=""),
    )
    return msgspec.structs.replace(line, states=(*line.states, *again))


def _reactions(before: Sequence[StateResult], after: Sequence[StateResult]) -> list[Row]:
    found = []
    for a, b in zip(before, after, strict=True):
        for one in a.reactions:
            other = b.reaction(one.name)
            found.append(
                Row(what=f"load on {one.name}", kind="force", state=a.state,
                    before=float(np.linalg.norm(one.force)),
                    after=float(np.linalg.norm(other.force)))
            )  # fmt: skip
    return found


def _joints(before: Sequence[StateResult], after: Sequence[StateResult]) -> list[Row]:
    found = []
    for a, b in zip(before, after, strict=True):
        there = {one.tag: one for one in b.joints if one.number is None}
        for one in a.joints:
            if one.number is not None or one.tag not in there:
                continue
            other = there[one.tag]
            found.append(
                Row(what=f"axial movement of {one.tag}", kind="movement", state=a.state,
                    before=one.axial, after=other.axial)
            )  # fmt: skip
            found.append(
                Row(what=f"lateral movement of {one.tag}", kind="movement", state=a.state,
                    before=float(np.hypot(*one.lateral)), after=float(np.hypot(*other.lateral)))
            )  # fmt: skip
    return found


def _nominal(ready: Prepared, result: StateResult) -> tuple[float, str, str]:
    """Largest nominal stress N/A + M/Z of pipe in a state, where, and of which metal."""
    forces = local(ready, result.ends)
    pipes = {pipe.name: wall_section(pipe) for pipe in ready.line.pipes}
    worst = (0.0, "", "")
    for at, spot in enumerate(ready.frame.spots):
        if spot.what not in {"straight", "bend", "reducer", "stub", "spool"}:
            continue
        section = pipes[spot.pipe]
        size = np.abs(forces.axial[at]) / section.area + (
            np.hypot(forces.inplane[at], forces.outplane[at]) / section.modulus
        )
        end = int(np.argmax(size))
        if size[end] > worst[0]:
            name = ready.frame.names[int(ready.frame.ends[at, end])]
            worst = (float(size[end]), name, ready.frame.sections[spot.pipe].metal)
    return worst


def _stress(
    ready: Prepared, other: Prepared, before: Sequence[StateResult], after: Sequence[StateResult]
) -> list[Row]:
    found = []
    for a, b in zip(before, after, strict=True):
        new, where, _ = _nominal(other, b)
        found.append(
            Row(what=f"largest nominal stress in pipe, at {where}", kind="stress", state=a.state,
                before=_nominal(ready, a)[0], after=new)
        )  # fmt: skip
    return found


def _words(line: Line, rows: Sequence[Row]) -> tuple[str, ...]:
    found = []
    loads = [row for row in rows if row.kind == "force"]
    most = max(loads, key=lambda row: abs(row.change), default=None)
    if most is not None and abs(most.change) > 1.0:
        found.append(
            f"{most.what[0].upper()}{most.what[1:]} changes most: {most.before / 1e3:.1f} kN to "
            f"{most.after / 1e3:.1f} kN ({most.state})."
        )
    allowed = {
        support.name: max(support.allowed[:3])
        for support in line.supports
        if isinstance(support, Anchor) and support.allowed
    }
    shares = [
        (row.after / allowed[name], name, row)
        for row in loads
        if (name := row.what.removeprefix("load on ")) in allowed
    ]
    if shares:
        share, name, row = max(shares, key=lambda item: item[0])
        says = "gives way first" if share > 1.0 else "is nearest to its limit"
        found.append(f"{name} {says}: {share:.2f} of what is allowed ({row.state}).")
    stressed = max(
        (row for row in rows if row.kind == "stress"), key=lambda row: row.after, default=None
    )
    if stressed is not None:
        least = _yield(line)
        if least is not None and stressed.after > least:
            found.append(
                f"Elastic stress {stressed.after / 1e6:.0f} MPa is {stressed.after / least:.1f} "
                f"times yield ({stressed.what.partition(', ')[2]}, {stressed.state}): the pipe "
                "yields, buckles or tears something weaker long before; the load is what the "
                "weakest part stands, not this number."
            )
    return tuple(found)


def _yield(line: Line) -> float | None:
    """Least yield strength of the pipes at the hottest state [Pa]."""
    hottest = max((state.temperature for state in line.states), default=294.0)
    found = []
    for pipe in line.pipes:
        try:
            found.append(float(materials.yield_strength(pipe.metal, hottest).value))
        except TakeupError:
            continue
    return min(found, default=None)


# --- thousands of variants at once -----------------------------------------------------------


class Linear(msgspec.Struct, frozen=True, kw_only=True):
    """A solved state with its contacts frozen as they stand."""

    movement: Array
    """Of all rows (m,)"""
    flexibility: Array
    """Movement of the rows per force at them, supports as they stand (m, m)"""


def linear(ready: Prepared, result: StateResult, state: State, laws: Laws | None = None) -> Linear:
    """Freeze the contacts of a solved state: closed stays closed, sliding slides."""
    made = (laws or rowing.laws)(ready.line, ready.rows, state)
    slope = np.zeros((len(ready.reference), len(ready.reference)))
    for law, memory in zip(made, result.memory, strict=True):
        rows = np.array(law.rows, dtype=np.intp)
        _, block, _ = law.answer(result.row_movement[rows], memory)
        slope[np.ix_(rows, rows)] = block
    c = ready.flexibility
    inner = np.eye(len(c)) - c @ (slope + np.diag(ready.reference))
    return Linear(movement=result.row_movement, flexibility=np.asarray(np.linalg.solve(inner, c)))


def variants(base: Linear, rows: Array, stiffness: Array, load: Array) -> Array:
    """Movement of all rows (V, m) for V changes at r rows each.

    ``rows`` (V, r) are the rows touched, ``stiffness`` (V, r) what is added there [N/m] (less
    than zero takes away) and ``load`` (V, r) the force added [N].  Exact for the frozen
    contacts: an r by r system a variant.
    """
    g = base.flexibility[rows[:, :, None], rows[:, None, :]]
    here = base.movement[rows]
    size = rows.shape[1]
    inner = np.eye(size) + g * stiffness[:, None, :]
    right = here + np.einsum("vij,vj->vi", g, load)
    moved = np.linalg.solve(inner, right[..., None])[..., 0]
    force = load - stiffness * moved
    return np.asarray(
        base.movement + np.einsum("vmr,vr->vm", base.flexibility[:, rows].transpose(1, 0, 2), force)
    )
