"""Supports and hardware as laws between a few movements and forces.

Every support and every rod, linkage or lock of a joint is a *law*: it sees one to six
movements of the line (rows of ``B`` on the motion of the nodes) and answers with forces on
them and their derivative.  :class:`Bundle` asks all laws of a state at once, those of a kind in
one array pass (:mod:`takeup.line.families`); :mod:`takeup.line.settling` finds where they and
the line agree.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from typing import Any

import msgspec
import numpy as np

from takeup.line import families
from takeup.line.families import Family
from takeup.units import Array

CLOSED = 1e11
"""Stiffness of steel on steel where a contact is closed [N/m]."""
STICK = 1e9
"""Stiffness of a contact that sticks by friction, before it slides [N/m]."""


class Alike(msgspec.Struct, frozen=True):
    """The answer of one law that knows how all of its family answer at once.

    A law asked by itself is quicker by ``one``: arrays of one row cost ten times as much.
    """

    one: Callable[[Array, Array], tuple[Array, Array, Array]]
    family: Family
    given: tuple[float, ...]
    """What the family takes of this law"""

    def __call__(self, u: Array, memory: Array) -> tuple[Array, Array, Array]:
        """Forces, derivative and new memory."""
        return self.one(u, memory)


class Law(msgspec.Struct, kw_only=True):
    """What a support does: forces on the line at movements ``u`` of its rows.

    ``answer(u, memory)`` gives the forces (m,), their derivative (m, m) and the new memory
    (where it slid to); where it is :class:`Alike`, laws of a family are asked together.
    ``reference`` is the diagonal stiffness that stands in for it while
    the line is factorised: any value will do, near its closed stiffness is best.
    """

    name: str
    rows: tuple[int, ...] = ()
    reference: tuple[float, ...]
    answer: Callable[[Array, Array], tuple[Array, Array, Array]]
    memory: int = 0
    """How many numbers it remembers"""


NEVER = float("inf")


def _linear(force: Array, at: Array, k: Array) -> tuple[float, ...]:
    return tuple(np.concatenate([force, at, k.ravel()]).tolist())


def bilateral(name: str, stiffness: Sequence[float], load: Sequence[float] | None = None) -> Law:
    """Springs that push and pull, with a load at zero movement."""
    k = np.diag(np.asarray(stiffness, dtype=float))
    f0 = np.zeros(len(stiffness)) if load is None else np.asarray(load, dtype=float)

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return f0 - k @ u, -k, memory

    return Law(
        name=name,
        reference=tuple(stiffness),
        answer=Alike(answer, families.linear, _linear(f0, 0.0 * f0, k)),
    )


def moved(name: str, stiffness: Sequence[float], shift: Array) -> Law:
    """Springs whose other end moves by ``shift``."""
    k = np.diag(np.asarray(stiffness, dtype=float))

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return -k @ (u - shift), -k, memory

    return Law(
        name=name,
        reference=tuple(stiffness),
        answer=Alike(answer, families.linear, _linear(0.0 * shift, shift, k)),
    )


def held(name: str, stiffness: float, place: Array, force: Array) -> Law:
    """Springs that hold rows at ``place``, from the force they carry there."""
    k = stiffness * np.eye(len(place))

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return force - k @ (u - place), -k, memory

    return Law(
        name=name,
        reference=(stiffness,) * len(place),
        answer=Alike(answer, families.linear, _linear(force, place, k)),
    )


def gap(
    name: str,
    *,
    plus: float | None,
    minus: float | None,
    stiffness: float = CLOSED,
) -> Law:
    """One row that is free within a gap; ``None`` on a side: free for good on that side."""

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        force, slope = 0.0, 0.0
        x = float(u[0])
        if plus is not None and x > plus:
            force, slope = -stiffness * (x - plus), -stiffness
        if minus is not None and x < -minus:
            force, slope = -stiffness * (x + minus), -stiffness
        return np.array([force]), np.array([[slope]]), memory

    return Law(
        name=name,
        reference=(stiffness,),
        answer=Alike(answer, families.faces, (_or_never(plus), _or_never(minus), stiffness)),
    )


def _or_never(reach: float | None) -> float:
    return NEVER if reach is None else reach


def pressed(
    name: str,
    *,
    friction: float,
    clear: float = 0.0,
    back: float | None = None,
    stiffness: float = CLOSED,
    stick: float = STICK,
) -> Law:
    """A face that the line presses on: row 0 normal (it stands below: minus presses), 1 and 2 along it.

    The line may lift off; while it presses it sticks until friction gives way, then slides.
    ``back`` is a second face at that distance on the other side (a guide); ``None``: none.
    """

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        n, dn = 0.0, 0.0
        x = float(u[0])
        if x < -clear:
            n, dn = -stiffness * (x + clear), -stiffness
        elif back is not None and x > back:
            n, dn = -stiffness * (x - back), -stiffness
        forces = np.zeros(len(u))
        slopes = np.zeros((len(u), len(u)))
        forces[0], slopes[0, 0] = n, dn
        size = abs(n)
        new = memory.copy()
        if friction > 0.0 and len(u) > 1:
            trial = -stick * (u[1:] - memory)
            pull = float(np.linalg.norm(trial))
            limit = friction * size
            if pull <= limit:
                forces[1:] = trial
                slopes[1:, 1:] = -stick * np.eye(len(u) - 1)
            else:
                along = trial / pull if pull > 0.0 else np.zeros(len(u) - 1)
                forces[1:] = limit * along
                new = u[1:] + forces[1:] / stick
                across = np.eye(len(u) - 1) - np.outer(along, along)
                slopes[1:, 1:] = -stick * (limit / pull) * across if pull > 0.0 else 0.0
                slopes[1:, 0] = friction * np.sign(n) * dn * along
            if size == 0.0:
                new = u[1:].copy()
        return forces, slopes, new

    count = 2 if friction > 0.0 else 0
    face = (_or_never(back), clear, stiffness)
    return Law(
        name=name,
        reference=(stiffness, *([0.01 * stick] * count)),
        answer=Alike(answer, families.rubbing, (friction, stick, *face))
        if count
        else Alike(answer, families.faces, face),
        memory=count,
    )


def variable(
    name: str, *, rate: float, load: float, up: float, down: float, rod: float = 0.0,
    pinned: bool = False,
) -> Law:  # fmt: skip
    """A variable spring: row 0 upward movement; rows 1 and 2 sideways where it hangs on a rod.

    Above its upper stop the coil can push no further and the rod goes slack; below its lower
    stop the coil is solid.
    """
    solid = max(1e3 * rate, 1e7)

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        x = float(u[0])
        if pinned:
            force, slope = load - solid * x, -solid
        elif x > up:
            least = load - rate * up
            force, slope = least - solid * (x - up), -solid
        elif x < -down:
            force, slope = load + rate * down - solid * (x + down), -solid
        else:
            force, slope = load - rate * x, -rate
        if force < 0.0 and not pinned:
            force, slope = 0.0, 0.0
        return _hung(u, force, slope, rod), _hung_slope(u, force, slope, rod), memory

    given = (load, rate, up, down, solid, 0.0, rod)
    if pinned:
        given = (load, solid, NEVER, NEVER, solid, -NEVER, rod)
    return Law(
        name=name,
        reference=(rate, *_swing(rod, load)),
        answer=Alike(answer, families.sprung, given),
    )


def constant(
    name: str, *, load: float, tolerance: float, up: float, down: float, seized: bool = False
) -> Law:
    """A constant spring: one load over its travel, within a band by friction inside."""
    band = tolerance * load
    soft = max(band, 1.0) / 1e-3  # the band is taken up within a millimetre

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        x = float(u[0])
        if seized:
            return np.array([load - CLOSED * x]), np.array([[-CLOSED]]), memory
        held = -soft * (x - float(memory[0]))
        new = memory.copy()
        slope = -soft
        if abs(held) > band:
            held = float(np.sign(held)) * band
            new[0] = x + held / soft
            slope = 0.0
        force = load + held
        if x > up:
            force, slope = force - CLOSED * (x - up), -CLOSED
        elif x < -down:
            force, slope = force - CLOSED * (x + down), -CLOSED
        if force < 0.0:
            force, slope = 0.0, 0.0
        return np.array([force]), np.array([[slope]]), new

    none = np.zeros(1)
    return Law(
        name=name,
        reference=(soft,),
        answer=Alike(answer, families.linear, _linear(none + load, none, none + CLOSED))
        if seized
        else Alike(answer, families.banded, (load, band, soft, up, down, CLOSED)),
        memory=1,
    )


def hung(name: str, *, stiffness: float, length: float) -> Law:
    """A rod that can pull only: row 0 upward, rows 1 and 2 its swing like a pendulum."""

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        x = float(u[0])
        force, slope = (-stiffness * x, -stiffness) if x < 0.0 else (0.0, 0.0)
        return _hung(u, force, slope, length), _hung_slope(u, force, slope, length), memory

    return Law(
        name=name,
        reference=(stiffness, *_swing(length, 1e4)),
        answer=Alike(
            answer, families.sprung, (0.0, stiffness, NEVER, NEVER, stiffness, 0.0, length)
        ),
    )


def _swing(rod: float, load: float) -> tuple[float, ...]:
    return (load / rod, load / rod) if rod > 0.0 else ()


def _hung(u: Array, force: float, slope: float, rod: float) -> Array:
    if rod <= 0.0:
        return np.array([force])
    return np.array([force, -force * u[1] / rod, -force * u[2] / rod])


def _hung_slope(u: Array, force: float, slope: float, rod: float) -> Array:
    if rod <= 0.0:
        return np.array([[slope]])
    return np.array(
        [
            [slope, 0.0, 0.0],
            [-slope * u[1] / rod, -force / rod, 0.0],
            [-slope * u[2] / rod, 0.0, -force / rod],
        ]
    )


def turning(
    name: str, rows: int, *, stiffness: float, moment: float, stick: float
) -> Law:  # fmt: skip
    """Pins: each row turns against a spring, and against friction that sticks up to ``moment``.

    Within it the pins turn by ``moment / stick``; beyond, friction holds against the motion.
    """

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        held = -stick * (u - memory)
        slips = np.abs(held) > moment
        held = np.clip(held, -moment, moment)
        new = np.where(slips & (stick > 0.0), u + held / max(stick, 1e-300), memory)
        slope = -stiffness - np.where(slips, 0.0, stick)
        return held - stiffness * u, np.diag(slope), new

    return Law(name=name, reference=(stick,) * rows, answer=answer, memory=rows)


def linkage(name: str, stiffness: Array, shift: Array | None = None) -> Law:
    """A linear part: forces -K (u - shift) on its rows (a lock, a pipe in place of a joint)."""
    k = np.asarray(stiffness, dtype=float)
    at = np.zeros(len(k)) if shift is None else shift

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return -k @ (u - at), -k, memory

    return Law(
        name=name,
        reference=tuple(np.zeros(len(k))),
        answer=Alike(answer, families.linear, _linear(0.0 * at, at, k)),
    )


def nothing(name: str, rows: int, memory: int = 0) -> Law:
    """A support that is gone."""

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return np.zeros(rows), np.zeros((rows, rows)), memory

    return Law(
        name=name, reference=(0.0,) * rows, answer=Alike(answer, families.faces, ()), memory=memory
    )


class _Group(msgspec.Struct, frozen=True):
    """Laws of one family with as many rows, memory and figures each."""

    family: Family
    given: Array
    rows: Any
    """(g, m)"""
    who: tuple[int, ...]
    """Places of the laws in their sequence"""
    memory: int
    normal: int
    """Rows that press where the others rub; none: no friction that hangs on a normal force"""


class Asked(msgspec.Struct, frozen=True):
    """Answer of all laws."""

    force: Array
    """At all rows (m,)"""
    slope: Array
    """Derivatives, in the order of ``Bundle.at`` (s,)"""
    memory: tuple[Array, ...]
    """Group by group (g, k); :meth:`Bundle.apart` gives that of each law"""


class Bundle:
    """All laws of a state, sorted by kind, to be asked again and again."""

    def __init__(self, laws: Sequence[Law], count: int) -> None:
        self.laws, self.count = tuple(laws), count
        sorts: dict[Any, list[int]] = {}
        for at, law in enumerate(self.laws):
            one = law.answer
            kind = (one.family, len(one.given)) if isinstance(one, Alike) else (one, at)
            sorts.setdefault((kind, len(law.rows), law.memory), []).append(at)
        self.groups = tuple(
            _group([self.laws[at] for at in who], tuple(who))
            for (_, rows, _), who in sorts.items()
            if rows
        )
        pairs = [np.broadcast_arrays(g.rows[:, :, None], g.rows[:, None, :]) for g in self.groups]
        blank = np.zeros(0, dtype=np.intp)
        self.at = (
            np.concatenate([blank, *(row.ravel() for row, _ in pairs)]),
            np.concatenate([blank, *(column.ravel() for _, column in pairs)]),
        )
        """Row and column of each derivative"""

    @property
    def rubs(self) -> bool:
        """Whether any law of a family rubs."""
        return any(group.normal for group in self.groups)

    def sticking(self, share: float) -> Bundle:
        """The same laws, with that share of the stiffness of sticking."""
        softer = copy(self)
        softer.groups = tuple(
            msgspec.structs.replace(
                g, given=g.given * [1.0, share, *[1.0] * (g.given.shape[1] - 2)]
            )
            if g.normal
            else g
            for g in self.groups
        )
        return softer

    def together(self, memory: Sequence[Array]) -> tuple[Array, ...]:
        """Memory of each law, as the groups take it."""
        return tuple(
            np.array([memory[at] for at in group.who], dtype=float).reshape(
                len(group.who), group.memory
            )
            for group in self.groups
        )

    def apart(self, memory: Sequence[Array]) -> tuple[Array, ...]:
        """Memory of the groups, law by law."""
        found = [np.zeros(law.memory) for law in self.laws]
        for group, kept in zip(self.groups, memory, strict=True):
            for at, one in zip(group.who, kept, strict=True):
                found[at] = one
        return tuple(found)

    def pressed_by(self, force: Array) -> tuple[Array, ...]:
        """Normal forces (g,) of the laws that rub, group by group."""
        return tuple(np.abs(force[g.rows[:, : g.normal]]).sum(axis=1) for g in self.groups)

    def ask(self, u: Array, memory: Sequence[Array], lags: Sequence[Array] | None = None) -> Asked:
        """Forces, derivatives and new memory of all laws at movements ``u`` of all rows.

        ``lags`` are normal forces that friction is held to, as of :meth:`pressed_by`.
        """
        force, slopes, kept = np.zeros(self.count), [np.zeros(0)], []
        for at, (group, old) in enumerate(zip(self.groups, memory, strict=True)):
            lag = lags[at] if lags is not None and group.normal else None
            part, slope, new = group.family(group.given, u[group.rows], old, lag)
            force[group.rows] = part
            slopes.append(slope.ravel())
            kept.append(new)
        return Asked(force, np.concatenate(slopes), tuple(kept))


def _group(laws: Sequence[Law], who: tuple[int, ...]) -> _Group:
    first = laws[0]
    rows = np.array([law.rows for law in laws], dtype=np.intp)
    asked = [law.answer for law in laws]
    if isinstance(asked[0], Alike):
        given = np.array([one.given for one in asked if isinstance(one, Alike)], dtype=float)
        normal = len(first.rows) - first.memory if asked[0].family is families.rubbing else 0
        return _Group(asked[0].family, given, rows, who, first.memory, normal)
    return _Group(_alone(first), np.zeros((1, 0)), rows, who, first.memory, 0)


def _alone(law: Law) -> Family:
    """A law of its own kind as a family of one."""

    def answer(given: Array, u: Array, memory: Array, lag: Array | None) -> families.Answer:
        force, slope, new = law.answer(u[0], memory[0])
        return force[None], slope[None], new[None]

    return answer


def answers(
    laws: Sequence[Law], u: Array, memory: Sequence[Array]
) -> tuple[Array, Array, tuple[Array, ...]]:
    """Forces, block-diagonal slope and new memory of all laws."""
    all_of_them = Bundle(laws, len(u))
    asked = all_of_them.ask(u, all_of_them.together(memory))
    slope = np.zeros((len(u), len(u)))
    slope[all_of_them.at] = asked.slope
    return asked.force, slope, all_of_them.apart(asked.memory)


def blank(laws: Sequence[Law]) -> tuple[Array, ...]:
    """Memory before anything happened."""
    return tuple(np.zeros(law.memory) for law in laws)
