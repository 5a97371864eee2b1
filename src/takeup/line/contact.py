"""Supports and hardware as laws between a few movements and forces, and their solution.

Every support and every rod, linkage or lock of a joint is a *law*: it sees one to six
movements of the line (rows of ``B`` on the motion of the nodes) and answers with forces on
them and their derivative.  The line itself is linear and enters only through its flexibility
in those rows, so contact, gaps, friction, springs on their stops and rods that pull only are
solved together in a small dense system, whatever the size of the line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec
import numpy as np

from takeup.units import Array

CLOSED = 1e11
"""Stiffness of steel on steel where a contact is closed [N/m]."""
STICK = 1e9
"""Stiffness of a contact that sticks by friction, before it slides [N/m]."""


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
    lag: list[float] = msgspec.field(default_factory=list)
    """Normal force that friction is held to while :func:`settle` closes in on it; empty: its own"""


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
    lag: list[float] = []

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
            limit = friction * (lag[0] if lag else size)
            if pull <= limit:
                forces[1:] = trial
                slopes[1:, 1:] = -stick * np.eye(len(u) - 1)
            else:
                along = trial / pull if pull > 0.0 else np.zeros(len(u) - 1)
                forces[1:] = limit * along
                new = u[1:] + forces[1:] / stick
                across = np.eye(len(u) - 1) - np.outer(along, along)
                slopes[1:, 1:] = -stick * (limit / pull) * across if pull > 0.0 else 0.0
                if not lag:
                    slopes[1:, 0] = friction * np.sign(n) * dn * along
            if size == 0.0 and not lag:
                new = u[1:].copy()
        return forces, slopes, new

    count = 2 if friction > 0.0 else 0
    return Law(
        name=name,
        reference=(stiffness, *([0.01 * stick] * count)),
        answer=answer,
        memory=count,
        lag=lag,
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
    ``free`` (m,) its movement without any law.  Newton on the exact derivative of the laws
    first.  Where that does not settle, friction is held to the normal forces of the round
    before: what is left is the minimum of a convex energy, which Newton with an exact search
    along each step always reaches; the rounds end in Newton on the whole once more.
    """
    problem = (laws, flexibility, reference, free, memory)
    forces, _, _ = answers(laws, start, memory)
    push = forces + reference * start
    found = _newton(problem, push, most // 5, tolerance)
    if found.good:
        return found
    rubbing = [law for law in laws if _rubs(law)]
    rounds = found.rounds
    for law in rubbing:
        law.lag[:] = [_pressed_by(law, forces)]
    try:
        for _ in range(most // 3):
            inner = _newton(problem, push, most // 2, tolerance)
            rounds += inner.rounds
            push = inner.force + reference * inner.movement
            change = 0.0
            for law in rubbing:
                now = _pressed_by(law, inner.force)
                change = max(change, abs(now - law.lag[0]) / max(abs(now), 1.0))
                law.lag[0] += 0.7 * (now - law.lag[0])
            if change < 1e-4 and inner.good:
                break
            if rounds > 4 * most:
                break  # the caller goes there in smaller steps
    finally:
        for law in rubbing:
            law.lag.clear()
    last = _newton(problem, push, most, tolerance)
    return msgspec.structs.replace(last, rounds=rounds + last.rounds)


def _rubs(law: Law) -> bool:
    """Whether a law has friction that hangs on its own normal force."""
    return 0 < law.memory < len(law.rows)


def _pressed_by(law: Law, forces: Array) -> float:
    """Normal force of a law with friction: all rows but those along which it rubs."""
    normal = [forces[row] for row in law.rows[: len(law.rows) - law.memory]]
    return float(np.abs(normal).sum())


def _newton(
    problem: tuple[Sequence[Law], Array, Array, Array, Sequence[Array]],
    push: Array,
    most: int,
    tolerance: float,
) -> Settled:
    """Newton in the push y = f(u) + D u, u = free + C y, with a search along each step.

    The energy's slope along a step is dy . C rho, rho = y - f - D u: it rises along the step
    where the laws come from a convex energy, so its zero is found by halving.
    """
    laws, c, reference = problem[:3]
    y = push.copy()
    eye = np.eye(len(y))
    rho, u, forces, slope, kept = _unmatched(problem, y)
    rounds, size = 0, _size(c @ rho)
    while rounds < most:
        rounds += 1
        if size <= tolerance * max(1.0, _size(u)) and _even(rho, forces, 1e-9):
            break
        try:
            step = np.linalg.solve(eye - (slope + np.diag(reference)) @ c, -rho)
        except np.linalg.LinAlgError:
            break
        if not np.all(np.isfinite(step)):
            break
        along = c @ step
        first = float(along @ rho)
        share, low, high = 1.0, 0.0, 1.0
        for tried in range(12):
            trial = _unmatched(problem, y + share * step)
            here = float(along @ trial[0])
            if abs(here) <= 0.3 * abs(first) or (tried == 0 and here * first >= 0.0):
                break
            if here * first < 0.0:
                high = share
            else:
                low = share
            share = 0.5 * (low + high)
        else:
            # The energy has a kink there: go just past it, so that the next round sees the law
            # on its other side.
            share = high
            trial = _unmatched(problem, y + share * step)
        y = y + share * step
        rho, u, forces, slope, kept = trial
        size = _size(c @ rho)
    good = size <= 1e-8 * max(1.0, _size(u)) and _even(rho, forces, 1e-7)
    stuck = ""
    if not good:
        worst = int(np.argmax(np.abs(c @ rho)))
        stuck = next((law.name for law in laws if worst in law.rows), "")
    return Settled(movement=u, force=forces, slope=slope, memory=kept, rounds=rounds, good=good,
                   residual=size, stuck=stuck)  # fmt: skip


def _unmatched(
    problem: tuple[Sequence[Law], Array, Array, Array, Sequence[Array]], y: Array
) -> tuple[Array, Array, Array, Array, tuple[Array, ...]]:
    laws, c, reference, free, memory = problem
    u = free + c @ y
    forces, slope, kept = answers(laws, u, memory)
    return y - forces - reference * u, u, forces, slope, kept


def _even(rho: Array, forces: Array, share: float) -> bool:
    """Whether the forces of the laws and those on the line agree, beside a kilonewton at least."""
    return _size(rho) <= share * max(1e3, _size(forces))


def _size(residual: Array) -> float:
    return float(np.abs(residual).max(initial=0.0))
