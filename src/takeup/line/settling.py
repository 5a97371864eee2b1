"""Where laws and line agree: Newton in the small dense space of the rows.

The line is linear and enters only through its flexibility in the rows that laws see, so that
contact, gaps, friction, springs on their stops and rods that pull only are solved together in a
small dense system, whatever the size of the line.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np
from scipy import linalg, sparse

from takeup.line.bundle import Asked, Bundle
from takeup.units import Array


class Settled(msgspec.Struct, frozen=True, kw_only=True):
    """Where the laws and the line agree."""

    movement: Array
    """Of all rows [m, rad]"""
    force: Array
    """On the line, at all rows [N, N.m]"""
    memory: tuple[Array, ...]
    """Of each law"""
    rounds: int
    good: bool
    residual: float
    """Largest disagreement of movement [m, rad]"""
    stuck: str = ""
    """Name of the law that would not settle"""


class _Problem(msgspec.Struct, frozen=True):
    laws: Bundle
    flexibility: Array
    reference: Array
    free: Array
    memory: Array


class _Found(msgspec.Struct, frozen=True):
    """Where Newton ended."""

    u: Array
    asked: Asked
    rounds: int
    size: float
    good: bool
    worst: int
    """Row that disagrees most"""


def settle(
    laws: Bundle,
    flexibility: Array,
    reference: Array,
    free: Array,
    start: Array,
    memory: Sequence[Array],
    *,
    guess: Array | None = None,
    most: int = 60,
    tolerance: float = 1e-11,
) -> Settled:
    """Solve u = free + C (f(u) + D u) for the movements ``u`` of the rows.

    ``flexibility`` C (m, m) is that of the line with ``reference`` D (m,) on its rows,
    ``free`` (m,) its movement without any law.  ``start`` (m,) is where the line comes from;
    from ``guess``, where one is known, a few rounds of Newton are tried first.  Newton on the exact derivative of the laws
    first.  Where that does not settle, friction is held to the normal forces of the round
    before: what is left is the minimum of a convex energy, which Newton with an exact search
    along each step always reaches; the rounds end in Newton on the whole once more.
    """
    problem = _Problem(laws, flexibility, reference, free, laws.together(memory))
    found = None
    if guess is not None:
        found = _newton(problem, _push(problem, guess), None, most // 10, tolerance)
    if found is None or not found.good:
        wasted = found.rounds if found else 0
        found = _newton(problem, _push(problem, start), None, most // 5, tolerance)
        found = msgspec.structs.replace(found, rounds=wasted + found.rounds)
    if not found.good and laws.rubs:
        found = _held(problem, start, found.rounds, most, tolerance)
    if found.good and found.size > 0.0:
        found = _polished(problem, found)
    stuck = ""
    if not found.good:
        stuck = next((law.name for law in laws.laws if found.worst in law.rows), "")
    return Settled(
        movement=found.u,
        force=found.asked.force,
        memory=laws.apart(found.asked.memory),
        rounds=found.rounds,
        good=found.good,
        residual=found.size,
        stuck=stuck,
    )


SOFTER = (1e-3, 1e-2, 1e-1)
"""Shares of the stiffness of sticking that lead to it where friction is held."""
ROUGH = 1e-4
"""How well the steps on the way are settled [m; share of force]."""
NEAR = 0.1
"""Change of normal forces over the largest of their kind, below which Newton on the whole is tried."""


def _push(problem: _Problem, u: Array) -> Array:
    """What laws and stand-ins push the line with at movements ``u``."""
    return problem.laws.force(u, problem.memory) + problem.reference * u


def _held(problem: _Problem, start: Array, rounds: int, most: int, tolerance: float) -> _Found:
    """Friction held to normal forces that follow, until Newton on the whole takes over.

    Next to nothing moves a contact that slides against one that sticks, so the first round goes
    by way of friction that sticks softly; each has one answer only, wherever it starts.
    """
    bundle, reference = problem.laws, problem.reference
    push = _push(problem, start)
    lag = bundle.pressed_by(push - reference * start)
    for share in SOFTER:
        softer = msgspec.structs.replace(problem, laws=bundle.sticking(share))
        found = _newton(softer, push, lag, most // 4, ROUGH, even=ROUGH)
        push, rounds = found.asked.force + reference * found.u, rounds + found.rounds
    enough = rounds + 4 * most
    tried = 1.0
    for _ in range(most // 3):
        inner = _newton(problem, push, lag, most // 2, tolerance)
        rounds += inner.rounds
        push = inner.asked.force + reference * inner.u
        now = bundle.pressed_by(inner.asked.force)
        change = _size(now - lag) / max(_size(now), 1.0)
        lag = lag + 0.7 * (now - lag)
        if change < 1e-4 and inner.good:
            break
        if change < NEAR * tried and inner.good:
            tried = change
            found = _newton(problem, push, None, most // 10, tolerance)
            rounds += found.rounds
            if found.good:
                return msgspec.structs.replace(found, rounds=rounds)
        if rounds > enough:
            break  # the caller goes there in smaller steps
    found = _newton(problem, push, None, most, tolerance)
    return msgspec.structs.replace(found, rounds=rounds + found.rounds)


def _polished(problem: _Problem, found: _Found) -> _Found:
    """One round more: Newton doubles the digits where it has closed in."""
    push = found.asked.force + problem.reference * found.u
    better = _newton(problem, push, None, 1, 0.0)
    if better.good and better.size < found.size:
        return msgspec.structs.replace(better, rounds=found.rounds)
    return found


def _newton(
    problem: _Problem,
    push: Array,
    lag: Array | None,
    most: int,
    tolerance: float,
    even: float = 1e-9,
) -> _Found:
    """Newton in the push y = f(u) + D u, u = free + C y, with a search along each step.

    The energy's slope along a step is dy . C rho, rho = y - f - D u: it rises along the step
    where the laws come from a convex energy, so its zero is found by halving.
    """
    c, reference, bundle = problem.flexibility, problem.reference, problem.laws
    y = push
    rounds = 0
    while True:
        u = problem.free + c @ y
        asked = bundle.ask(u, problem.memory, lag)
        rho = y - asked.force - reference * u
        off = c @ rho
        size = _size(off)
        closed = size <= tolerance * max(1.0, _size(u)) and _even(rho, asked.force, even)
        if closed or rounds == most:
            break
        rounds += 1
        step = _step(problem, asked, rho, reference)
        if step is None or _size(c @ step) > NONSENSE:
            # Nothing holds the line as its laws stand now: go on as if what bears nothing were
            # there in the stead of what stood in for it.
            step = _step(problem, asked, rho, np.where(bundle.bears(asked.slope), reference, 0.0))
        if step is None:
            break
        y = y + _share(problem, lag, y, u, rho, step) * step
    good = size <= 1e-8 * max(1.0, _size(u)) and _even(rho, asked.force, 1e-7)
    worst = int(np.argmax(np.abs(off))) if len(off) else 0
    return _Found(u, asked, rounds, size, good, worst)


def _share(
    problem: _Problem, lag: Array | None, y: Array, u: Array, rho: Array, step: Array
) -> float:
    """How much of a step to take, by halving on the slope of the energy along it."""
    along = problem.flexibility @ step
    first = float(along @ rho)
    share, low, high = 1.0, 0.0, 1.0
    at_low, at_high = first, 0.0
    for tried in range(30):
        there = u + share * along
        force = problem.laws.force(there, problem.memory, lag)
        here = float(along @ (y + share * step - force - problem.reference * there))
        if abs(here) <= 0.3 * abs(first) or (tried == 0 and here * first >= 0.0):
            return share
        if here * first < 0.0:
            high, at_high = share, here
        else:
            low, at_low = share, here
        # Where the slope changes evenly its zero is between the two; past a kink halving is better.
        cut = at_low / (at_low - at_high) if tried % 2 == 0 else 0.5
        share = low + min(max(cut, 0.05), 0.95) * (high - low)
    # The energy has a kink there: go just past it, so that the next round sees the law on its
    # other side.
    return high


NONSENSE = 100.0
"""A step as long as this means that nothing holds the line [m, rad]."""


def _step(problem: _Problem, asked: Asked, rho: Array, reference: Array) -> Array | None:
    """Newton's step: (I - A C) step = -rho, A the derivative of the laws beside their stand-ins.

    Rows where a law does what its stand-in does have no part in the system: most contacts that
    are closed, and every joint that is not locked.
    """
    c, bundle = problem.flexibility, problem.laws
    step = -rho
    if len(rho) <= SMALL:
        beside = bundle.dense(asked.slope)
        beside[np.diag_indices(len(rho))] += reference
        own = np.flatnonzero(beside.any(axis=1))
    else:
        rows, columns = bundle.at
        every = np.arange(len(rho))
        beside = sparse.csr_array(
            (np.concatenate([asked.slope, reference]),
             (np.concatenate([rows, every]), np.concatenate([columns, every]))),
            shape=(len(rho), len(rho)),
        )  # fmt: skip
        beside.eliminate_zeros()
        own = np.flatnonzero(np.diff(beside.indptr))
    if len(own) == 0:
        return step
    part = beside[own]
    rest = rho.copy()
    rest[own] = 0.0
    matrix = part @ np.take(c, own, axis=1)
    right = -rho[own] - part @ (c @ rest)
    np.negative(matrix, out=matrix)
    matrix[np.diag_indices(len(own))] += 1.0
    _, _, found, wrong = linalg.lapack.dgesv(matrix, right)
    if wrong or not np.all(np.isfinite(found)):
        return None
    step[own] = found
    return step


SMALL = 128
"""Rows up to which a full product is quicker than a sparse one."""


def _even(rho: Array, forces: Array, share: float) -> bool:
    """Whether the forces of the laws and those on the line agree, beside a kilonewton at least."""
    return _size(rho) <= share * max(1e3, _size(forces))


def _size(residual: Array) -> float:
    return float(np.abs(residual).max(initial=0.0))
