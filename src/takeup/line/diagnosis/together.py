"""Many variants of one line brought to rest together, each from a point where the line stands.

A variant is written as the departure p of its laws from the tangent of a line that is known to
be at rest: movement u = u0 + G p, and p = F(u) - F0 - S0 (u - u0).  Only rows whose law is not
on that tangent count, so Newton solves systems of those few rows, all variants in one array.
The solution is that of the whole line, not of its tangent.
"""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np

from takeup.line.diagnosis.arrays import Answer, Form, Laws, answer
from takeup.units import Array

ROUNDS = 24
SHARES = 0.5 ** np.arange(7.0, -1.0, -1.0)
EVENLY = np.arange(1.0, 9.0) / 8.0
"""Shares of a step that are tried, first and then between two of them."""
PASSES = 7
"""A spring that jumps off its stop within a tenth of a micrometre is found in a step of 10 mm."""
LAGS = 25
STILL = 1e-11
"""Movement of a step that is none [m, rad]."""
NEAR = 0.02
"""Change of slope that Newton's system leaves out, times the give of its rows [-]."""


class Ground(msgspec.Struct, frozen=True, kw_only=True):
    """A line at rest and how it gives, at g points; the idle row included."""

    movement: Array
    """(g, m + 1)"""
    force: Array
    """(g, m + 1)"""
    slope: Array
    """Of rows of no coupled place (g, m + 1)"""
    blocks: Array
    """Of coupled places (g, q, 3, 3)"""
    linked: Array
    """Stiffness of linear parts (g, l, 6, 6)"""
    give: Array
    """Movement of the rows by unit force, contacts as they stand (g, m + 1, m + 1)"""


class Rest(msgspec.Struct, kw_only=True):
    """Variants at rest."""

    push: Array
    """Departure of the laws from the tangent (b, m + 1)"""
    movement: Array
    force: Array
    memory: Array
    good: Any
    """Whether it did come to rest (b,)"""


class _Off(msgspec.Struct, kw_only=True):
    """How far variants are off."""

    left: Array
    """p less the departure of the laws (b, m + 1)"""
    movement: Array
    answer: Answer


class _Task(msgspec.Struct, kw_only=True):
    made: Form
    ground: Ground
    point: Any
    laws: Laws
    memory: Array
    lag: Array | None = None

    def take(self, which: Any) -> _Task:
        return _Task(
            made=self.made, ground=self.ground, point=self.point[which],
            laws=self.laws.take(which), memory=self.memory[which],
            lag=None if self.lag is None else self.lag[which],
        )  # fmt: skip

    def give(self, push: Array) -> Array:
        """Movement by forces on the rows (b, m + 1)."""
        found = np.empty_like(push)
        for at in np.unique(self.point):
            own = self.point == at
            found[own] = push[own] @ self.ground.give[at].T
        return found

    def off(self, push: Array, slopes: bool = True) -> _Off:
        base, made = self.ground, self.made
        moved = self.give(push)
        u = base.movement[self.point] + moved
        said = answer(made, self.laws, u, self.memory, self.lag, slopes=slopes)
        tangent = base.slope[self.point] * moved
        tangent[:, made.coupled] += np.einsum(
            "bqij,bqj->bqi", base.blocks[self.point], moved[:, made.coupled]
        )
        for number, rows in enumerate(made.linked):
            stiff = base.linked[self.point, number]
            if stiff.any():
                tangent[:, rows] -= np.einsum("bij,bj->bi", stiff, moved[:, rows])
        left = push - (said.force - base.force[self.point] - tangent)
        left[:, -1] = 0.0
        return _Off(left=left, movement=u, answer=said)


def come_to_rest(
    made: Form, ground: Ground, point: Any, laws: Laws, memory: Array, start: Array, patient: Any
) -> Rest:
    """Bring b variants to rest, each about one ``point`` (b,) of ``ground``.

    ``start`` (b, m + 1) is a first guess of their push.  Where Newton does not get there, and
    ``patient`` (b,) says that it is worth it, friction is held to the normal forces of the round
    before until both agree.
    """
    task = _Task(made=made, ground=ground, point=point, laws=laws, memory=memory)
    found = _newton(task, start.copy(), ROUNDS)
    bad = np.flatnonzero(~found.good & patient)
    if len(bad):
        again = _lagged(task.take(bad), start[bad])
        for name in ("push", "movement", "force", "memory", "good"):
            getattr(found, name)[bad] = getattr(again, name)
    return found


