"""Faults followed from the sound line at rest, many at once, and what a pair is beside its sum."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np

from takeup.line.diagnosis import arrays
from takeup.line.diagnosis.arrays import Figures, Laws
from takeup.line.diagnosis.faults import TEMPERATURE, Fault, act
from takeup.line.diagnosis.predict import Model, tangent
from takeup.line.diagnosis.together import come_to_rest, one_step
from takeup.units import Array

BATCH = 1500
"""Variants followed at once, to stay within a few hundred megabytes."""


class Followed(msgspec.Struct, frozen=True, kw_only=True):
    """Sets of faults, followed at some points of the grid."""

    values: Array
    """What they change in the readings (h, g, k)"""
    good: Any
    """Whether the line with them came to rest (h, g)"""
    push: Array
    """Departure of the laws after each step (h, t, g, m + 1)"""
    memory: Array
    """(h, t, g, m + 1)"""


def follow(
    made: Model,
    sets: Sequence[Sequence[Fault]],
    points: Any = None,
    start: Array | None = None,
    *,
    patient: bool = True,
) -> Followed:
    """What each set of faults changes in the readings, by the whole line.

    ``points`` are indices into ``made.points``; ``None``: all of them.  ``start`` is a first guess
    of the push (h, t, g, m + 1).  Unless ``patient``, hard cases are given up but as recorded.
    """
    at = np.arange(len(made.points)) if points is None else np.asarray(points, dtype=np.intp)
    values = np.zeros((len(sets), len(at), len(made.readings)))
    good = np.ones((len(sets), len(at)), dtype=bool)
    push = np.zeros((len(sets), len(made.steps), len(at), made.form.count + 1))
    memory = np.zeros_like(push)
    acting = [k for k, one in enumerate(sets) if any(f.place != TEMPERATURE for f in one)]
    lot = max(1, BATCH // max(len(at), 1))
    for first in range(0, len(acting), lot):
        part = acting[first : first + lot]
        values[part], good[part], push[part], memory[part] = _follow(
            made, [sets[k] for k in part], at, None if start is None else start[part], patient
        )
    return Followed(values=values, good=good, push=push, memory=memory)


def _follow(
    made: Model, sets: Sequence[Sequence[Fault]], points: Any, start: Array | None, patient: bool
) -> tuple[Array, Any, Array, Array]:
    size, wide = made.form.count + 1, len(points)
    count = len(sets) * wide
    point = np.tile(points, len(sets))
    memory, push = np.zeros((count, size)), np.zeros((count, size))
    good = np.ones(count, dtype=bool)
    found = np.zeros((count, len(made.readings)))
    pushed, kept = [], []
    for order, step in enumerate(made.steps):
        if order < 2:
            laws = _faulty(made, sets, points, step.hot)
        if start is not None:
            push = start[:, order].reshape(count, size).copy()
        at_rest = np.flatnonzero(good)
        rest = come_to_rest(
            made.form, step.ground, point[at_rest], laws.take(at_rest), memory[at_rest],
            push[at_rest], (point == 0)[at_rest] | patient,
        )  # fmt: skip
        memory[at_rest], push[at_rest], good[at_rest] = rest.memory, rest.push, rest.good
        pushed.append(push.reshape(len(sets), wide, size).copy())
        kept.append(memory.reshape(len(sets), wide, size).copy())
        if order in (0, len(made.steps) - 1):
            shown = made.shown[int(step.hot)]
            for at, where in enumerate(points):
                found[at::wide] += push[at::wide] @ shown[where].T
    return (
        found.reshape(len(sets), wide, -1),
        good.reshape(len(sets), wide),
        np.stack(pushed, axis=1),
        np.stack(kept, axis=1),
    )


def coupling(
    made: Model, faults: Sequence[Fault], push: Array, memory: Array, readings: Any
) -> Array:
    """What the movement made by one fault does to ``readings`` through another (a, b, k).

    Hot, as recorded and at nominal friction, to first order of the second fault: it tells which
    pairs are more than their sum.  ``push`` and ``memory`` (h, t, m + 1) are those of the single
    faults.
    """
    step, shown = made.steps[-1], made.shown[1][0][readings]
    give = step.ground.give[0]
    moved = push[:, -1] @ give.T
    laws = _faulty(made, [(one,) for one in faults], np.array([0]), True)
    u = step.ground.movement[:1] + moved
    said = arrays.answer(made.form, laws, u, memory[:, -2])
    found = np.zeros((len(faults), len(faults), len(shown)))
    base = tangent(made.form, step.ground)[0]
    for at, fault in enumerate(faults):
        if fault.place == TEMPERATURE:
            continue
        place = made.form.place_of[fault.place]
        rows = np.array(made.form.places[place].rows)
        slope = np.diag(said.slope[at, rows])
        if place in made.form.coupled_of:
            slope = slope + said.blocks[at, made.form.coupled_of[place]][: len(rows), : len(rows)]
        if place in made.form.linked_of:
            slope = slope - laws.linked[at, made.form.linked_of[place]][: len(rows), : len(rows)]
        away = slope - base[np.ix_(rows, rows)]
        gives = np.eye(len(rows)) - away @ give[np.ix_(rows, rows)]
        pushed = np.linalg.lstsq(gives, away, rcond=None)[0]
        found[:, at] = moved[:, rows] @ pushed.T @ shown[:, rows].T
        found[at, at] = 0.0
    return found


def not_in_sum(made: Model, sets: Sequence[Sequence[Fault]], start: Array, memory: Array) -> Array:
    """What one step of Newton adds to a guess, as recorded and at nominal friction (h, k).

    ``start`` and ``memory`` (h, t, m + 1) are the guess of push and memory at each step of load.
    Where a sum of solutions solves the line with all its faults, nothing is added.
    """
    found = np.zeros((len(sets), len(made.readings)))
    none = np.zeros_like(start[:, 0])
    last = len(made.steps) - 1
    for first in range(0, len(sets), BATCH):
        part = slice(first, first + BATCH)
        for order in (0, last):
            step = made.steps[order]
            laws = _faulty(made, sets[part], np.array([0]), step.hot)
            past = memory[part, order - 1] if order else none[part]
            point = np.zeros(len(past), dtype=np.intp)
            more = one_step(made.form, step.ground, point, laws, past, start[part, order])
            found[part] += more @ made.shown[int(step.hot)][0].T
    return found


def _faulty(made: Model, sets: Sequence[Sequence[Fault]], points: Any, hot: bool) -> Laws:
    """Laws of every set at every point, a set after the other."""
    laws = made.laws[int(hot)].take(np.tile(points, len(sets)))
    here: dict[Fault, Figures] = {}
    for at, faults in enumerate(sets):
        which = slice(at * len(points), (at + 1) * len(points))
        for fault in faults:
            if fault.place == TEMPERATURE:
                continue
            if fault not in here:
                here[fault] = arrays.stacked([_figures(made, fault, hot, at) for at in points])
            arrays.put(laws, made.form, made.form.place_of[fault.place], which, here[fault])
    return laws


def _figures(made: Model, fault: Fault, hot: bool, point: int) -> Figures:
    """The law of a place with a fault at a point of the grid."""
    key = (fault, hot, int(point))
    if key not in made.known:
        at = made.form.place_of[fault.place]
        rows, stood = list(made.form.places[at].rows), made.stood
        law = act(
            fault, made.pieces[fault.place], made.each[int(hot)][point][at],
            stood.cold[point, rows], stood.cold_force[point, rows], stood.hot_force[point, rows],
            hot, made.arms.get(fault.place, np.zeros(3)),
        )  # fmt: skip
        made.known[key] = arrays.figures(law)
    return made.known[key]
