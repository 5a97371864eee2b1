"""Supports and hardware as laws between a few movements and forces, and their solution.

Every support and every rod, linkage or lock of a joint is a *law*: it sees one to six
movements of the line (rows of ``B`` on the motion of the nodes) and answers with forces on
them and their derivative.  The line itself is linear and enters only through its flexibility
in those rows, so contact, gaps, friction, springs on their stops and rods that pull only are
solved together in a small dense system, whatever the size of the line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import msgspec
import numpy as np

from takeup.units import Array

CLOSED = 1e11
"""Stiffness of steel on steel where a contact is closed [N/m]."""
STICK = 1e9
"""Stiffness of a contact that sticks by friction, before it slides [N/m]."""
PATIENCE = 20
"""Rounds without halving the disagreement after which it is given up."""

NEAR = 1e-4
"""Disagreement below which Newton is tried again [m, rad]."""


class Law(msgspec.Struct, kw_only=True):
    """What a support does: forces on the line at movements ``u`` of its rows.

    ``answer(u, memory)`` gives the forces (m,), their derivative (m, m) and the new memory
    (where it slid to).  ``reference`` is the diagonal stiffness that stands in for it while
    the line is factorised: any value will do, near its closed stiffness is best.
    """

    name: str
    rows: tuple[int, ...] = ()
    reference: tuple[float, ...]
    answer: Callable[[Array, Array], tuple[Array, Array, Array]]
    memory: int = 0
    """How many numbers it remembers"""


def bilateral(name: str, stiffness: Sequence[float], load: Sequence[float] | None = None) -> Law:
    """Springs that push and pull, with a load at zero movement."""
    k = np.diag(np.asarray(stiffness, dtype=float))
    f0 = np.zeros(len(stiffness)) if load is None else np.asarray(load, dtype=float)

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return f0 - k @ u, -k, memory

    return Law(name=name, reference=tuple(stiffness), answer=answer)


def moved(name: str, stiffness: Sequence[float], shift: Array) -> Law:
    """Springs whose other end moves by ``shift``."""
    k = np.diag(np.asarray(stiffness, dtype=float))

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return -k @ (u - shift), -k, memory

    return Law(name=name, reference=tuple(stiffness), answer=answer)


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

    return Law(name=name, reference=(stiffness,), answer=answer)


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
    return Law(
        name=name,
        reference=(stiffness, *([0.01 * stick] * count)),
        answer=answer,
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

    return Law(name=name, reference=(rate, *_swing(rod, load)), answer=answer)


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

    return Law(name=name, reference=(soft,), answer=answer, memory=1)


def hung(name: str, *, stiffness: float, length: float) -> Law:
    """A rod that can pull only: row 0 upward, rows 1 and 2 its swing like a pendulum."""

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        x = float(u[0])
        force, slope = (-stiffness * x, -stiffness) if x < 0.0 else (0.0, 0.0)
        return _hung(u, force, slope, length), _hung_slope(u, force, slope, length), memory

    return Law(name=name, reference=(stiffness, *_swing(length, 1e4)), answer=answer)


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


def linkage(name: str, stiffness: Array, shift: Array | None = None) -> Law:
    """A linear part: forces -K (u - shift) on its rows (a lock, a pipe in place of a joint)."""
    k = np.asarray(stiffness, dtype=float)
    at = np.zeros(len(k)) if shift is None else shift

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return -k @ (u - at), -k, memory

    return Law(name=name, reference=tuple(np.zeros(len(k))), answer=answer)


def nothing(name: str, rows: int, memory: int = 0) -> Law:
    """A support that is gone."""

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return np.zeros(rows), np.zeros((rows, rows)), memory

    return Law(name=name, reference=(0.0,) * rows, answer=answer, memory=memory)


class Settled(msgspec.Struct, frozen=True, kw_only=True):
    """Where the laws and the line agree."""

    movement: Array
    """Of all rows [m, rad]"""
    force: Array
    """On the line, at all rows [N, N.m]"""
    slope: Array
    """Block-diagonal derivative of the forces"""
    memory: tuple[Array, ...]
    rounds: int
    good: bool
    residual: float
    """Largest disagreement of movement [m, rad]"""
    stuck: str = ""
    """Name of the law that would not settle"""


def answers(
    laws: Sequence[Law], u: Array, memory: Sequence[Array]
) -> tuple[Array, Array, tuple[Array, ...]]:
    """Forces, block-diagonal slope and new memory of all laws."""
    forces, slope = np.zeros(len(u)), np.zeros((len(u), len(u)))
    kept = []
    for law, old in zip(laws, memory, strict=True):
        rows = np.array(law.rows, dtype=np.intp)
        force, block, new = law.answer(u[rows], old)
        forces[rows] = force
        slope[np.ix_(rows, rows)] = block
        kept.append(new)
    return forces, slope, tuple(kept)


def blank(laws: Sequence[Law]) -> tuple[Array, ...]:
    """Memory before anything happened."""
    return tuple(np.zeros(law.memory) for law in laws)


def settle(
    laws: Sequence[Law],
    flexibility: Array,
    reference: Array,
    free: Array,
    start: Array,
    memory: Sequence[Array],
    *,
    most: int = 60,
    tolerance: float = 1e-11,
) -> Settled:
    """Solve u = free + C (f(u) + D u) for the movements ``u`` of the rows.

    ``flexibility`` C (m, m) is that of the line with ``reference`` D (m,) on its rows,
    ``free`` (m,) its movement without any law.  Newton on the exact derivative of the laws,
    with a step halved while it makes things worse.
    """
    u = start.copy()
    eye = np.eye(len(u))
    residual, forces, slope, kept = _residual(laws, flexibility, reference, free, u, memory)
    size = _size(residual)
    seen: Any = None
    least, since = size, 0
    for rounds in range(1, most + 1):
        if size <= tolerance * max(1.0, float(np.abs(u).max(initial=0.0))):
            return Settled(movement=u, force=forces, slope=slope, memory=kept, rounds=rounds,
                           good=True, residual=size)  # fmt: skip
        jacobian = eye - flexibility @ (slope + np.diag(reference))
        try:
            step = np.linalg.solve(jacobian, -residual)
        except np.linalg.LinAlgError:
            break
        if not np.all(np.isfinite(step)):
            break
        best = None
        share = 1.0
        for _ in range(8):
            trial = u + share * step
            found = _residual(laws, flexibility, reference, free, trial, memory)
            worse = _size(found[0])
            if best is None or worse < best[0]:
                best = (worse, trial, found)
            if worse < size:
                break
            share *= 0.5
        assert best is not None
        size, u, (residual, forces, slope, kept) = best[0], best[1], best[2]
        seen = np.argmax(np.abs(residual))
        least, since = (size, 0) if size < 0.5 * least else (least, since + 1)
        if since >= PATIENCE:
            break
    downhill = _downhill(laws, flexibility, reference, free, start, memory, tolerance)
    if downhill is not None:
        return downhill
    stuck = next((law.name for law in laws if seen is not None and int(seen) in law.rows), "")
    good = size <= 1e-8 * max(1.0, float(np.abs(u).max(initial=0.0)))
    return Settled(movement=u, force=forces, slope=slope, memory=kept, rounds=most, good=good,
                   residual=size, stuck="" if good else stuck)  # fmt: skip


def _downhill(
    laws: Sequence[Law],
    flexibility: Array,
    reference: Array,
    free: Array,
    start: Array,
    memory: Sequence[Array],
    tolerance: float,
    most: int = 120,
) -> Settled | None:
    """As :func:`settle` where Newton runs in circles: many contacts that rub and lift at once.

    With friction's dependence on the normal force left out of the derivative the step goes
    down an energy, so that it is searched along until the energy stops falling.  Slower, and
    the answer is the same: where the laws and the line agree.
    """
    u = start.copy()
    eye = np.eye(len(u))
    found = _residual(laws, flexibility, reference, free, u, memory)
    for rounds in range(1, most + 1):
        residual, forces, slope, kept = found
        size = _size(residual)
        if size <= tolerance * max(1.0, float(np.abs(u).max(initial=0.0))):
            return Settled(movement=u, force=forces, slope=slope, memory=kept, rounds=rounds,
                           good=True, residual=size)  # fmt: skip
        even = np.where(slope.T == 0.0, 0.0, slope)
        try:
            step = np.linalg.solve(eye - flexibility @ (even + np.diag(reference)), -residual)
            along = np.linalg.solve(flexibility, step)
        except np.linalg.LinAlgError:
            return None
        if not np.all(np.isfinite(step)):
            return None
        if size < NEAR:
            newton = np.linalg.solve(eye - flexibility @ (slope + np.diag(reference)), -residual)
            trial = _residual(laws, flexibility, reference, free, u + newton, memory)
            if _size(trial[0]) < 0.1 * size:
                u, found = u + newton, trial
                continue
        first = float(along @ residual)
        low, low_fall, high = 0.0, first, 1.0
        found = _residual(laws, flexibility, reference, free, u + step, memory)
        fall = float(along @ found[0])
        share = 1.0
        if fall * first < 0.0:
            high_fall = fall
            for _ in range(8):
                share = low + (high - low) * min(0.9, max(0.1, low_fall / (low_fall - high_fall)))
                found = _residual(laws, flexibility, reference, free, u + share * step, memory)
                fall = float(along @ found[0])
                if abs(fall) < 0.3 * abs(first):
                    break
                if fall * first > 0.0:
                    low, low_fall = share, fall
                else:
                    high, high_fall = share, fall
        u = u + share * step
    return None


def _residual(
    laws: Sequence[Law],
    flexibility: Array,
    reference: Array,
    free: Array,
    u: Array,
    memory: Sequence[Array],
) -> tuple[Array, Array, Array, tuple[Array, ...]]:
    forces, slope, kept = answers(laws, u, memory)
    return u - free - flexibility @ (forces + reference * u), forces, slope, kept


def _size(residual: Array) -> float:
    return float(np.abs(residual).max(initial=0.0))