def one_step(
    made: Form, ground: Ground, point: Any, laws: Laws, memory: Array, push: Array
) -> Array:
    """What one step of Newton adds to a guess of the push (b, m + 1)."""
    task = _Task(made=made, ground=ground, point=point, laws=laws, memory=memory)
    return _step(task, task.off(push))


def _lagged(task: _Task, start: Array) -> Rest:
    made = task.made
    found = _newton(msgspec.structs.replace(task, lag=_pressed(task, start)), start.copy(), ROUNDS)
    lag = _pressed(task, found.push)
    for _ in range(LAGS):
        found = _newton(msgspec.structs.replace(task, lag=lag), found.push, ROUNDS)
        now = np.sum(np.abs(found.force[:, made.coupled]) * made.normal, axis=2)
        change = np.abs(now - lag) / np.maximum(now, 1.0)
        lag = lag + 0.7 * (now - lag)
        if change.max(initial=0.0) < 1e-4:
            break
    return _newton(task, found.push, ROUNDS)


def _pressed(task: _Task, push: Array) -> Array:
    u = task.ground.movement[task.point] + task.give(push)
    said = answer(task.made, task.laws, u, task.memory)
    return np.asarray(
        np.sum(np.abs(said.force[:, task.made.coupled]) * task.made.normal, axis=2)
    )  # fmt: skip


def _newton(task: _Task, push: Array, rounds: int) -> Rest:
    """Newton with a search along each step, of every variant on its own."""
    off = task.off(push)
    result = Rest(
        push=push, movement=off.movement.copy(), force=off.answer.force.copy(),
        memory=off.answer.memory.copy(), good=np.zeros(len(push), dtype=bool),
    )  # fmt: skip
    active = np.arange(len(push))
    for _ in range(rounds):
        done = _even(task, off, 1e-9)
        if done.any():
            result.good[active[done]] = True
            keep = ~done
            active, task, push = active[keep], task.take(keep), push[keep]
            off = _some(off, keep)
        if not len(active):
            return result
        step = _step(task, off)
        along = task.give(step)
        # Forces that cancel leave a grain that no step takes away; what moves by less is at rest.
        done = (np.abs(along).max(axis=1) < STILL) & _even(task, off, 1e-4)
        if done.any():
            result.good[active[done]] = True
            keep = ~done
            active, task, push = active[keep], task.take(keep), push[keep]
            off, step, along = _some(off, keep), step[keep], along[keep]
            if not len(active):
                return result
        push, off = _search(task, push, off, step, along)
        result.push[active], result.movement[active] = push, off.movement
        result.force[active], result.memory[active] = off.answer.force, off.answer.memory
    result.good[active] = _even(task, off, 1e-6)
    return result


def _some(off: _Off, which: Any) -> _Off:
    said = off.answer
    return _Off(
        left=off.left[which],
        movement=off.movement[which],
        answer=Answer(
            force=said.force[which], slope=said.slope[which], blocks=said.blocks[which],
            memory=said.memory[which],
        ),
    )  # fmt: skip


def _even(task: _Task, off: _Off, share: float) -> Any:
    """Whether the forces of the laws and those on the line agree (b,)."""
    size = np.maximum(np.abs(off.answer.force).max(axis=1), 1e3)
    return np.abs(off.left).max(axis=1) <= share * size


def _search(task: _Task, push: Array, off: _Off, step: Array, along: Array) -> tuple[Array, _Off]:
    """Go along the step as far as the energy falls.

    Its slope along the step rises where the laws come from a convex energy; its zero is sought
    between eight shares at once, then between eight from the last before it to the first past it.
    """
    first = np.sum(along * off.left, axis=1)
    count = len(push)
    share = np.ones(count)
    trial = task.off(push + step)
    here = np.sum(along * trial.left, axis=1)
    todo = np.flatnonzero((np.abs(here) > 0.3 * np.abs(first)) & (here * first < 0.0))
    if not len(todo):
        return push + step, trial
    back = todo
    low, high, wide = np.zeros(len(todo)), np.ones(len(todo)), len(SHARES)
    for turn in range(PASSES):
        tried = low[:, None] + (high - low)[:, None] * (EVENLY if turn else SHARES)
        at = np.repeat(todo, wide)
        new = task.take(at).off(push[at] + tried.ravel()[:, None] * step[at], slopes=False)
        slope = np.sum(along[at] * new.left, axis=1).reshape(len(todo), wide)
        # The first that lies past the zero, unless another is flat enough: past a kink the next
        # round sees the law on its other side.
        crossed = (slope * first[todo, None] < 0.0) | (np.arange(wide) == wide - 1)
        own, after = np.arange(len(todo)), np.argmax(crossed, axis=1)
        least = np.argmin(np.abs(slope), axis=1)
        flat = np.abs(slope[own, least]) <= 0.3 * np.abs(first[todo])
        share[todo] = tried[own, np.where(flat, least, after)]
        rest = np.flatnonzero(~flat)
        if not len(rest):
            break
        high = tried[rest, after[rest]]
        low = np.where(after[rest] > 0, tried[rest, np.maximum(after[rest] - 1, 0)], low[rest])
        todo = todo[rest]
    new = task.take(back).off(push[back] + share[back, None] * step[back])
    said = trial.answer
    trial.left[back], trial.movement[back] = new.left, new.movement
    said.force[back], said.slope[back] = new.answer.force, new.answer.slope
    said.blocks[back], said.memory[back] = new.answer.blocks, new.answer.memory
    return push + share[:, None] * step, trial


