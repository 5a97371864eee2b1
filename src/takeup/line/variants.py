"""Thousands of linear variants of one solved state, none of them factorised.

Contacts are frozen as they stand in the solved state: closed stays closed, what slides slides
on, a spring on its stop stays there.  A variant adds stiffness and force at a few rows, which
is a small system of its own (Sherman, Morrison and Woodbury), exact for the frozen contacts.
What opens, closes or slides otherwise in a variant is not seen here: solve that one again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import msgspec
import numpy as np

from takeup.errors import Contradiction, UnknownName
from takeup.line import elements
from takeup.line import rows as rowing
from takeup.line.contact import Law
from takeup.line.frame import frame, growth, line_load
from takeup.line.model import BellowsSpring, Hold, Joint, Line, Piece, State, Straight
from takeup.line.rows import Rows
from takeup.line.solve import Loads, Prepared, StateResult, free_movement, loads, rest_at
from takeup.units import Array

Laws = Callable[[Line, Rows, State], tuple[Law, ...]]
HELD = 1e11
"""Stiffness of a lock and of a seized support [N/m, N.m/rad]."""


class Linear(msgspec.Struct, frozen=True, kw_only=True):
    """A solved state with its contacts frozen as they stand."""

    movement: Array
    """Of all rows (m,)"""
    flexibility: Array
    """Movement of the rows per force at them, supports as they stand (m, m)"""
    force: Array
    """On the line at all rows (m,)"""
    slope: Array
    """Of the forces at the rows, as they stand (m, m)"""
    anchors: tuple[str, ...]
    """Rigid anchors, in the order of ``held``"""
    held: Array
    """Force and moment ON each rigid anchor (a, 6) [N, N.m]"""
    to_held: Array
    """Those per force added at the rows (a, 6, m)"""
    settled: Array
    """Movement of the rows per movement by loads alone (m, m)"""


class Variant(msgspec.Struct, frozen=True, kw_only=True):
    """What one variant adds: stiffness and force at r rows, other loads on the line."""

    rows: Any
    """(r,), whole numbers"""
    stiffness: Array
    """(r, r) [N/m, N.m/rad]"""
    load: Array
    """(r,) [N, N.m]"""
    movement: Array | float = 0.0
    """Of all rows by other loads on the line, supports as they stand (m,)"""
    held: Array | float = 0.0
    """On the rigid anchors by those loads (a, 6)"""


class Batch(msgspec.Struct, frozen=True, kw_only=True):
    """V variants as arrays; see :class:`Variant`."""

    rows: Any
    stiffness: Array
    load: Array
    movement: Array
    held: Array


class Variants(msgspec.Struct, frozen=True, kw_only=True):
    """V variants of a state, solved."""

    movement: Array
    """Of all rows (V, m) [m, rad]"""
    anchors: Array
    """Force and moment ON each rigid anchor (V, a, 6) [N, N.m]"""


def linear(ready: Prepared, result: StateResult, state: State, laws: Laws | None = None) -> Linear:
    """Freeze the contacts of a solved state: closed stays closed, sliding slides."""
    made = (laws or rowing.laws)(ready.line, ready.rows, state)
    count = len(ready.reference)
    slope = np.zeros((count, count))
    for law, memory in zip(made, result.memory, strict=True):
        rows = np.array(law.rows, dtype=np.intp)
        _, block, _ = law.answer(result.row_movement[rows], memory)
        slope[np.ix_(rows, rows)] = block
    c, stand_in = ready.flexibility, np.diag(ready.reference)
    settled = np.linalg.inv(np.eye(count) - c @ (slope + stand_in))
    flexibility = settled @ c
    names = tuple(ready.rows.fixed[node] for node in sorted(ready.rows.fixed))
    per_row = np.zeros((0, count))
    if len(ready.held):
        at_rows = np.eye(count) + slope @ flexibility
        inner = ready.stiffness[ready.held][:, ready.free] @ ready.seen
        outer = ready.rows.matrix[:, ready.held].T @ at_rows
        per_row = outer - inner @ (at_rows + stand_in @ flexibility)
    by_name = [result.reaction(name) for name in names]
    return Linear(
        movement=result.row_movement,
        flexibility=np.asarray(flexibility),
        force=result.rows,
        slope=slope,
        anchors=names,
        held=np.array([(*one.force, *one.moment) for one in by_name]).reshape(-1, 6),
        to_held=np.asarray(per_row).reshape(-1, 6, count),
        settled=np.asarray(settled),
    )


def variants(base: Linear, rows: Any, stiffness: Array, load: Array) -> Array:
    """Movement of all rows (V, m) for V changes at r rows each.

    ``rows`` (V, r) are the rows touched, ``stiffness`` (V, r) or (V, r, r) what is added there
    [N/m] (less than zero takes away) and ``load`` (V, r) the force added [N].  Exact for the
    frozen contacts: an r by r system a variant.
    """
    pushed = _pushed(base, rows, stiffness, load, base.movement[rows])
    return np.asarray(base.movement + pushed @ base.flexibility.T)


def _pushed(base: Linear, rows: Any, stiffness: Array, load: Array, here: Array) -> Array:
    """Force added at all rows (V, m), from the movement ``here`` (V, r) before it."""
    one = np.eye(rows.shape[1])
    k = stiffness if stiffness.ndim == 3 else stiffness[:, :, None] * one
    g = base.flexibility[rows[:, :, None], rows[:, None, :]]
    right = here + np.einsum("vij,vj->vi", g, load)
    moved = np.linalg.solve(one + g @ k, right[..., None])
    full = np.zeros((len(rows), len(base.movement)))
    np.add.at(full, (np.arange(len(rows))[:, None], rows), load - (k @ moved)[..., 0])
    return full


def solve_variants(base: Linear, many: Batch) -> Variants:
    """Rows and rigid anchors of all variants in one array pass."""
    start = base.movement + many.movement
    here = np.take_along_axis(start, many.rows, axis=1)
    full = _pushed(base, many.rows, many.stiffness, many.load, here)
    a, _, m = base.to_held.shape
    anchors = full @ base.to_held.reshape(6 * a, m).T
    return Variants(
        movement=start + full @ base.flexibility.T,
        anchors=base.held + many.held + anchors.reshape(len(full), a, 6),
    )


def batch(base: Linear, sets: Sequence[Variant]) -> Batch:
    """Variants of different size as arrays; what one does not touch is left blank."""
    size = max((len(one.rows) for one in sets), default=1)
    count = len(sets)
    rows = np.zeros((count, size), dtype=np.intp)
    stiffness, load = np.zeros((count, size, size)), np.zeros((count, size))
    movement = np.zeros((count, len(base.movement)))
    held = np.zeros((count, len(base.anchors), 6))
    for at, one in enumerate(sets):
        n = len(one.rows)
        rows[at, :n], stiffness[at, :n, :n], load[at, :n] = one.rows, one.stiffness, one.load
        movement[at], held[at] = one.movement, one.held
    return Batch(rows=rows, stiffness=stiffness, load=load, movement=movement, held=held)


def together(*parts: Variant) -> Variant:
    """Several variants at once, as one."""
    rows = np.unique(np.concatenate([one.rows for one in parts]))
    k, f = np.zeros((len(rows), len(rows))), np.zeros(len(rows))
    for one in parts:
        at = np.searchsorted(rows, one.rows)
        k[np.ix_(at, at)] += one.stiffness
        f[at] += one.load
    return Variant(
        rows=rows,
        stiffness=k,
        load=f,
        movement=sum((one.movement for one in parts), 0.0),
        held=sum((one.held for one in parts), 0.0),
    )


def hold(ready: Prepared, name: str, place: Array) -> Variant:
    """Hold a support or the ends of a joint at ``place`` (r,), the movement of its rows."""
    rows = _rows(ready, name)
    return Variant(rows=rows, stiffness=HELD * np.eye(len(rows)), load=HELD * place)


def lose(ready: Prepared, base: Linear, name: str) -> Variant:
    """Take a support away, with the load it carries in the solved state."""
    rows = _rows(ready, name)
    slope = base.slope[np.ix_(rows, rows)]
    return Variant(rows=rows, stiffness=slope, load=slope @ base.movement[rows] - base.force[rows])


def reheat(ready: Prepared, base: Linear, state: State, temperature: float) -> Variant:
    """The state at another metal temperature [K]: other loads, the same line."""
    other = msgspec.structs.replace(state, temperature=temperature, temperatures={})
    was, will = loads(ready, state), loads(ready, other)
    change = Loads(*(b - a for a, b in zip(_parts(was), _parts(will), strict=True)))
    return _reloaded(ready, base, change)


def _parts(one: Loads) -> tuple[Array, ...]:
    return one.force, one.moved, one.strain, one.line_load


def _reloaded(ready: Prepared, base: Linear, change: Loads) -> Variant:
    movement = base.settled @ free_movement(ready, change.force, change.moved)
    push = base.slope @ movement
    motion = rest_at(ready, change, push, movement, change.moved)
    left = ready.stiffness @ motion - change.force - ready.rows.matrix.T @ push
    held = [-left[6 * node : 6 * node + 6] for node in sorted(ready.rows.fixed)]
    none = np.zeros(0)
    return Variant(
        rows=none.astype(np.intp), stiffness=np.zeros((0, 0)), load=none,
        movement=np.asarray(movement), held=np.array(held).reshape(-1, 6),
    )  # fmt: skip


def _rows(ready: Prepared, name: str) -> Any:
    names = [place.name for place in ready.rows.places]
    if name not in names:
        raise UnknownName("support or joint that can give", name, names)
    return np.array(ready.rows.place(name).rows, dtype=np.intp)


# --- another joint, or pipe, between two stations ---------------------------------------------


class Between(msgspec.Struct, frozen=True, kw_only=True):
    """A piece as its two ends feel it: everything inside condensed away."""

    stiffness: Array
    """At its end with the start held (6, 6)"""
    load: Array
    """Forces on start and end that stand for growth, weight and thrust (12,)"""


def between(ready: Prepared, piece: Piece, state: State) -> Between:
    """Condense a joint (or straight pipe) to its ends, pantographs left out."""
    line = ready.line
    names = {piece.start, piece.end}
    alone = msgspec.structs.replace(
        line, pieces=(piece,), supports=(), tees=(),
        stations=tuple(s for s in line.stations if s.name in names),
    )  # fmt: skip
    made = frame(alone, ready.moduli.__getitem__, shear=ready.shear)
    strain, weight = growth(alone, made, state), line_load(made, state)
    count = len(made.nodes)
    k, f = np.zeros((6 * count, 6 * count)), np.zeros(6 * count)
    each = elements.stiffness(made.elements)
    pushed = elements.equivalent(made.elements, strain, weight)
    for at, (a, b) in enumerate(made.ends.tolist()):
        place = np.r_[6 * a : 6 * a + 6, 6 * b : 6 * b + 6]
        k[np.ix_(place, place)] += each[at]
        f[place] += pushed[at]
        if made.spots[at].what == "bellows":
            assert isinstance(piece, Joint)
            if any(h.hold == Hold.BALANCED for h in piece.hardware):
                continue
            area = np.pi / 4.0 * piece.bellows[made.spots[at].number].mean_diameter ** 2
            arm = made.elements.arm[at]
            push = state.pressure * area * arm / np.linalg.norm(arm)
            f[6 * b : 6 * b + 3] += push
            f[6 * a : 6 * a + 3] -= push
    a, b = made.node(piece.start), made.node(piece.end)
    outer = np.r_[6 * a : 6 * a + 6, 6 * b : 6 * b + 6]
    inner = np.setdiff1d(np.arange(6 * count), outer)
    if len(inner):
        gone = np.linalg.solve(k[np.ix_(inner, inner)], np.c_[k[np.ix_(inner, outer)], f[inner]])
        k_outer = k[np.ix_(outer, outer)] - k[np.ix_(outer, inner)] @ gone[:, :12]
        f_outer = f[outer] - k[np.ix_(outer, inner)] @ gone[:, 12]
    else:
        k_outer, f_outer = k[np.ix_(outer, outer)], f[outer]
    return Between(stiffness=np.asarray(k_outer[6:, 6:]), load=np.asarray(f_outer))


def exchange(
    ready: Prepared,
    base: Linear,
    tag: str,
    state: State,
    bellows: tuple[BellowsSpring, ...] | None = None,
) -> Variant:
    """Other bellows in a joint, or pipe in its place (``None``), put in cold and without force.

    The difference of the two pieces between the ends of the joint: stiffness on its rows,
    growth, weight and thrust on its stations.  Raises :class:`takeup.errors.Contradiction`
    where rods or a linkage would have to go with it: solve the changed line then.
    """
    joint = next((p for p in ready.line.pieces if isinstance(p, Joint) and p.tag == tag), None)
    if joint is None:
        raise UnknownName("joint", tag, [p.tag for p in ready.line.pieces if isinstance(p, Joint)])
    if any(h.hold in {Hold.PANTOGRAPH, Hold.TIED, Hold.LIMIT} for h in joint.hardware):
        raise Contradiction(
            f"joint {tag} has rods or a linkage, which go with it; solve the changed line"
        )
    spot = next(s for s in ready.frame.spots if ready.line.pieces[s.piece] is joint)
    old = msgspec.structs.replace(joint, spool_pipe=spot.pipe)
    new: Piece = Straight(start=joint.start, end=joint.end, pipe=spot.pipe, at=joint.at)
    if bellows is not None:
        new = msgspec.structs.replace(old, bellows=bellows)
    was, will = between(ready, old, state), between(ready, new, state)
    force = np.zeros(6 * len(ready.frame.nodes))
    for station, part in ((joint.start, slice(0, 6)), (joint.end, slice(6, 12))):
        node = ready.frame.node(station)
        force[6 * node : 6 * node + 6] = will.load[part] - was.load[part]
    none = np.zeros(len(ready.frame.spots))
    change = Loads(force, np.zeros(len(ready.held)), none, np.zeros((len(none), 3)))
    loaded = _reloaded(ready, base, change)
    rows = _rows(ready, tag)
    return msgspec.structs.replace(
        loaded, rows=rows, stiffness=will.stiffness - was.stiffness, load=np.zeros(len(rows))
    )