def _step(task: _Task, off: _Off) -> Array:
    """Newton's step of every variant, in the rows whose slope left the tangent."""
    made, base, point = task.made, task.ground, task.point
    count, size = off.left.shape
    single = off.answer.slope - base.slope[point]
    blocks = off.answer.blocks - base.blocks[point]
    loose = np.sqrt(np.abs(np.diagonal(base.give, axis1=1, axis2=2)))
    own = loose[point]
    changed = np.abs(single) * own**2 > NEAR
    of_place = own[:, made.coupled]
    weight = np.abs(blocks) * of_place[..., :, None] * of_place[..., None, :]
    moved_place = weight.max(axis=(2, 3), initial=0.0) > NEAR
    which, place = np.nonzero(moved_place)
    changed[which[:, None], made.coupled[place]] = True
    linked = base.linked[point] - task.laws.linked
    tied, joint = np.nonzero(np.any(linked != 0.0, axis=(2, 3)))
    if len(tied):
        changed[tied[:, None], made.linked[joint]] = True
    changed[:, -1] = False
    step = -off.left
    step[changed] = 0.0
    moved = task.give(step)
    number = changed.sum(axis=1)
    lot = np.searchsorted((0, 6, 12, 24, 48, 96), number)
    for kind in np.unique(lot):
        rows_of = np.flatnonzero(lot == kind)
        wide = int(number[rows_of].max())
        if wide == 0:
            continue
        mask = changed[rows_of]
        rows = np.argsort(~mask, axis=1, kind="stable")[:, :wide]
        real = np.take_along_axis(mask, rows, axis=1)
        place_at = np.full((len(rows_of), size), wide)
        np.put_along_axis(place_at, rows, np.where(real, np.arange(wide), wide), axis=1)
        delta = np.zeros((len(rows_of), wide + 1, wide + 1))
        lot_at = np.arange(len(rows_of))
        diagonal = np.arange(wide)
        delta[:, diagonal, diagonal] = np.take_along_axis(single[rows_of], rows, axis=1)
        local = np.full(count, -1)
        local[rows_of] = lot_at
        ours = local[which] >= 0
        at, q = local[which[ours]], place[ours]
        to = place_at[at[:, None], made.coupled[q]]
        delta[at[:, None, None], to[:, :, None], to[:, None, :]] += blocks[which[ours], q]
        ours = local[tied] >= 0
        at, j = local[tied[ours]], joint[ours]
        to = place_at[at[:, None], made.linked[j]]
        delta[at[:, None, None], to[:, :, None], to[:, None, :]] += linked[tied[ours], j]
        delta = delta[:, :wide, :wide] * real[:, :, None] * real[:, None, :]
        give = base.give[point[rows_of][:, None, None], rows[:, :, None], rows[:, None, :]]
        left = np.take_along_axis(off.left[rows_of], rows, axis=1)
        pushed = np.take_along_axis(moved[rows_of], rows, axis=1)
        right = real * (-left + np.einsum("bij,bj->bi", delta, pushed))
        system = np.eye(wide) - delta @ give
        found = _solve(system, right)
        into = step[rows_of]
        np.put_along_axis(
            into, rows, np.where(real, found, np.take_along_axis(into, rows, axis=1)), axis=1
        )
        step[rows_of] = into
    step[:, -1] = 0.0
    return step


def _solve(system: Array, right: Array) -> Array:
    try:
        return np.asarray(np.linalg.solve(system, right[..., None])[..., 0])
    except np.linalg.LinAlgError:
        found = np.zeros_like(right)
        for at in range(len(right)):
            found[at] = np.linalg.lstsq(system[at], right[at], rcond=None)[0]
        return found
